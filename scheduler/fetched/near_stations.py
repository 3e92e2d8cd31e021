"""Stations near a place in NOAA's daily summaries, the best first, so that the grower can choose.

Format: NCEI Search Service API User Documentation. The search gives ids; where a station stands,
and how many years it has, is seen from its values.

Decided: among stations of enough years the nearest counts most, 100 m of height as much as 10 km,
and a per cent of missing days as much as a km: common practice, no source. Held by
tests/fetched/test_near_stations.py::test_the_best_comes_first
"""

import json
import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any

from scheduler.fetched.asking import Asker, FetchError
from scheduler.fetched.station_values import YEARS_BACK, StationValues, values_of
from scheduler.holding import distance_km
from scheduler.words import Table, clean

BOXES_DEG = (0.3, 0.6, 1.0, 2.0)  # half the height of the box that is searched
ENOUGH_YEARS = 20
YEAR_DAYS = 329  # with so many values, nine in ten, a year counts
MOST_ASKED, MOST_SHOWN = 5, 6  # stations in a box whose values are looked at; rows of the answer
NO_STATION = (
    "What a weather model has computed for a place (a reanalysis) is no station: it is too mild\n"
    "in hollows. Your own last and first frosts, or a logger, say more."
)


@dataclass(frozen=True, slots=True)
class Spot:
    """The place that weather is fetched for."""

    lat_deg: float
    lon_deg: float
    elev_m: float

    def __post_init__(self) -> None:
        if not (abs(self.lat_deg) <= 90 and abs(self.lon_deg) <= 180 and abs(self.elev_m) < 9000):
            place = f"{self.lat_deg:g}, {self.lon_deg:g}, {self.elev_m:g} m"
            raise FetchError(f"{place} is nowhere on Earth")

    def km_to(self, lat_deg: float, lon_deg: float) -> float:
        """Distance of another place."""
        return distance_km((self.lat_deg, self.lon_deg), (lat_deg, lon_deg))


@dataclass(frozen=True, slots=True)
class NearStation:
    """One station."""

    id: str
    name: str
    distance_km: float
    height_m: float | None  # of the station above the place; None where it is not known
    years: int  # with values on nine days in ten, of the last forty
    first: date
    last: date
    missing: float  # share of the days between them without a value
    longest_gap_days: int


@dataclass(frozen=True, slots=True)
class StationsNear:
    """What was found."""

    stations: tuple[NearStation, ...]  # the best first
    box_deg: float  # half the height of the box in which they lie
    doubts: tuple[str, ...]  # what could not be looked at, a line each

    @property
    def enough(self) -> bool:
        """Whether one of them has years enough."""
        return any(row.years >= ENOUGH_YEARS for row in self.stations)


def stations_near(ask: Asker, spot: Spot, today: date) -> StationsNear:
    """The best few stations; the box is widened until one has twenty years or more.

    Raises:
        FetchError: the service cannot be asked, or nothing that it answers can be understood.
    """
    rows: dict[str, NearStation] = {}
    doubts: dict[str, str] = {}
    near = StationsNear((), 0.0, ())
    for half_deg in BOXES_DEG:
        try:
            ids = _ids_in(ask, spot, half_deg, today)
        except FetchError as error:
            if not rows:
                raise
            doubts["search"] = str(error)  # what is known is worth showing
            ids = []
        for station in [id_ for id_ in ids if id_ not in rows | doubts][:MOST_ASKED]:
            try:
                rows[station] = _row_of(values_of(ask, station, today, ["TMIN"]), spot)
            except FetchError as error:
                doubts[station] = str(error)
        best = tuple(sorted(rows.values(), key=_penalty)[:MOST_SHOWN])
        near = StationsNear(best, half_deg, tuple(doubts.values()))
        if near.enough or "search" in doubts:
            break
    if doubts and not rows:
        raise FetchError(near.doubts[0])
    return near


def _penalty(row: NearStation) -> tuple[bool, float]:
    height_m = abs(row.height_m or 0.0)
    return row.years < ENOUGH_YEARS, row.distance_km + height_m / 10 + 100 * row.missing


def _ids_in(ask: Asker, spot: Spot, half_deg: float, today: date) -> list[str]:
    """The stations of a box that have minima, the likely best first; cut off at the date line."""
    wide_deg = half_deg / max(0.2, math.cos(math.radians(spot.lat_deg)))
    north, south = min(90.0, spot.lat_deg + half_deg), max(-90.0, spot.lat_deg - half_deg)
    west, east = max(-180.0, spot.lon_deg - wide_deg), min(180.0, spot.lon_deg + wide_deg)
    asked = {
        "dataset": "daily-summaries",
        "bbox": f"{north:.4f},{west:.4f},{south:.4f},{east:.4f}",
        "startDate": f"{today.year - YEARS_BACK}-01-01",
        "endDate": f"{today}",
        "dataTypes": "TMIN",
        "limit": "100",
        "offset": "0",
    }
    reply = ask.get(ask.search, asked)
    try:
        found = dict(_ranked(json.loads(reply.text)["results"], spot))
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError) as error:
        raise FetchError(f"{reply.host} answers with no list of stations") from error
    return sorted(found, key=lambda station: found[station])


def _ranked(results: list[Any], spot: Spot) -> Iterator[tuple[str, tuple[float, float]]]:
    """Ids with what puts them in order: distance where it is known, and how much they cover."""
    for result in results:
        for station in result["stations"]:
            shares = {kind["id"]: kind.get("coverage") for kind in station.get("dataTypes", ())}
            if not shares or "TMIN" in shares:
                place = _km_hinted(result, spot), -float(shares.get("TMIN") or 0)
                yield str(station["id"]), place


def _km_hinted(result: dict[str, Any], spot: Spot) -> float:
    """The distance by the coordinates that some answers carry; they set the order only."""
    try:
        lon_deg, lat_deg = map(float, result["boundingPoints"][0]["coordinates"])
    except (LookupError, TypeError, ValueError):
        return math.inf
    return spot.km_to(lat_deg, lon_deg)


def _row_of(values: StationValues, spot: Spot) -> NearStation:
    days, (lat_deg, lon_deg, elev_m) = sorted(values.by_element["TMIN"]), values.where
    per_year = Counter(day.year for day in days)
    return NearStation(
        id=values.station,
        name=values.name,
        distance_km=spot.km_to(lat_deg, lon_deg),
        height_m=None if elev_m is None else elev_m - spot.elev_m,
        years=sum(n >= YEAR_DAYS for n in per_year.values()),
        first=days[0],
        last=days[-1],
        missing=1 - len(days) / ((days[-1] - days[0]).days + 1),
        longest_gap_days=max(((b - a).days - 1 for a, b in pairwise(days)), default=0),
    )


def stations_table(near: StationsNear, site: str) -> Table:
    """The stations for a screen."""
    rows = tuple(
        (
            row.id,
            clean(row.name, 26, lines=False),
            f"{row.distance_km:.0f} km",
            "not known" if row.height_m is None else f"{row.height_m:+.0f} m",
            f"{row.years} ({row.first.year}-{row.last.year})",
            f"{100 * row.missing:.0f} %, longest {row.longest_gap_days}",
        )
        for row in near.stations
    )
    columns = ("station", "name", "away", "height", "whole years", "days missing")
    height = "Height is the station's above the site; a station that lies like it is worth more."
    none = f"No station within {near.box_deg:g} degrees has {ENOUGH_YEARS} whole years."
    foot = (height,) if near.enough else (none, NO_STATION)
    return Table(
        f"Stations near {site} in NOAA's daily summaries, best first", columns, rows, foot
    )
