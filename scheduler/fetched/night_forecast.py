"""Forecast minima for a place from MET Norway, kept in the site's file of forecasts.

Formats: documentation of Locationforecast 2.0 (compact) and of its JSON; terms: MET Norway's Terms
of Service. So the place is asked with four decimals and whole metres, not before the last answer
has expired, and then only whether there is a newer one. What that takes (place, ``Expires`` and
``Last-Modified``) stands in a comment of the file, beside the attribution.

The night of a day runs from noon of the day before to noon, local time. The first days have a
value each hour, later ones every six hours: those miss the coldest hour, and come out too warm.

Decided: a night counts where the values reach from midnight to noon with no hole of more than six
hours; else its coldest hour may be missing. Held by
tests/fetched/test_night_forecast.py::test_a_night_that_is_not_whole_is_left_out
"""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from email.utils import parsedate_to_datetime
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from scheduler.fetched.asking import UNCHANGED, Asker, FetchError, ServiceReply
from scheduler.fetched.near_stations import Spot
from scheduler.files import FaultyFilesError, locked, read_bytes, text_of, write_whole
from scheduler.weather import COLDEST_C, NIGHT_HEADER, read_forecast, with_nights

HALF_DAY, HOUR, WIDEST_STEP = timedelta(hours=12), timedelta(hours=1), timedelta(hours=6)
LEAST_WAIT, MOST_WAIT = timedelta(minutes=10), timedelta(days=1)  # whatever Expires says
LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)
MOST_AGE = timedelta(days=2)  # a forecast that was made longer ago is none
WARMEST_C = 60.0  # by day
ABOUT_TO_END = 203
_OURS = "# MET Norway"
_ASKED = re.compile(rf"{_OURS}, asked: (.+); expires (\S+); modified (.*)")


@dataclass(frozen=True, slots=True)
class ForecastMinimum:
    """A night that was forecast."""

    day: date  # on whose morning it ends
    tmin_c: float
    coarse: bool  # from values every six hours


@dataclass(frozen=True, slots=True)
class _Memory:
    """What is known of the last answer."""

    place: str = ""
    expires: datetime = LONG_AGO
    modified: str = ""

    @property
    def line(self) -> str:
        """As it stands in the file."""
        expires = self.expires.isoformat()
        return f"{_OURS}, asked: {self.place}; expires {expires}; modified {self.modified}"


def update_forecast(
    ask: Asker, path: Path, spot: Spot, zone: str, now: datetime
) -> tuple[str, ...]:
    """Bring a file of forecasts up to date; lines for the grower.

    Args:
        ask: who asks.
        path: the file; it need not exist.
        spot: the place.
        zone: its time zone, which says when it is noon.
        now: with its offset from UTC.

    Raises:
        FetchError: no forecast came that could be used; the file is as it was.
        FaultyFilesError: the file cannot be read, or has other columns; likewise.
        OSError: it cannot be written.
    """
    asked = {
        "lat": f"{spot.lat_deg:.4f}",
        "lon": f"{spot.lon_deg:.4f}",
        "altitude": f"{spot.elev_m:.0f}",
    }
    with locked(path.parent):
        exists = path.exists() or path.is_symlink()
        old = read_bytes(path, path.name) if exists else f"{NIGHT_HEADER}\n".encode()
        known = _memory_of(text_of(old, path.name), " ".join(map(" ".join, asked.items())))
        if now < known.expires:
            until = f"{known.expires.astimezone(ZoneInfo(zone)):%H:%M}"
            return (f"The forecast in {path.name} holds until {until}; nothing was asked.",)
        headers = {"If-Modified-Since": known.modified} if known.modified else {}
        reply = ask.get(ask.forecast, asked, headers)
        memory = _Memory(known.place, *_times_of(reply, now, known.modified))
        if reply.status == UNCHANGED:
            write_whole(path, old.replace(known.line.encode(), memory.line.encode()))
            return (f"There is no newer forecast than the one in {path.name}.",)
        issued, nights = nights_of(reply, zone, now)
        rows = [(f"{issued}", f"{night.day}", f"{night.tmin_c:.1f}") for night in nights]
        content = with_nights(_headed(old, memory, nights), path.name, rows)
        _, faults = read_forecast(path.name, text_of(content, path.name).split("\n"))
        if faults:
            raise FaultyFilesError(faults)
        write_whole(path, content)
    coldest = min(nights, key=lambda night: night.tmin_c)
    says = [
        f"{path.name}: {len(nights)} nights as of {issued}, the coldest {coldest.tmin_c:.1f} °C "
        f"on the morning of {coldest.day}. Forecast by MET Norway, NLOD and CC BY 4.0.",
        *(f"{line.capitalize()}: expect colder minima." for line in _coarse_words(nights)),
    ]
    if reply.status == ABOUT_TO_END:
        says.append(
            f"{reply.host} says that it is about to end (203): look for a newer scheduler."
        )
    return tuple(says)


def nights_of(reply: ServiceReply, zone: str, now: datetime) -> tuple[date, list[ForecastMinimum]]:
    """The local day on which a forecast was made, and its nights after that day.

    Raises:
        FetchError: it is none, is old, or has no whole night.
    """
    try:
        properties = json.loads(reply.text)["properties"]
        made = _time(properties["meta"]["updated_at"])
        unit = properties["meta"].get("units", {}).get("air_temperature", "celsius")
        steps = dict(sorted(_steps(properties["timeseries"])))
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError) as error:
        raise FetchError(f"{reply.host} answers with no forecast that can be read") from error
    odd = [c for both in steps.values() for c in both if not COLDEST_C <= c <= WARMEST_C]
    if odd or unit != "celsius":
        found = f"{odd[0]:g} degrees C" if odd else f"temperatures in {str(unit)[:20]!r}"
        raise FetchError(f"{reply.host} forecasts {found}, which cannot be")
    if not -HOUR < now - made < MOST_AGE:
        raise FetchError(f"{reply.host} sends a forecast made on {made.date()}, not a new one")
    issued = made.astimezone(ZoneInfo(zone)).date()
    nights = [night for night in _nights(steps, ZoneInfo(zone)) if night.day > issued]
    if not nights:
        raise FetchError(f"{reply.host} sends a forecast without a whole night")
    return issued, nights


def _steps(series: list[Mapping[str, Any]]) -> Iterator[tuple[datetime, tuple[float, float]]]:
    """Times with the temperature then, and the least of the six hours after where it is given."""
    for step in series:
        data = step["data"]
        value = data["instant"]["details"]["air_temperature"]
        later = data.get("next_6_hours", {}).get("details", {}).get("air_temperature_min", value)
        yield _time(step["time"]), (float(value), float(later))


def _time(text: str) -> datetime:
    when = datetime.fromisoformat(text)
    if when.tzinfo is None:
        raise ValueError(text)
    return when.astimezone(UTC)


def _nights(
    steps: Mapping[datetime, tuple[float, float]], zone: ZoneInfo
) -> Iterator[ForecastMinimum]:
    by_night: dict[date, list[datetime]] = {}
    for when in steps:
        by_clock = when.astimezone(zone).replace(tzinfo=None)
        by_night.setdefault((by_clock + HALF_DAY).date(), []).append(when)
    for day, within in by_night.items():
        midnight = datetime(day.year, day.month, day.day, tzinfo=zone)
        noon = midnight.replace(hour=12)
        after = [when for when in steps if when >= noon][:1]
        widest = max((b - a for a, b in pairwise([*within, *after])), default=MOST_WAIT)
        if after and within[0] <= midnight and widest <= WIDEST_STEP:
            least = [steps[when][0] for when in within]
            least += [steps[when][1] for when in within if when + WIDEST_STEP <= noon]
            yield ForecastMinimum(day, min(least), widest > HOUR)


def _memory_of(text: str, place: str) -> _Memory:
    found = _ASKED.search(text)
    try:
        if found and found[1] == place:
            return _Memory(place, _time(found[2]), found[3].strip())
    except ValueError:
        pass  # somebody has written there
    return _Memory(place)


def _times_of(reply: ServiceReply, now: datetime, modified: str) -> tuple[datetime, str]:
    """When to ask again, neither at once nor never more; and of when the answer is."""
    expires = _http_time(reply.headers.get("expires", "")) or now
    told = reply.headers.get("last-modified", "")
    return (
        min(max(expires, now + LEAST_WAIT), now + MOST_WAIT).astimezone(UTC),
        told if _http_time(told) else modified if reply.status == UNCHANGED else "",
    )


def _http_time(text: str) -> datetime | None:
    """A time as HTTP has it (RFC 9110 5.6.7); None where it is none."""
    try:
        when = parsedate_to_datetime(text)
    except ValueError:
        return None
    return when.replace(tzinfo=when.tzinfo or UTC)


def _headed(old: bytes, memory: _Memory, nights: list[ForecastMinimum]) -> bytes:
    """The file, headed by whose forecast it has and by what was asked."""
    text = old.decode("utf-8-sig")
    end = "\r\n" if "\r\n" in text else "\n"
    ours = (
        f"{_OURS}: forecasts of its service Locationforecast 2.0 (api.met.no), licences NLOD and",
        f"{_OURS}: CC BY 4.0; the least of each night was taken from them.",
        memory.line,
        *(f"{_OURS}: {line}: too warm" for line in _coarse_words(nights)),
    )
    kept = [line for line in text.splitlines(keepends=True) if not line.startswith(_OURS)]
    return "".join([*(line + end for line in ours), *kept]).encode()


def _coarse_words(nights: list[ForecastMinimum]) -> list[str]:
    """What nights are forecast by six hours, in words; nothing where none are."""
    coarse = [night.day for night in nights if night.coarse]
    return [f"from {coarse[0]} on there is a value every six hours only"] if coarse else []
