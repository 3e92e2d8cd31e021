"""The values of a station from NOAA's daily summaries, as a record file for a site.

Formats: NCEI Data Service API User Documentation; quality flags: readme of GHCN-Daily. An answer
is CSV with ``STATION``, ``DATE``, where the station stands, and each element with its attributes,
the second of which is the quality flag: a value that bears one has failed a check of the archive.
Degrees C and mm are asked for; whether they are that, or tenths, is seen from the values.

Decided: what cannot be understood spoils the whole answer, and nothing is written. Held by
tests/fetched/test_station_values.py::test_nonsense_is_one_line_and_nothing_is_written
"""

import csv
import io
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from scheduler.fetched.asking import Asker, FetchError
from scheduler.files import locked, read_bytes, text_of, write_whole
from scheduler.weather import CLEARLY_TENTHS, Record, read_record
from scheduler.words import clean

YEARS_BACK = 40  # thirty seasons count, and some begin with a gap
MOST_LOST = 0.1  # of the values of a record that was fetched before
ELEMENTS = ("TMIN", "TMAX", "PRCP")
_ID = re.compile(r"[A-Z]{2}[A-Za-z0-9_-]{9}")
_WHERE = ("LATITUDE", "LONGITUDE", "ELEVATION")
_NEEDED = ("STATION", "DATE", *_WHERE, "TMIN", "TMIN_ATTRIBUTES")
_MISSING = frozenset({"", "-9999", "9999"})
_NO_HEIGHT_M = -999.0  # and below: GHCN-Daily's mark of a height that is not known
_MARK = "# Daily summaries of NOAA/NCEI"


@dataclass(frozen=True, slots=True)
class StationValues:
    """What the service has of one station; values in degrees C and mm, those in doubt left out."""

    station: str
    name: str
    where: tuple[float, float, float | None]  # degrees north and east; m, None where not known
    by_element: dict[str, dict[date, float]]  # of those asked for, by day
    n_flagged: int  # values left out because the archive doubts them
    came_as: str  # the unit in which they came


@dataclass(frozen=True, slots=True)
class FetchedRecord:
    """A record file, ready to be written into a site."""

    file: str
    content: bytes
    record: Record  # as the file is read again
    says: tuple[str, ...]  # lines for the grower


def values_of(
    ask: Asker, station: str, today: date, elements: Sequence[str] = ELEMENTS
) -> StationValues:
    """The values of the last forty years.

    Raises:
        FetchError: there are none, or they cannot be understood.
    """
    if not _ID.fullmatch(station):
        raise FetchError(f"{station[:40]!r} is no station; an id is as USW00014839")
    asked = {
        "dataset": "daily-summaries",
        "stations": station,
        "startDate": f"{today.year - YEARS_BACK}-01-01",
        "endDate": f"{today}",
        "dataTypes": ",".join(elements),
        "format": "csv",
        "units": "metric",
        "includeStationName": "true",
        "includeStationLocation": "1",
        "includeAttributes": "true",
    }
    text = ask.get(ask.values, asked).text
    try:
        return _understood(station, text, elements)
    except (csv.Error, ValueError) as error:
        raise FetchError(f"Station {station}: {error}; nothing of it is taken") from error


def _understood(station: str, text: str, elements: Sequence[str]) -> StationValues:
    rows = _rows_of(text)
    if {row["STATION"] for row in rows} != {station}:
        raise ValueError("the service sends another one")
    read = {element: _values(rows, element) for element in elements}
    sound = {element: _sound(values) for element, values in read.items()}
    if not sound["TMIN"]:
        raise ValueError("no daily minimum of it is sound")
    factor = _to_celsius([*sound["TMIN"].values(), *sound.get("TMAX", {}).values()])
    return StationValues(
        station,
        clean(rows[-1].get("NAME", ""), 60, lines=False) or station,
        _where(rows[-1]),
        {
            element: {day: round(value * factor, 2) for day, value in values.items()}
            for element, values in sound.items()
        },
        sum(len(read[element]) - len(sound[element]) for element in elements),
        "degrees C and mm" if factor == 1 else "tenths of a degree C and of a mm",
    )


def _rows_of(text: str) -> list[dict[str, str]]:
    lines = csv.reader(io.StringIO(text, newline=""))
    columns = [name.strip().upper() for name in next(lines, [])]
    gone = [name for name in _NEEDED if name not in columns]
    if gone:
        raise ValueError(f"the service's columns have changed, there is no {', '.join(gone)}")
    rows = list(filter(None, lines))
    if text[-1:] != "\n":
        del rows[-1:]  # what is cut off may look whole: -12.3 as -1
    if not rows:
        raise ValueError("the service has no values of it")
    torn = {len(row) for row in rows} - {len(columns)}
    if torn:
        raise ValueError(f"a line has {torn.pop()} cells of {len(columns)}")
    return [dict(zip(columns, map(str.strip, row), strict=True)) for row in rows]


def _where(row: Mapping[str, str]) -> tuple[float, float, float | None]:
    lat_deg, lon_deg, elev_m = (_number(row[name]) for name in _WHERE)
    if not (abs(lat_deg) <= 90 and abs(lon_deg) <= 180):
        raise ValueError(f"it cannot be at {lat_deg:g}, {lon_deg:g}")
    return lat_deg, lon_deg, elev_m if elev_m > _NO_HEIGHT_M else None


def _sound(values: Mapping[date, float]) -> dict[date, float]:
    return {day: value for day, value in values.items() if not math.isnan(value)}


def _values(rows: Sequence[dict[str, str]], element: str) -> dict[date, float]:
    """The values of an element by day; NaN where the archive doubts one."""
    values = {}
    for row in rows:
        try:
            day = date.fromisoformat(row["DATE"])
        except ValueError as error:
            raise ValueError(f"{row['DATE'][:20]!r} is no day that exists") from error
        if (text := row.get(element, "")) not in _MISSING:
            flags = row.get(f"{element}_ATTRIBUTES", "").split(",")
            values[day] = math.nan if "".join(flags[1:2]).strip() else _number(text)
    return values


def _number(text: str) -> float:
    try:
        value = float(text or _NO_HEIGHT_M)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ValueError(f"{text[:20]!r} is no number")
    return value


def _to_celsius(values: Sequence[float]) -> float:
    """What makes degrees C of values: tenths are whole numbers, some of them far beyond 100."""
    if any(value % 1 for value in values):
        return 1.0
    if max(map(abs, values), default=0) > CLEARLY_TENTHS:
        return 0.1
    raise ValueError("its values may be degrees C or F, or tenths")


def record_of(ask: Asker, station: str, today: date) -> FetchedRecord:
    """A station's values as a file that ``site.toml`` can name.

    Raises:
        FetchError: there are none, or they cannot be understood.
    """
    values = values_of(ask, station, today)
    days, file = sorted(values.by_element["TMIN"]), f"station-{station}.csv"
    left_out = f"{values.n_flagged} that bear a quality flag of the archive are left out"
    lines = [
        f"{_MARK}: GHCN-Daily, station {station}, {values.name}",
        f"# Source: {ask.values}, dataset daily-summaries; fetched on {today}",
        "# Licence: open data of the US government; cite NOAA/NCEI. For stations elsewhere the",
        "# weather service of the country may ask for more (WMO Resolution 40).",
        f"# The values came as {values.came_as}; {left_out}.",
        "# unit: C",
        ",".join(("STATION", "DATE", *_WHERE, *ELEMENTS)),
    ]
    where = ",".join("" if value is None else f"{value:g}" for value in values.where)
    for day in days:
        read = (values.by_element[element].get(day) for element in ELEMENTS)
        cells = ",".join("" if value is None else f"{value:g}" for value in read)
        lines.append(f"{station},{day},{where},{cells}")
    record, faults = read_record(file, lines)
    if record is None:
        raise FetchError(f"Station {station}: {faults[0].found}; nothing of it is taken")
    says = (
        f"{values.name}: {len(days)} daily minima, {days[0]} to {days[-1]}. The values came as "
        f"{values.came_as}; {left_out}."
    )
    more = (notice.says for notice in record.notices)
    return FetchedRecord(file, "\n".join([*lines, ""]).encode(), record, (says, *more))


def keep_record(folder: Path, fetched: FetchedRecord) -> None:
    """Write a fetched record into a site, whole, over one that was fetched before.

    Raises:
        FetchError: somebody else's file stands there, or one with more values.
        FaultyFilesError: what stands there cannot be read.
        OSError: the folder cannot be written.
    """
    path = folder / fetched.file
    with locked(folder):
        if path.exists() or path.is_symlink():
            old = text_of(read_bytes(path, fetched.file), fetched.file)
            if not old.startswith(_MARK):
                raise FetchError(f"{fetched.file} was not fetched, and is left as it is")
            before, _ = read_record(fetched.file, old.split("\n"))
            n_old, n_new = (_n_values(record) for record in (before, fetched.record))
            if n_new < (1 - MOST_LOST) * n_old:
                raise FetchError(
                    f"{fetched.file} has {n_old} values and the service sends {n_new} now: the "
                    "old file is kept; take it away first if the new ones are wanted"
                )
        write_whole(path, fetched.content)


def _n_values(record: Record | None) -> int:
    return 0 if record is None else int(np.isfinite(record.tmin_c).sum())
