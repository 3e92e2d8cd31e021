"""Where `scheduler new` takes the frost record from: a file, or a station in open data."""

import re
from datetime import date
from functools import cache
from pathlib import Path

from scheduler.commands import answers as typed
from scheduler.commands.screen import say
from scheduler.fetched import (
    Asker,
    FetchedRecord,
    FetchError,
    Spot,
    record_of,
    stations_near,
    stations_table,
)

NEAR = "near"
STATION = re.compile(r"[A-Z]{2}[A-Za-z0-9_-]{9}")  # an id of GHCN-Daily


def weather_in(text: str) -> str:
    """A file, the id of a station, ``near``, or nothing."""
    told = text.strip()
    if told.casefold() in typed.NOTHING:
        return ""
    if told.casefold() == NEAR or STATION.fullmatch(told) or Path(told).exists():
        return told
    raise ValueError(f"a file that exists, {NEAR}, or nothing; {told!r} is no file here")


def number_of(stations: tuple[str, ...], text: str) -> str:
    """The station of a number in their list; empty for 0."""
    number = typed.number_in(text)
    if number == 0:
        return ""
    if number in range(1, len(stations) + 1):
        return stations[int(number) - 1]
    raise ValueError(f"0 to {len(stations)}")


@cache
def stations_of(lat_deg: float, lon_deg: float, elev_m: float, as_of: date) -> tuple[str, ...]:
    """Ids of weather stations near a place, which are shown; where none is found, why."""
    try:
        with Asker() as ask:
            near = stations_near(ask, Spot(lat_deg, lon_deg, elev_m), as_of)
    except FetchError as error:
        say(f"{error}. Your own frost dates will do; `scheduler frost SITE --fetch` looks again.")
        return ()
    say(stations_table(near, "here").plain(), lines=True)
    for line in near.doubts:
        say(line)
    return tuple(row.id for row in near.stations)


@cache
def fetched(station: str, as_of: date) -> FetchedRecord | None:
    """The record of a station; None, and why, where it cannot be had."""
    if not station:
        return None
    try:
        with Asker() as ask:
            return record_of(ask, station, as_of)
    except FetchError as error:
        say(f"{error}. Your own frost dates will do; `scheduler frost SITE --fetch` tries again.")
        return None
