"""Civil days at the site, numbered from 0, and the place whose days they are."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray


def frozen(array: NDArray[Any]) -> NDArray[Any]:
    """Return the array itself, made read-only, so that a fact cannot be changed later."""
    array.flags.writeable = False
    return array


@dataclass(frozen=True, slots=True, order=True)
class DaySpan:
    """A closed interval of civil days: both ends belong to it.

    >>> DaySpan(date(2027, 3, 1), date(2027, 3, 3)).n_days
    3
    """

    first: date
    last: date

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError(f"a span ends on {self.last}, before it begins on {self.first}")

    @property
    def n_days(self) -> int:
        """Number of days, both ends counted."""
        return (self.last - self.first).days + 1

    def __contains__(self, day: object) -> bool:
        return isinstance(day, date) and self.first <= day <= self.last


@dataclass(frozen=True, slots=True)
class Season:
    """A run of civil days, numbered from 0; arrays over it have shape (n_days,).

    >>> season = Season(date(2027, 2, 27), 4)
    >>> season.last, season.day_of(date(2027, 3, 1)), date(2027, 3, 3) in season
    (datetime.date(2027, 3, 2), 2, False)
    """

    first: date
    n_days: int

    def __post_init__(self) -> None:
        if self.n_days < 1:
            raise ValueError(f"a season needs at least one day, not {self.n_days}")

    @classmethod
    def between(cls, first: date, last: date) -> "Season":
        """The season from ``first`` to ``last``, both included."""
        return cls(first, (last - first).days + 1)

    @property
    def last(self) -> date:
        """The last civil day."""
        return self.first + timedelta(days=self.n_days - 1)

    def date_of(self, day: int) -> date:
        """The civil date of a day number; numbers outside the season are allowed."""
        return self.first + timedelta(days=int(day))

    def day_of(self, when: date) -> int:
        """The number of a civil date; negative or beyond ``n_days`` outside the season."""
        return (when - self.first).days

    def __iter__(self) -> Iterator[date]:
        first = self.first.toordinal()
        return map(date.fromordinal, range(first, first + self.n_days))

    def __contains__(self, when: object) -> bool:
        return isinstance(when, date) and 0 <= self.day_of(when) < self.n_days

    def mask(self, span: DaySpan) -> NDArray[np.bool_]:
        """True on the days of the season that lie in ``span``; shape (n_days,)."""
        days = np.arange(self.n_days)
        return (days >= self.day_of(span.first)) & (days <= self.day_of(span.last))

    @property
    def slots(self) -> NDArray[np.intp]:
        """(n_days,) month and day as a number, 0 to 365, the same in leap years and others.

        >>> [Season(date(year, 3, 1), 1).slots.tolist() for year in (2027, 2028)]
        [[60], [60]]
        """
        days = np.datetime64(self.first, "D") + np.arange(self.n_days)
        years = days.astype("datetime64[Y]")
        of_year = (days - years.astype("datetime64[D]")).astype(np.intp)
        year = years.astype(np.intp) + 1970
        leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
        slots: NDArray[np.intp] = of_year + (~leap & (of_year >= 59))
        return slots

    def laid_over(self, held: "Season", values: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n_days,) values of the days of another season, NaN on days that it does not hold."""
        at = held.day_of(self.first) + np.arange(self.n_days)
        inside = (at >= 0) & (at < held.n_days)
        laid = np.full(self.n_days, np.nan)
        laid[inside] = values[at[inside]]
        return laid


def spans_of(season: Season, mask: NDArray[np.bool_]) -> tuple[DaySpan, ...]:
    """The runs of True in ``mask`` as closed spans of civil days, in order.

    >>> season = Season(date(2027, 1, 1), 4)
    >>> [span.n_days for span in spans_of(season, np.array([True, False, True, True]))]
    [1, 2]
    """
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return tuple(
        DaySpan(season.date_of(first), season.date_of(after - 1))
        for first, after in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
    )


def day_words(day: date) -> str:
    """A civil day as people write it, the same in every locale.

    >>> day_words(date(2027, 5, 4))
    '4 May 2027'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def span_words(first: date, last: date) -> str:
    """A closed span of days.

    >>> span_words(date(2027, 5, 4), date(2027, 5, 4))
    '4 May 2027'
    """
    return day_words(first) if first == last else f"{day_words(first)} to {day_words(last)}"


def numbered_runs(days: Iterable[int]) -> list[list[int]]:
    """Runs of ascending day numbers that follow one another."""
    runs: list[list[int]] = []
    for day in days:
        if runs and runs[-1][-1] == day - 1:
            runs[-1].append(day)
        else:
            runs.append([day])
    return runs


def days_words(season: Season, days: Iterable[int]) -> str:
    """Ascending days by their numbers: runs of days as spans.

    >>> days_words(Season(date(2027, 5, 3), 9), (0, 1, 4))
    '3 May 2027 to 4 May 2027, 7 May 2027'
    """
    runs = numbered_runs(days)
    return ", ".join(span_words(season.date_of(run[0]), season.date_of(run[-1])) for run in runs)


def month_day_words(month_day: str) -> str:
    """A day of the year written MM-DD, as people write it.

    >>> month_day_words("05-04")
    '4 May'
    """
    return f"{int(month_day[3:])} {_MONTHS[int(month_day[:2]) - 1]}"


def month_words(month: int) -> str:
    """A calendar month, 1 to 12, in full and the same in every locale.

    >>> month_words(2)
    'February'
    """
    return _MONTH_NAMES[month - 1]


_MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_MONTHS = tuple(name[:3] for name in _MONTH_NAMES)


N_SLOTS = 366


def slot_of(month_day: str) -> int:
    """The slot of a day of the year written MM-DD.

    >>> slot_of("03-01")
    60
    """
    return (date.fromisoformat(f"2000-{month_day}") - date(2000, 1, 1)).days


@dataclass(frozen=True, slots=True)
class Place:
    """Where the sky is looked at from."""

    lat_deg: float  # geographic latitude, -90 to 90, north positive
    lon_deg: float  # geographic longitude, -180 to 180, east positive
    zone: str  # IANA zone name, such as ``Europe/Madrid``
    # altitude of the skyline above the flat horizon, 0 to 45; 0 is open land
    horizon_deg: float = 0.0

    @property
    def southern(self) -> bool:
        """Whether seasons are those of the southern hemisphere."""
        return self.lat_deg < 0
