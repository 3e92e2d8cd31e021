"""A data logger's readings as nightly minima.

A CSV file with a column of times and one of temperatures, every 5 to 60 minutes, is what
most loggers write; other columns are passed over. The night of a day runs from noon of
the day before to noon of the day, so that its minimum belongs to the morning on which it
fell. A night with fewer than 90 % of its readings is left out.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeAlias
from zoneinfo import ZoneInfo

import numpy as np

from scheduler.files import Fault, delimiter_of, fields, shown
from scheduler.terms import Level, Notice
from scheduler.weather.station_formats import (
    FIRST_DAY,
    LAST_DAY,
    MISSING,
    Text,
    cells_below,
    names_in,
    unit_named_in,
)

MIN_SHARE_OF_NIGHT = 0.90
SHORTEST_STEP_MIN, LONGEST_STEP_MIN = 5, 60

_COLDEST_C, _WARMEST_C = -90.0, 70.0  # a logger in the sun; its minima are judged by the night
_HEADER_WITHIN_LINES = 30
_TIME = re.compile(r"\b(timestamp|date[ _-]?time|time|date/time)\b", re.IGNORECASE)
_TEMPERATURE = re.compile(r"temp|\bt(?:_|\b)", re.IGNORECASE)
_MAX_FAULTS = 5

# nightly minima by the day on whose morning the night ends, degrees C; notices; faults
Nightly: TypeAlias = tuple[dict[date, float], tuple[Notice, ...], list[Fault]]


@dataclass(frozen=True, slots=True)
class Log:
    """A recognised logger file."""

    text: Text  # the lines, with the header at index ``header_at``
    header_at: int
    time_at: tuple[int | None, int]  # column of the days, where they stand apart, and of the times
    value_at: int  # column of the temperatures; ``heading``: its name
    heading: str
    unit: str | None  # ``C`` or ``F``; None where heading and file name none, or two
    zone: str | None  # IANA zone for times that carry an offset


def recognised_log(text: Text, zone: str | None) -> Log | None:
    """The layout of a logger file, or None where the text is something else."""
    for at, line in enumerate(text.lines[:_HEADER_WITHIN_LINES]):
        names = names_in(line, delimiter_of(line)) if line.strip() else []
        time_at = _column(names, _TIME)
        value_at = _column(names, _TEMPERATURE, other_than=time_at)
        if time_at is not None and value_at is not None:
            heading = names[value_at]
            date_at = names.index("date") if "date" in names and time_at else None
            named = {unit_named_in(heading), text.unit} - {None}
            unit = named.pop() if len(named) == 1 else None
            return Log(text, at, (date_at, time_at), value_at, heading, unit, zone)
    return None


def _column(
    names: Sequence[str], wanted: re.Pattern[str], other_than: int | None = None
) -> int | None:
    columns = (at for at, name in enumerate(names) if at != other_than and wanted.search(name))
    return next(columns, None)


def nightly_minima(log: Log) -> Nightly:
    """Noon-to-noon minima of a logger file and notices of it; or the faults alone."""
    name = log.text.name
    if log.unit is None:
        allowed = "one unit, in the heading as temp_c or in a line `# unit: C`"
        return {}, (), [Fault(name, "header", log.heading, repr(log.heading), allowed)]
    times, values_c, faults = _readings(name, log)
    faults = [*log.text.torn, *faults]
    if faults:
        return {}, (), faults[:_MAX_FAULTS]
    if len(times) < 2:
        return {}, (), [Fault(name, "", log.heading, "no readings", "times and temperatures")]
    stamps = np.unique(np.array(times, dtype="datetime64[s]").astype(np.int64))
    step_min = float(np.median(np.diff(stamps))) / 60 if stamps.size > 1 else 0.0
    if not SHORTEST_STEP_MIN <= step_min <= LONGEST_STEP_MIN:
        found = f"a reading every {step_min:g} minutes"
        allowed = f"{SHORTEST_STEP_MIN} to {LONGEST_STEP_MIN} minutes"
        return {}, (), [Fault(name, "", log.heading, found, allowed)]
    return _nights(name, times, values_c, step_min)


def _readings(name: str, log: Log) -> tuple[list[datetime], list[float], list[Fault]]:
    times: list[datetime] = []
    values_c: list[float] = []
    faults: list[Fault] = []
    date_at, time_at = log.time_at
    delimiter = delimiter_of(log.text.lines[log.header_at])
    for row, cells in cells_below(log.text, log.header_at, delimiter):
        if len(cells) <= max(time_at, log.value_at) or cells[log.value_at] in MISSING:
            continue
        value_text = cells[log.value_at]
        time_text = cells[time_at] if date_at is None else f"{cells[date_at]} {cells[time_at]}"
        when, value_c = _time(time_text, log.zone), _celsius(value_text, log.unit or "C")
        if when is None:
            allowed = (
                "local time such as 2027-05-01 14:30; an offset only with a known zone; "
                f"{FIRST_DAY.year} to {LAST_DAY.year}"
            )
            faults.append(Fault(name, f"row {row}", "time", shown(time_text), allowed))
        elif value_c is None:
            allowed = f"a number, {_COLDEST_C:g} to {_WARMEST_C:g} degrees C"
            faults.append(Fault(name, f"row {row}", log.heading, shown(value_text), allowed))
        else:
            times.append(when)
            values_c.append(value_c)
    return times, values_c, faults


def _time(text: str, zone: str | None) -> datetime | None:
    """Wall-clock time at the place; day-first and month-first orders are not told apart."""
    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        return None
    if not FIRST_DAY <= when.date() <= LAST_DAY:
        return None
    if when.tzinfo is None:
        return when
    return when.astimezone(ZoneInfo(zone)).replace(tzinfo=None) if zone else None


def _celsius(text: str, unit: str) -> float | None:
    try:
        value_c = fields.to_celsius(float(text), unit)
    except ValueError:
        return None
    if not math.isfinite(value_c) or not _COLDEST_C <= value_c <= _WARMEST_C:
        return None
    return value_c


def _nights(name: str, times: list[datetime], values_c: list[float], step_min: float) -> Nightly:
    # the night of a day ends at its noon: a reading at 12:00 sharp opens the next night
    stamps = np.array(times, dtype="datetime64[s]") + np.timedelta64(12, "h")
    days, night = np.unique(stamps.astype("datetime64[D]"), return_inverse=True)
    lowest = np.full(days.size, np.inf)
    np.minimum.at(lowest, night, np.array(values_c))
    _, once = np.unique(stamps, return_index=True)  # a time given twice is one reading
    n_readings = np.bincount(night[once], minlength=days.size)
    whole = n_readings >= MIN_SHARE_OF_NIGHT * 24 * 60 / step_min
    tmin_c = {
        day.item(): round(float(low), 2)
        for day, low, ok in zip(days, lowest, whole, strict=True)
        if ok
    }
    if not tmin_c:
        found = f"no night with {MIN_SHARE_OF_NIGHT:.0%} of its readings"
        return {}, (), [Fault(name, "", "time", found, "readings from noon to noon")]
    # the first and last night of a log are always cut short
    short = [day.item() for day, ok in zip(days[1:-1], whole[1:-1], strict=True) if not ok]
    if not short:
        return tmin_c, (), []
    says = (
        f"{len(short)} nights between {short[0]} and {short[-1]} have fewer than "
        f"{MIN_SHARE_OF_NIGHT:.0%} of their readings and are left out."
    )
    return tmin_c, (Notice("logger-nights-short", Level.NOTE, name, says),), []
