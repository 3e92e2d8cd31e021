"""How far a crown has grown back since its last cut, by kind and by warmth.

Growth is counted in months of the year's mean warmth. The warmth of a day is what the mean
of its minimum and maximum has above a base. Where a record holds minima only, as records of
frost do, the mean is taken to lie so far above the night as the figure ``mean-above-night``
says. Scaled by the record's own mean year the degree days say how the year's growth is spread
over its months, and no more. Days the record does not hold take the mean of their month and
day. Without a record all days count alike.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import Holding, RuleBook, Stock
from scheduler.stand.cutting import cut_share
from scheduler.terms import N_SLOTS, year_slots
from scheduler.weather import Record

MONTH_DAYS = 365.25 / 12
# How far ahead a day is looked for; no figure of the trade.
HORIZON_DAYS = 3653
# A kind whose base is hardly ever passed at night has no warmth to be scaled by.
_LEAST_WARM_SHARE = 0.1


@dataclass(frozen=True, eq=False)
class Warmth:
    """The warmth of a record, asked for spans of days.

    Args:
        record: daily minima; None counts all days alike.
        mean_above_night_c: how far the mean of a day lies above its minimum, where the record
            has no maximum; the bases are given for nights.
    """

    record: Record | None
    mean_above_night_c: float | None = None
    _means: dict[float, NDArray[np.float64] | None] = field(default_factory=dict, repr=False)

    def months(self, first: date, after: date, base_c: float) -> float:
        """Months of mean warmth in the days ``first <= day < after``; 0 where there are none.

        >>> round(Warmth(None).months(date(2026, 1, 1), date(2027, 1, 1), 5.0), 2)
        11.99
        """
        n_days = max(0, (after - first).days)
        mean = self._mean_day(base_c)
        if mean is None or n_days == 0:
            return n_days / MONTH_DAYS
        return float(self._degree_days(first, n_days, base_c, mean).sum() / _a_month(mean))

    @property
    def basis(self) -> str:
        """What the growing is counted by, in words."""
        if self.record is None:
            return "calendar months, for want of a record"
        of = "minima and maxima" if self._has_means else "nightly minima"
        return f"months of mean warmth, by degree days of the record's {of}"

    @property
    def _has_means(self) -> bool:
        known = self.record is not None and self.record.tmax_c is not None
        return known and self.mean_above_night_c is not None

    @cached_property
    def _nights_c(self) -> NDArray[np.float64]:
        """(n_days,) minima; with maxima, the minima that days of such a mean usually have."""
        if self.record is None:
            return np.empty(0)
        tmin_c, tmax_c, above_c = self.record.tmin_c, self.record.tmax_c, self.mean_above_night_c
        if tmax_c is None or above_c is None:
            return tmin_c
        means_c = (tmin_c + tmax_c) / 2 - above_c
        return np.where(np.isnan(means_c), tmin_c, means_c)

    def _degree_days(
        self, first: date, n_days: int, base_c: float, mean: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        days = np.datetime64(first, "D") + np.arange(n_days)
        found = mean[year_slots(days)]
        if self.record is not None:
            at = (first - self.record.season.first).days + np.arange(n_days)
            held = (at >= 0) & (at < self.record.season.n_days)
            tmin_c = self._nights_c[at[held]]
            known = ~np.isnan(tmin_c)
            found[np.flatnonzero(held)[known]] = np.maximum(0.0, tmin_c[known] - base_c)
        return found

    def _mean_day(self, base_c: float) -> NDArray[np.float64] | None:
        """(366,) mean degree days of each month and day; None where they say nothing."""
        if base_c not in self._means:
            first = self.record.season.first if self.record else None
            mean = None if first is None else _mean_year(first, self._nights_c, base_c)
            self._means[base_c] = mean
        return self._means[base_c]


def warmth_of(holding: Holding) -> Warmth:
    """What regrowth is counted by at a site."""
    return Warmth(holding.record, holding.rules.figure("mean-above-night"))


def _mean_year(
    first: date, nights_c: NDArray[np.float64], base_c: float
) -> NDArray[np.float64] | None:
    known = ~np.isnan(nights_c)
    days = np.datetime64(first, "D") + np.flatnonzero(known)
    slots, warmth = year_slots(days), np.maximum(0.0, nights_c[known] - base_c)
    count = np.bincount(slots, minlength=N_SLOTS)
    # 29 February and a few others may be missing in a short record
    if (count > 0).sum() < N_SLOTS - 1 or (warmth > 0).mean() < _LEAST_WARM_SHARE:
        return None
    mean = np.bincount(slots, warmth, minlength=N_SLOTS) / np.maximum(count, 1)
    return np.where(count > 0, mean, mean[slots].mean())


def _a_month(mean: NDArray[np.float64]) -> float:
    """Degree days of a twelfth of the mean year."""
    return float(mean.mean() * MONTH_DAYS)


def grown_share(row: Stock, on: date, rules: RuleBook, warmth: Warmth) -> float:
    """Share of its full crown that a row of stock has on a day, 0 to 1.

    After a cut it grows back evenly from what the cut left (common practice, no source: the
    true curve is steep first). A row without a last cut stands in full.
    """
    regrowth = rules.regrowth_of(row.plant)
    taken = cut_share(row, rules)
    if row.last_cut is None or on < row.last_cut or regrowth is None:
        return 1.0
    months = warmth.months(row.last_cut, on, regrowth.base_c)
    return 1.0 - taken * (1.0 - min(1.0, months / regrowth.months))


def full_again(row: Stock, rules: RuleBook, warmth: Warmth) -> date | None:
    """First day on which the crown is full again after its last cut; None where not known.

    The search ends after ten years.
    """
    regrowth = rules.regrowth_of(row.plant)
    if row.last_cut is None or regrowth is None:
        return None
    low, high = row.last_cut, row.last_cut + timedelta(days=HORIZON_DAYS)
    while low < high:
        middle = low + (high - low) // 2
        if grown_share(row, middle, rules, warmth) >= 1.0:
            high = middle
        else:
            low = middle + timedelta(days=1)
    return low


def too_soon_months(row: Stock, on: date, rules: RuleBook) -> float | None:
    """Months since the last cut where that is sooner than the kind stands; else None."""
    regrowth = rules.regrowth_of(row.plant)
    if row.last_cut is None or regrowth is None or on < row.last_cut:
        return None
    months = (on - row.last_cut).days / MONTH_DAYS
    return months if months < regrowth.least_months else None
