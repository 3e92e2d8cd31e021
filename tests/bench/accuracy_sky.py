"""Prints how far the sky room is from the published tables and from the slow search.

    python -m tests.bench.accuracy_sky

The published tables are read from a folder beside the project; a line says so where one is
not at hand. The slow search is skyfield's ``find_discrete`` at a step of 0.01 d.
"""

import csv
from collections import defaultdict
from contextlib import closing
from datetime import UTC, date, datetime
from importlib.resources import as_file, files
from typing import Any

import numpy as np
from numpy.typing import NDArray
from skyfield.iokit import Loader
from skyfield.jpllib import SpiceKernel
from skyfield.searchlib import find_discrete
from skyfield.toposlib import wgs84

from scheduler.sky.daylight import LightLimit
from tests.sky.conftest import TABLES, Rows
from tests.sky.instants import PHASES, SEASONS, of_limits, of_years, rise_set
from tests.sky.test_against_skyfield import LATITUDES, moon_up, sun_level, without_short_arcs
from tests.sky.test_daylight_published import LIMIT

ERAS = ((1900, 1971), (1972, 2023), (2024, 2030), (2031, 2052))


def rows_of(name: str) -> Rows:
    """A published table; empty where it is not at hand."""
    path = TABLES / name
    if not path.exists():
        print(f"  {name}: not at hand")
        return []
    with path.open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def print_events(title: str, names: Any, tables: tuple[str, ...]) -> None:
    """Greatest difference by era, seconds, of events against the US Naval Observatory."""
    print(title)
    for table in tables:
        rows = [row for row in rows_of(table) if row["event"] in set(names)]
        for first, last in ERAS:
            era = [row for row in rows if first <= int(row["instant_utc"][:4]) <= last]
            if era:
                years = [int(row["instant_utc"][:4]) for row in era]
                ours = of_years(min(years), max(years), names)
                apart = [
                    abs((e.utc - datetime.fromisoformat(row["instant_utc"])).total_seconds())
                    for e, row in zip(ours, era, strict=True)
                ]
                print(f"  {table} {first}-{last}: {len(era)}, at most {max(apart):.1f} s")


def print_rise_set() -> None:
    """Rise and set by place against the US Naval Observatory."""
    print("rise and set, US Naval Observatory (60 s wanted up to 61 degrees, no event lost)")
    groups: dict[tuple[float, float, str], list[datetime]] = defaultdict(list)
    for row in rows_of("riseset_usno.csv"):
        key = (float(row["lat_deg"]), float(row["lon_deg"]), row["event"])
        groups[key].append(datetime.fromisoformat(row["instant_utc"]))
    for (lat_deg, lon_deg, event), published in sorted(groups.items()):
        limit, rising = LIMIT[event]
        first, last = date(published[0].year, 1, 1), date(published[-1].year, 12, 31)
        ours = rise_set(lat_deg, lon_deg, first, (last - first).days + 1)[limit, rising]
        theirs = np.array([when.timestamp() for when in published])
        near = ours[(ours > theirs[0] - 3600) & (ours < theirs[-1] + 3600)]
        apart = np.abs(near - theirs).max() if len(near) == len(theirs) else float("nan")
        print(f"  {event:8s} {lat_deg:6.1f}: {len(theirs)} of {len(near)}, at most {apart:.1f} s")


def print_slow_search() -> None:
    """Rise, set and twilight of four weeks against find_discrete at nine latitudes."""
    print("skyfield find_discrete, step 0.01 d, January 2027 (Sun 0.01 s, Moon 2 s wanted)")
    scale = Loader(".").timescale(builtin=True)
    first, last = datetime(2027, 1, 1, tzinfo=UTC), datetime(2027, 1, 29, tzinfo=UTC)
    with (
        as_file(files("skyfield_data") / "data" / "de421.bsp") as path,
        closing(SpiceKernel(str(path))) as kernel,
    ):
        for lat_deg in LATITUDES:
            here = kernel["earth"] + wgs84.latlon(lat_deg, 25.0)
            found = rise_set(lat_deg, 25.0, first.date(), 28)
            for name, level, of_sun in (
                ("Sun", sun_level(here, kernel), True),
                ("Moon", moon_up(here, kernel), False),
            ):
                ends = (scale.from_datetime(when) for when in (first, last))
                times, _ = find_discrete(*ends, level)
                theirs = np.array([when.timestamp() for when in times.utc_datetime()])
                limits = [
                    limit for limit in LightLimit if (limit != LightLimit.MOON_RIM) is of_sun
                ]
                ours = np.array([instant_s for instant_s, *_ in of_limits(found, *limits)])
                print(f"  {name:4s} {lat_deg:6.1f}: {_apart(ours, theirs)}")


def _apart(ours: NDArray[np.float64], theirs: NDArray[np.float64]) -> str:
    short = len(ours) - len(theirs)
    same = without_short_arcs(ours, theirs) if short else ours
    apart = np.abs(same - theirs).max(initial=0.0)
    more = f", {short} of arcs shorter than the search's step" if short else ""
    return f"{len(theirs)} events, at most {apart:.4f} s{more}"


if __name__ == "__main__":
    print_events(
        "phases, US Naval Observatory (45 s to 2023, 60 s to 2030, 90 s later wanted)",
        PHASES,
        ("phases_usno_2020_2035.csv", "phases_usno_1900_2052.csv"),
    )
    print_events(
        "equinoxes and solstices, US Naval Observatory (likewise)",
        SEASONS,
        ("seasons_usno_2015_2035.csv", "seasons_usno_1900_2052.csv"),
    )
    print_rise_set()
    print_slow_search()
