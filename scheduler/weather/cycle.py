"""The year from warmest day to warmest day: slots that name the same month-day every year."""

import calendar
import math
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduler.terms import N_SLOTS, Season, slot_of

# Utah Climate Center, freeze table help: 24 July and 24 January.
NORTHERN_SPLIT, SOUTHERN_SPLIT = "07-24", "01-24"

_MIN_SHARE_OF_YEAR = 0.8  # of the slots with a value, or the harmonic is a guess
_MIN_AMPLITUDE_C = 1.0  # a flatter year has no warmest day worth the name


@dataclass(frozen=True)
class Cycle:
    """A year of 366 slots that begins on the split day, in the warmest part of the year.

    A cold season runs from one split to the day before the next, over the New Year where
    need be. Slot 0 is the split day, a month-day MM-DD; the slot of 29 February stays empty
    in common years.

    >>> cycle = Cycle("07-24")
    >>> cycle.slot_of(date(2027, 7, 24)), cycle.slot_of(date(2027, 7, 23))
    (0, 365)
    >>> cycle.month_day(cycle.slot_of(date(2026, 3, 1)))
    '03-01'
    """

    split: str

    @cached_property
    def _split_slot(self) -> int:
        return slot_of(self.split)

    @property
    def coldest_slot(self) -> int:
        """The slot half a year after the split."""
        return N_SLOTS // 2

    def slot_of(self, day: date) -> int:
        """The slot of a civil day, 0 to 365."""
        return (_slot_from_new_year(day) - self._split_slot) % N_SLOTS

    def slot_of_month_day(self, month_day: str) -> int:
        """The slot of a month-day written MM-DD."""
        return (slot_of(month_day) - self._split_slot) % N_SLOTS

    def month_day(self, slot: int) -> str:
        """The month-day of a slot, MM-DD."""
        day = date(2000, 1, 1) + timedelta(days=(slot + self._split_slot) % N_SLOTS)
        return f"{day:%m-%d}"

    def start_year_of(self, day: date) -> int:
        """The calendar year in which the cold season that holds ``day`` began."""
        return day.year - (_slot_from_new_year(day) < self._split_slot)

    def date_of(self, start_year: int, slot: int) -> date:
        """The civil day of a slot; 29 February becomes 1 March in common years."""
        years, at = divmod(slot + self._split_slot, N_SLOTS)
        year = start_year + years
        no_leap_day = at >= slot_of("03-01") and not calendar.isleap(year)
        return date(year, 1, 1) + timedelta(days=at - no_leap_day)

    def slots_of(self, season: Season) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Slots and start years of all days of a season; each shape (n_days,)."""
        at = season.slots
        years = np.array([day.year for day in season])
        return (at - self._split_slot) % N_SLOTS, years - (at < self._split_slot)

    def label(self, split_year: int) -> str:
        """What people call the growing season around the split of ``split_year``.

        Its last frost comes before the split, its first frost after it.

        >>> Cycle("07-24").label(1991), Cycle("01-24").label(2011), Cycle("01-24").label(2000)
        ('1991', '2010-11', '1999-2000')
        """
        quarter = N_SLOTS // 4
        first = self.date_of(split_year - 1, N_SLOTS - quarter).year
        last = self.date_of(split_year, quarter).year
        if first == last:
            return str(first)
        return f"{first}-{last % 100:02d}" if last % 100 else f"{first}-{last}"


def _slot_from_new_year(day: date) -> int:
    return (day.replace(year=2000) - date(2000, 1, 1)).days


def default_cycle(*, southern: bool) -> Cycle:
    """The cycle with the published split day: 24 July, or 24 January in the south."""
    return Cycle(SOUTHERN_SPLIT if southern else NORTHERN_SPLIT)


def warmest_day_cycle(season: Season, tmin_c: NDArray[np.float64], *, southern: bool) -> Cycle:
    """Split the year at the record's own climatological warmest day.

    The first harmonic of the year is fitted to the daily minima, (n_days,) degrees C with NaN
    where missing, by least squares; its maximum is the split day. The published day of the
    hemisphere stands in where the record does not cover the year or has no warm and cold part.
    """
    known = ~np.isnan(tmin_c)
    slots = season.slots[known]
    if np.unique(slots).size < _MIN_SHARE_OF_YEAR * N_SLOTS:
        return default_cycle(southern=southern)
    _, cosine, sine = np.linalg.lstsq(harmonics(slots, 1), tmin_c[known])[0]
    if math.hypot(cosine, sine) < _MIN_AMPLITUDE_C:
        return default_cycle(southern=southern)
    warmest = round(math.atan2(sine, cosine) / (2 * math.pi) * N_SLOTS) % N_SLOTS
    return Cycle(Cycle("01-01").month_day(warmest))


def harmonics(slots: NDArray[np.intp], order: int) -> NDArray[np.float64]:
    """(n, 1 + 2 * order) a constant, and cosine and sine of the first waves of the year."""
    angle = 2 * math.pi * slots / N_SLOTS
    waves = [wave(k * angle) for k in range(1, order + 1) for wave in (np.cos, np.sin)]
    return np.column_stack((np.ones(angle.size), *waves))
