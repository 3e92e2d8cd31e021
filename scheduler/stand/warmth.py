"""How fast crowns grow back and mulch rots, by the warmth of the place.

A day's temperature is the mean of its extremes. Where a record holds minima only, as records
of frost do, the mean is taken to lie so far above the night as the figure ``mean-above-night``
says. Days the record does not hold take the mean of their month and day. Without a record of
some years all days count alike.
"""

from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import RuleBook
from scheduler.terms import N_SLOTS, Season, frozen
from scheduler.weather import Record

MONTH_DAYS = 365.25 / 12
# A kind whose base is hardly ever passed at night has no warmth to be scaled by.
_LEAST_WARM_SHARE = 0.1

_Daily = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Warmth:
    """What crowns grow by: degree days, scaled to months of the record's own mean year.

    So they say how the year's growth is spread over its months, and no more. Without a record
    all days count alike. The bases are given for nights; the mean of a day lies
    ``mean_above_night_c`` above its night, where the record has maxima.
    """

    record: Record | None
    mean_above_night_c: float = 0.0
    _means: dict[float, tuple[_Daily, _Daily] | None] = field(default_factory=dict, repr=False)

    def months(self, first: date, after: date, base_c: float) -> float:
        """Months of mean warmth in the days ``first <= day < after``; 0 where there are none.

        >>> round(Warmth(None).months(date(2026, 1, 1), date(2027, 1, 1), 5.0), 2)
        11.99
        """
        n_days = max(0, (after - first).days)
        if base_c not in self._means:
            self._means[base_c] = self._degree_days(base_c)
        known = self._means[base_c]
        if self.record is None or known is None or n_days == 0:
            return n_days / MONTH_DAYS
        warm = _on_days(first, n_days, self.record.season, *known)
        return float(warm.sum() / float(known[1].mean() * MONTH_DAYS))

    def _degree_days(self, base_c: float) -> tuple[_Daily, _Daily] | None:
        """Degree days of the record's days, and of the mean year; None where they say nothing."""
        if self.record is None:
            return None
        nights_c = self.record.tmin_c
        if self.record.tmax_c is not None:
            means_c = (nights_c + self.record.tmax_c) / 2 - self.mean_above_night_c
            nights_c = np.where(np.isnan(means_c), nights_c, means_c)
        warm = np.maximum(0.0, nights_c - base_c)
        mean_year = _mean_year(self.record.season, warm)
        if mean_year is None or (warm[~np.isnan(warm)] > 0).mean() < _LEAST_WARM_SHARE:
            return None
        return warm, mean_year


@dataclass(frozen=True, eq=False)
class Rotting:
    """The pace of rotting at a site, in months at a reference temperature.

    Ten degrees more make it faster by the factor Q10 (Mackensen et al. 2003): a half-life of
    31 days at 26 degrees C is one of 94 at 14. Without a record all days count as at the
    reference.
    """

    record: Record | None
    rules: RuleBook
    _kept: dict[tuple[date, int], _Daily] = field(default_factory=dict, repr=False)

    def pace(self, mean_c: _Daily) -> _Daily:
        """Days of rotting at the reference in a day of a mean temperature; NaN stays."""
        steps = (mean_c - self.rules.figure("rot-reference")) / 10
        return np.asarray(self.rules.figure("rot-q10") ** steps)

    def months(self, first: date, n_days: int) -> _Daily:
        """(n_days + 1,) months at the reference that have gone by after so many days."""
        if (first, n_days) not in self._kept:
            paces = np.ones(n_days)
            if n_days and self.record is not None and self._known is not None:
                paces = _on_days(first, n_days, self.record.season, *self._known)
            gone_by = np.concatenate(([0.0], np.cumsum(paces))) / MONTH_DAYS
            self._kept[first, n_days] = frozen(gone_by)
        return self._kept[first, n_days]

    @cached_property
    def _known(self) -> tuple[_Daily, _Daily] | None:
        """Paces on the record's days and in the mean year; None where it is too short."""
        if self.record is None:
            return None
        tmin_c, tmax_c = self.record.tmin_c, self.record.tmax_c
        mean_c = tmin_c + self.rules.figure("mean-above-night")
        if tmax_c is not None:
            mean_c = np.where(np.isnan(tmax_c), mean_c, (tmin_c + tmax_c) / 2)
        paces = self.pace(mean_c)
        mean_year = _mean_year(self.record.season, paces)
        return None if mean_year is None else (paces, mean_year)


def _mean_year(season: Season, values: _Daily) -> _Daily | None:
    """(366,) mean of each month and day; None where the record is too short for it."""
    known = ~np.isnan(values)
    slots = season.slots[known]
    count = np.bincount(slots, minlength=N_SLOTS)
    # 29 February may be missing in a short record
    if (count > 0).sum() < N_SLOTS - 1:
        return None
    mean = np.bincount(slots, values[known], minlength=N_SLOTS) / np.maximum(count, 1)
    return np.where(count > 0, mean, mean[slots].mean())


def _on_days(
    first: date, n_days: int, season: Season, values: _Daily, mean_year: _Daily
) -> _Daily:
    """(n_days,) the record's own value of each day, else that of the mean year."""
    asked = Season(first, n_days)
    own = asked.laid_over(season, values)
    return np.where(np.isnan(own), mean_year[asked.slots], own)
