"""Station records: the daily minimum temperature, one value a civil day.

The formats, recognised from the content, are told in ``station_formats``; a data logger's
readings become nightly minima in ``logger``. Values in doubt are left out and told in the
record's notices; what cannot be understood at all is a fault.
"""

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.files import Fault, fields, shown
from scheduler.terms import Level, Notice, Season, frozen
from scheduler.weather.logger import nightly_minima, recognised_log
from scheduler.weather.station_formats import (
    FIRST_DAY,
    LAST_DAY,
    UNITS,
    Layout,
    Reading,
    lines_of,
    recognised,
)

# Outside these no screen on Earth has read a minimum: WMO archive of extremes, from memory.
COLDEST_C, WARMEST_C = -90.0, 45.0

# No gauge has taken more in a day: Foc-Foc, La Reunion, 1966, WMO archive, from memory.
MOST_RAIN_MM = 1825.0
# Nothing but nines, from so much on, stands for no reading in many files.
_NINES, _NINES_FROM_MM = re.compile(r"9{2,}(\.(9+|0+))?"), 999.0

# More values in doubt than this share are no slips: the unit or the column is wrong.
MAX_DOUBTFUL = 0.05
# A file of whole numbers none of which is larger may be degrees F or C as well as tenths.
CLEARLY_TENTHS = 130

# Two stations that differ more than this, on average, should not fill each other unseen.
FILL_DIFFERENCE_C = 1.0

_MAX_FAULTS = 5  # of one kind in one file; a wrong column would name every line
_MAX_NAMED = 3  # in a notice


@dataclass(frozen=True, eq=False)  # arrays do not compare to one truth
class Record:
    """A daily record."""

    name: str  # the file or files it came from
    season: Season  # the civil days from the first to the last value
    # (n_days,) minimum of the civil day, degrees C, NaN where missing; most minima fall on the
    # morning of their day
    tmin_c: NDArray[np.float64]
    notices: tuple[Notice, ...] = ()  # what was left out or doubted in reading
    # (n_days,) likewise the maximum, degrees C, and the rain, mm; None where the record holds none
    tmax_c: NDArray[np.float64] | None = None
    rain_mm: NDArray[np.float64] | None = None
    # file, latitude and longitude, degrees, of the stations that tell theirs
    places: tuple[tuple[str, float, float], ...] = ()

    @classmethod
    def of(
        cls,
        name: str,
        values: dict[date, float],
        notices: tuple[Notice, ...] = (),
        tmax_c: dict[date, float] | None = None,
        rain_mm: dict[date, float] | None = None,
    ) -> "Record":
        """A record from values by day; the days need not be in order."""
        season = Season.between(min(values), max(values))
        tmin_c, others = _by_day(season, values), (tmax_c or {}, rain_mm or {})
        maxima, rain = (_by_day(season, other) if other else None for other in others)
        return cls(name, season, tmin_c, notices, maxima, rain)

    def filled_from(self, other: "Record") -> "Record":
        """This record, with its gaps filled from another, less trusted one.

        Values are taken as they are. How many days were filled, and by how much the two
        differ on the days that both have, is told in a notice: a warmer neighbour hides
        frosts.
        """
        season = Season.between(
            min(self.season.first, other.season.first), max(self.season.last, other.season.last)
        )
        mine, theirs = (season.laid_over(record.season, record.tmin_c) for record in (self, other))
        return Record(
            f"{self.name}, {other.name}",
            season,
            _joined(mine, theirs),
            (*self.notices, *other.notices, _fill_notice(self.name, other.name, mine, theirs)),
            _either(season, (self, self.tmax_c), (other, other.tmax_c)),
            _either(season, (self, self.rain_mm), (other, other.rain_mm)),
            (*self.places, *other.places),
        )


def _by_day(season: Season, values: dict[date, float]) -> NDArray[np.float64]:
    """(n_days,) values of days of a season; NaN on the others."""
    column = np.full(season.n_days, math.nan)
    # whole columns at once: a record has ten thousand days and more, for each of its elements
    days = np.fromiter((day.toordinal() for day in values), np.int64, len(values))
    column[days - season.first.toordinal()] = list(values.values())
    return frozen(column)


def _joined(mine: NDArray[np.float64], theirs: NDArray[np.float64]) -> NDArray[np.float64]:
    return frozen(np.where(np.isnan(mine), theirs, mine))


def _either(
    season: Season, *of: tuple[Record, NDArray[np.float64] | None]
) -> NDArray[np.float64] | None:
    """What the first record has, its gaps filled from the second; None where neither has any."""
    held = [season.laid_over(record.season, values) for record, values in of if values is not None]
    return _joined(held[0], held[-1]) if held else None


def _fill_notice(
    name: str, other: str, mine: NDArray[np.float64], theirs: NDArray[np.float64]
) -> Notice:
    n_filled = int((np.isnan(mine) & ~np.isnan(theirs)).sum())
    difference = (theirs - mine)[~np.isnan(mine) & ~np.isnan(theirs)]
    level, says = Level.WARNING, f"{n_filled} days are filled from {other}"
    if difference.size:
        mean_c = float(difference.mean())
        level = Level.WARNING if abs(mean_c) > FILL_DIFFERENCE_C else Level.NOTE
        says += (
            f", which is on average {mean_c:+.1f} degrees C against {name} on {difference.size} "
            "days that both have."
        )
    else:
        says += "; the two have no day in common, so how far they differ is not known."
    return Notice("station-filled", level, name, says)


def read_record(
    name: str, lines: Iterable[str], *, unit: str | None = None, zone: str | None = None
) -> tuple[Record | None, list[Fault]]:
    """The record of a station, or of a data logger; or None, and a handful of faults a kind.

    The unit is ``C``, ``F`` or ``0.1 C``, where neither the format nor the file names it (as a
    line ``# unit: F`` does). The zone, an IANA name, is that of the place; it counts only where a
    logger stamps UTC or offsets.
    """
    text = lines_of(name, lines, unit)
    if text.unit is not None and text.unit not in UNITS:
        return None, [Fault(name, "", "unit", repr(text.unit), ", ".join(UNITS))]
    log = recognised_log(text, zone)
    if log is not None:
        nights, notices, faults = nightly_minima(log)
        return (None, faults) if faults else (Record.of(name, nights, notices), [])
    layout = recognised(text)
    if isinstance(layout, Fault):
        return None, [layout]
    return _Reader(name, layout, text.torn).record()


@dataclass
class _Reader:
    """Turns the readings of one file into a record, and keeps what it doubts."""

    name: str
    layout: Layout
    faults: list[Fault]
    values: dict[date, float] = field(default_factory=dict)
    maxima: dict[date, float] = field(default_factory=dict)
    rain_mm: dict[date, float] = field(default_factory=dict)
    doubts: dict[str, list[date]] = field(default_factory=dict)
    n_flagged: int = 0
    n_read: int = 0
    largest: float = 0.0

    def record(self) -> tuple[Record | None, list[Fault]]:
        for reading in self.layout.readings:
            missing = reading.value in self.layout.missing
            if reading.flag:
                self.n_flagged += 1
            elif missing and not any(map(str.isdigit, reading.day)):
                continue  # an empty row, or a line of words below the table
            elif (day := self.day(reading)) is not None and not missing:
                self.take(day, reading)
        self.judge_whole()
        if self.faults:
            return None, few_of(self.name, self.faults)
        if not self.values:
            return None, [Fault(self.name, "", "", "no values", "daily minima")]
        notices = tuple(self.notices())
        record = Record.of(self.name, self.values, notices, self.maxima, self.rain_mm)
        if self.layout.place is not None:
            record = replace(record, places=((self.name, *self.layout.place),))
        return record, []

    def day(self, reading: Reading) -> date | None:
        try:
            day = date.fromisoformat(reading.day)
        except ValueError:
            day = date.min
        if FIRST_DAY <= day <= LAST_DAY:
            return day
        allowed = f"a day that exists, as 2027-05-01, from {FIRST_DAY} to {LAST_DAY}"
        self.fault(reading, "date", reading.day, allowed)
        return None

    def take(self, day: date, reading: Reading) -> None:
        """Keep one value, or say what is wrong with it."""
        value = self.number(reading, reading.value)
        if value is None:
            return
        self.n_read += 1
        self.largest = max(self.largest, abs(value))
        tmin_c = round(fields.to_celsius(value, self.layout.unit), 2)
        if not COLDEST_C <= tmin_c <= WARMEST_C:
            self.doubt("out-of-range", day)
        elif self.above_maximum(reading, tmin_c, day):
            self.doubt("min-above-max", day)
        else:
            self.keep(day, tmin_c)
            self.keep_rain(day, reading)

    def number(self, reading: Reading, text: str) -> float | None:
        if self.layout.unit == "0.1 C" and "." in text:
            allowed = "whole tenths of a degree C; where the file has degrees, say `# unit: C`"
            self.fault(reading, "TMIN", text, allowed)
            return None
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            self.fault(reading, self.layout.column, text, "a number, or nothing")
            return None
        return value

    def above_maximum(self, reading: Reading, tmin_c: float, day: date) -> bool:
        """Whether the day's maximum is below its minimum; else the maximum is kept."""
        if reading.maximum in self.layout.missing:
            return False
        tmax = self.number(reading, reading.maximum)
        if tmax is None:
            return False
        tmax_c = round(fields.to_celsius(tmax, self.layout.unit), 2)
        if tmax_c >= tmin_c:
            self.maxima[day] = tmax_c
        return tmax_c < tmin_c

    def keep_rain(self, day: date, reading: Reading) -> None:
        """Keep the rain of a day; what stands for no reading is no rain, nor a dry day."""
        if reading.rain in self.layout.missing:
            return
        try:
            rain_mm = float(reading.rain) * self.layout.rain_mm
        except ValueError:
            rain_mm = math.nan
        if not math.isfinite(rain_mm):
            self.fault(reading, "rain", reading.rain, "an amount of rain, or nothing")
        elif rain_mm < 0 or (rain_mm >= _NINES_FROM_MM and _NINES.fullmatch(reading.rain)):
            self.doubt("no-rain-read", day)
        elif rain_mm > MOST_RAIN_MM:
            most = f"at most {MOST_RAIN_MM:g} mm, the most of any day on Earth; is it in mm?"
            self.fault(reading, "rain", reading.rain, most)
        else:
            self.rain_mm[day] = rain_mm

    def keep(self, day: date, tmin_c: float) -> None:
        if day in self.values:
            same = self.values[day] == tmin_c
            self.doubt("duplicate" if same else "duplicate-differs", day)
            tmin_c = min(tmin_c, self.values[day])
        self.values[day] = tmin_c

    def doubt(self, kind: str, day: date) -> None:
        self.doubts.setdefault(kind, []).append(day)

    def fault(self, reading: Reading, column: str, found: str, allowed: str) -> None:
        self.faults.append(Fault(self.name, f"row {reading.row}", column, shown(found), allowed))

    def judge_whole(self) -> None:
        """What is no slip in a line but a mistake about the whole file."""
        column = self.layout.column
        for kind, allowed in (
            ("out-of-range", f"{COLDEST_C:g} to {WARMEST_C:g} degrees C; is the unit right?"),
            ("min-above-max", "minima below maxima; are the columns swapped?"),
        ):
            days = self.doubts.get(kind, [])
            if len(days) > MAX_DOUBTFUL * self.n_read:
                found = f"{len(days)} of {self.n_read} values, the first on {days[0]}"
                self.faults.append(Fault(self.name, "", column, found, allowed))
        if self.layout.unit_in_doubt and 0 < self.largest <= CLEARLY_TENTHS:
            found = f"no value beyond {self.largest:g}: tenths of a degree C, or degrees C or F?"
            allowed = "a line `# unit: 0.1 C` (or C, or F) at the top of the file"
            self.faults.append(Fault(self.name, "", column, found, allowed))

    def notices(self) -> Iterator[Notice]:
        if self.n_flagged:
            says = f"{self.n_flagged} values failed a check of the archive and are left out."
            yield Notice("station-flagged", Level.NOTE, self.name, says)
        for kind, (level, words) in _DOUBTS.items():
            days = self.doubts.get(kind, [])
            if days:
                unit = "day" if len(days) == 1 else "days"
                named = first_few([f"{day}" for day in days])
                says = words.format(days=f"{len(days)} {unit} ({named})")
                yield Notice(f"station-{kind}", level, self.name, says)


_DOUBTS = {
    "duplicate": (Level.NOTE, "Given twice, with the same value: {days}."),
    "duplicate-differs": (
        Level.WARNING,
        "Given twice, with different values: {days}. The colder value is taken.",
    ),
    "out-of-range": (Level.WARNING, "Outside what was ever read on Earth, and left out: {days}."),
    "no-rain-read": (
        Level.NOTE,
        "Rain below 0 mm or all nines, which mean no reading, taken as such: {days}.",
    ),
    "min-above-max": (Level.WARNING, "Minimum above the maximum, and left out: {days}."),
}


def first_few(words: Sequence[str]) -> str:
    """The first few of some words, and how many more there are."""
    more = len(words) - _MAX_NAMED
    return ", ".join(words[:_MAX_NAMED]) + (f" and {more} more" if more > 0 else "")


def few_of(name: str, faults: list[Fault]) -> list[Fault]:
    """The first few faults of a kind, and how many more there are."""
    kept: list[Fault] = []
    for key in dict.fromkeys((fault.field, fault.allowed) for fault in faults):
        same = [fault for fault in faults if (fault.field, fault.allowed) == key]
        kept += same[:_MAX_FAULTS]
        if len(same) > _MAX_FAULTS:
            more = f"{len(same) - _MAX_FAULTS} more of the same kind"
            kept.append(Fault(name, "later rows", key[0], more, key[1]))
    return kept
