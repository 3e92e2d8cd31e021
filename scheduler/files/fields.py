"""Kinds of values that a file of a site may hold, with what is allowed.

A plain frozen dataclass made by ``table`` is all that the rest of the house sees;
the annotations are read by pydantic at the file door only.
"""

import re
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from importlib import resources
from typing import Annotated, Any, Literal, TypeVar, dataclass_transform, get_args

from annotated_types import Ge, Gt, Le, Predicate
from pydantic import Strict

from scheduler.terms import printable

_T = TypeVar("_T")


@dataclass_transform(frozen_default=True, kw_only_default=True)
def table(cls: type[_T]) -> type[_T]:
    """Make a class a table of a file: frozen, keyword-only, closed to unknown keys.

    What a key means stands beside it; its unit in its name, its range in its kind of value.
    """
    config: dict[str, Any] = {"extra": "forbid", "allow_inf_nan": False}
    cls.__pydantic_config__ = config  # type: ignore[attr-defined]  # read by pydantic alone
    return dataclass(frozen=True, kw_only=True)(cls)


def is_slug(text: str) -> bool:
    """Small letters, digits and hyphens, beginning with a letter or digit."""
    return re.fullmatch(r"[a-z0-9][a-z0-9-]{0,59}", text) is not None


@lru_cache(maxsize=1)
def _zones() -> frozenset[str]:
    """The zones that a clock can be set to; ``Factory`` stands for one that nobody has set."""
    listed = (resources.files("tzdata") / "zones").read_text(encoding="utf-8")
    return frozenset(listed.split()) - {"Factory"}


def is_zone(text: str) -> bool:
    """An IANA time zone such as Europe/Madrid or Africa/Johannesburg."""
    return text in _zones()


def is_month_day(text: str) -> bool:
    """A day of the year written MM-DD, such as 05-10."""
    if re.fullmatch(r"\d\d-\d\d", text) is None:
        return False
    try:
        # 2001 has no 29 February: a date that stands in every year is wanted
        date.fromisoformat(f"2001-{text}")
    except ValueError:
        return False
    return True


def to_celsius(value: float, unit: str) -> float:
    """A temperature in degrees C.

    >>> to_celsius(28, "F"), to_celsius(-22, "0.1 C")
    (-2.2222222222222223, -2.2)
    """
    if unit == "F":
        return (value - 32) / 1.8
    return value / 10 if unit == "0.1 C" else value


def is_told(text: str) -> bool:
    """Some words; an empty text says nothing."""
    return bool(text.strip())


def is_name(text: str) -> bool:
    """Some words on one line, without control characters or direction marks."""
    return is_told(text) and printable(text) == text


# What a failed check wants, in words; the key is the check's name.
WANTED_BY_CHECK = {
    check.__name__: check.__doc__ or ""
    for check in (is_slug, is_zone, is_month_day, is_told, is_name)
}

Slug = Annotated[str, Predicate(is_slug)]
Told = Annotated[str, Predicate(is_told)]
Name = Annotated[str, Predicate(is_name)]
Zone = Annotated[str, Predicate(is_zone)]
MonthDay = Annotated[str, Predicate(is_month_day)]
# beyond any plan or record; days near the ends of the calendar could not be counted from
Day = Annotated[date, Strict(), Ge(date(1900, 1, 1)), Le(date(2100, 12, 31))]
YesNo = Annotated[bool, Strict()]

# Who keeps more than half of the time free plans for another crew; stated or learned.
MOST_SPARE = 0.5

# Bounds that a site of any size keeps: what lies beyond is a slip of the keyboard, and would end
# in days and hours that nobody can count.
MANY = 1_000_000
Number = Annotated[float, Strict(), Ge(-MANY), Le(MANY)]
Amount = Annotated[float, Strict(), Ge(0), Le(MANY)]
Positive = Annotated[float, Strict(), Gt(0), Le(MANY)]
Price = Annotated[float, Strict(), Ge(0), Le(1000 * MANY)]  # money has units of all sizes
Share = Annotated[float, Strict(), Ge(0), Le(1)]
SpareShare = Annotated[float, Strict(), Ge(0), Le(MOST_SPARE)]
Count = Annotated[int, Strict(), Ge(0), Le(100_000)]
CountOfSome = Annotated[int, Strict(), Ge(1), Le(100_000)]
DaysAhead = Annotated[int, Strict(), Ge(0), Le(732)]
DoubtDays = Annotated[int, Strict(), Ge(0), Le(60)]
SomeWeeks = Annotated[float, Strict(), Gt(0), Le(104)]
GrowthWeeks = Annotated[float, Strict(), Gt(0), Le(52)]  # chances are told for a year ahead
WeeksBefore = Annotated[float, Strict(), Ge(0), Le(104)]
WholeWeeks = Annotated[int, Strict(), Ge(1), Le(104)]
Percent = Annotated[int, Strict(), Ge(1), Le(100)]
NDays = Annotated[int, Strict(), Ge(1), Le(732)]
DaysAround = Annotated[float, Strict(), Ge(-366), Le(366)]
Importance = Annotated[int, Strict(), Ge(1), Le(9)]
SmallCount = Annotated[int, Strict(), Ge(1), Le(100)]
SeasonsBack = Annotated[int, Strict(), Ge(1), Le(300)]
WaitDays = Annotated[float, Strict(), Ge(0), Le(366)]
RipeLater = Annotated[int, Strict(), Ge(-180), Le(180)]
MOST_IN_ROW = 14
DaysInRow = Annotated[int, Strict(), Ge(1), Le(MOST_IN_ROW)]
Year = Annotated[int, Strict(), Ge(1900), Le(2100)]
GroundM2 = Annotated[float, Strict(), Gt(0), Le(10_000_000)]
LineM = Annotated[float, Strict(), Gt(0), Le(20_000)]
WidthM = Annotated[float, Strict(), Gt(0), Le(60)]
TreeM = Annotated[float, Strict(), Gt(0), Le(100)]
StemCm = Annotated[float, Strict(), Ge(0), Le(500)]
MulchCm = Annotated[float, Strict(), Ge(0), Le(300)]
DistanceM = Annotated[float, Strict(), Ge(0), Le(10_000)]
Celsius = Annotated[float, Strict(), Ge(-60), Le(40)]
OffsetC = Annotated[float, Strict(), Ge(-10), Le(10)]
LatDeg = Annotated[float, Strict(), Ge(-90), Le(90)]
LonDeg = Annotated[float, Strict(), Ge(-180), Le(180)]
ElevM = Annotated[float, Strict(), Ge(-430), Le(6000)]
HorizonDeg = Annotated[float, Strict(), Ge(0), Le(45)]
DayHours = Annotated[float, Strict(), Gt(0), Le(12)]
WinterMonth = Annotated[float, Strict(), Ge(0), Le(12)]  # after the local winter solstice

Stratum = Literal["emergent", "high", "medium", "low", "ground"]
STRATA: tuple[Stratum, ...] = get_args(Stratum)
Role = Literal["support", "fruit", "boundary", "successor", "shield", "alley"]
CutSystem = Literal["retained", "pollard", "coppice", "remove", "clump", "leaves", "none"]
Habit = Literal["evergreen", "deciduous", "herb"]
Skill = Literal["hands", "ground-saw", "pole-saw", "climber", "chipper-hand"]
Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
WEEKDAYS: tuple[Weekday, ...] = get_args(Weekday)
Visit = Literal["dormant", "release", "dry-summer", "year"]
VISITS: tuple[Visit, ...] = get_args(Visit)  # as they come after the winter solstice
Exposure = Literal["canopy", "new-growth", "mulch", "planting"]
SignKind = Literal["bud-swell", "leaf-out", "flowering", "new-growth", "leaf-fall"]
