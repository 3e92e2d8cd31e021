"""How fast mulch rots, by the warmth of the place.

Rotting is counted in months at a reference temperature. Ten degrees more make it faster by
the factor Q10 (Mackensen et al. 2003): a half-life of 31 days at 26 degrees C is one of 94 at
14. A day's temperature is the mean of its extremes; where the record has no maxima, it is
taken to lie so far above the night as the figure ``mean-above-night`` says. Days the record
does not hold take the mean of their month and day; without a record each day counts as one.
"""

from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import RuleBook
from scheduler.stand.growth import MONTH_DAYS
from scheduler.terms import N_SLOTS, frozen, year_slots
from scheduler.weather import Record


@dataclass(frozen=True, eq=False)
class Rotting:
    """The pace of rotting at a site.

    Args:
        record: daily temperatures; None counts all days as at the reference.
        rules: the rule book, for Q10 and the reference.
    """

    record: Record | None
    rules: RuleBook
    _kept: dict[tuple[date, int], NDArray[np.float64]] = field(default_factory=dict, repr=False)

    def pace(self, mean_c: NDArray[np.float64]) -> NDArray[np.float64]:
        """Days of rotting at the reference in a day of a mean temperature; NaN stays."""
        steps = (mean_c - self.rules.figure("rot-reference")) / 10
        return np.asarray(self.rules.figure("rot-q10") ** steps)

    def months(self, first: date, n_days: int) -> NDArray[np.float64]:
        """(n_days + 1,) months at the reference that have gone by after so many days."""
        if (first, n_days) not in self._kept:
            self._kept[first, n_days] = frozen(self._months(first, n_days))
        return self._kept[first, n_days]

    def _months(self, first: date, n_days: int) -> NDArray[np.float64]:
        paces = np.ones(n_days)
        if self._mean_year is not None and self.record is not None:
            paces = self._mean_year[year_slots(np.datetime64(first, "D") + np.arange(n_days))]
            at = (first - self.record.season.first).days + np.arange(n_days)
            held = np.flatnonzero((at >= 0) & (at < self.record.season.n_days))
            known = self._held[at[held]]
            good = ~np.isnan(known)
            paces[held[good]] = known[good]
        return np.concatenate(([0.0], np.cumsum(paces))) / MONTH_DAYS

    @property
    def basis(self) -> str:
        """What rotting is counted by, in words."""
        if self._mean_year is None:
            return "calendar months, for want of a record of some years"
        return "the warmth of the record's days (Q10)"

    @cached_property
    def _held(self) -> NDArray[np.float64]:
        """(n_days,) pace on the days of the record."""
        if self.record is None:
            return np.empty(0)
        tmin_c, tmax_c = self.record.tmin_c, self.record.tmax_c
        mean_c = tmin_c + self.rules.figure("mean-above-night")
        if tmax_c is not None:
            mean_c = np.where(np.isnan(tmax_c), mean_c, (tmin_c + tmax_c) / 2)
        return self.pace(mean_c)

    @cached_property
    def _mean_year(self) -> NDArray[np.float64] | None:
        """(366,) mean pace of each month and day; None where the record is too short."""
        if self.record is None:
            return None
        known = ~np.isnan(self._held)
        slots = year_slots(np.datetime64(self.record.season.first, "D") + np.flatnonzero(known))
        count = np.bincount(slots, minlength=N_SLOTS)
        # 29 February may be missing in a short record
        if (count > 0).sum() < N_SLOTS - 1:
            return None
        mean = np.bincount(slots, self._held[known], minlength=N_SLOTS) / np.maximum(count, 1)
        return np.where(count > 0, mean, mean[slots].mean())
