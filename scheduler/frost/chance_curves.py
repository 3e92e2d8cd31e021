"""Chances by day of the year, and the dates and errors that follow from them.

A curve counts, for every slot of the year, the k of n seasons that saw a frost on or
after it (or, in autumn, on or before it), and states the chance (k + 0.5) / (n + 1):
never seen is not the same as impossible. A date at a chance is read off the same curve,
so that dates and chances cannot disagree.
"""

import math
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.seasons import (
    MAX_MISSING_DAYS,
    FrostClimate,
    SeasonDates,
    SideDates,
    first_slots,
    hundredths,
    last_slots,
)
from scheduler.terms import N_SLOTS, frozen
from scheduler.weather import Cycle

RECENT_SEASONS = 15
_MAX_UNDATED = 0.1  # share of resamples without a date above which no error is told
_REACH_C = 25.0  # a night further than this from the threshold is certain either way
_LEAST_CHANCE = 1e-12
_MAX_MISSING_SHARE = 0.2  # of the days of a run


@dataclass(frozen=True, eq=False)  # arrays do not compare to one truth
class Curve:
    """The chance of a frost by slot, at one threshold."""

    # (366,) that another last frost comes on or after the slot, before the split that ends the
    # cold season; or that the first since the split has come by the slot
    chance: NDArray[np.float64]
    # (n, 366) the same of each season used: 0 or 1, or between where the difference of plot and
    # station varies from night to night
    by_season: NDArray[np.float32]
    first: bool  # whether the chances are those of first frosts

    @classmethod
    def of(cls, by_season: NDArray[np.float32], *, first: bool) -> "Curve":
        """The curve of some seasons."""
        n_with_frost = by_season.sum(axis=0, dtype=np.float64)
        chance = smoothed_chance(n_with_frost, len(by_season))
        return cls(frozen(chance), frozen(by_season), first)

    def slot_at(self, chance: float) -> int | None:
        """First slot from which the chance of another frost is at most ``chance``.

        For first frosts, the last slot up to which the chance that one has come is at most
        that. None where the chance is as small on every day (frosts are too rare for a date),
        or never becomes as small.
        """
        within = int((self.chance <= chance).sum())
        if not 0 < within < N_SLOTS:
            return None
        return within - 1 if self.first else N_SLOTS - within

    def error_days(self, chance: float) -> float | None:
        """Standard error of the date at a chance, days, by the bootstrap over seasons.

        Efron 1979. The date is an order statistic of the seasons' own dates; its variance over
        all possible resamples is exact (Hutson and Ernst 2000, J. R. Stat. Soc. B 62:89, from
        memory), so nothing is drawn. Where nights are uncertain, a season's own date is where
        its chance passes one half. None where over a tenth of the resamples have no such date.
        """
        n = len(self.by_season)
        allowed = math.floor(round(chance * (n + 1) - 0.5, 9))  # so many may still see a frost
        if n < 2 or not 0 <= allowed < n:
            return None
        own = np.sort((first_slots if self.first else last_slots)(self.by_season > 0.5))
        weights = _order_weights(n, allowed + 1 if self.first else n - allowed)
        dated = np.isfinite(own)
        share = float(weights[dated].sum())
        if share < 1 - _MAX_UNDATED:
            return None
        mean = float((weights[dated] * own[dated]).sum()) / share
        variance = float((weights[dated] * (own[dated] - mean) ** 2).sum()) / share
        return round(math.sqrt(variance), 1)


def smoothed_chance(k: NDArray[np.float64], n: NDArray[np.intp] | int) -> NDArray[np.float64]:
    """The chance (k + 0.5) / (n + 1) after k of n seasons: never 0, never 1."""
    return (k + 0.5) / (n + 1)


def curves_of(
    climate: FrostClimate, dates: SeasonDates, spread_c: float = 0.0
) -> tuple[Curve, Curve]:
    """The curves of last and first frosts at the threshold of ``dates``, missing nights cold.

    With a ``spread_c``, the standard deviation of a night's difference between plot and station
    around its mean, degrees C, each night counts with its normal probability of being at or
    below the threshold. Nights are taken as independent, which overstates the chance a little
    where they are not.
    """
    key = hundredths(dates.threshold_c)
    if spread_c > 0:
        none = _log_no_frost(climate.careful, key, spread_c)
        after = -np.expm1(np.cumsum(none[:, ::-1], axis=1)[:, ::-1])
        before = -np.expm1(np.cumsum(none, axis=1))
    else:
        after, before = (coldest <= key for coldest in climate.careful_coldest)
    return (
        Curve.of(after[dates.last.rows].astype(np.float32), first=False),
        Curve.of(before[dates.first.rows].astype(np.float32), first=True),
    )


def _log_no_frost(table: NDArray[np.int32], key: int, spread_c: float) -> NDArray[np.float64]:
    """Log of the chance that a night stays above the threshold; same shape as ``table``."""
    logs = _log_by_distance(max(round(spread_c, 3), 0.001))
    reach = len(logs) // 2
    # how far the station is below the threshold, in hundredths
    below = np.clip(key - table.astype(np.int64), -reach, reach)
    return logs[below + reach]


@lru_cache(maxsize=32)
def _log_by_distance(spread_c: float) -> NDArray[np.float64]:
    reach = round(_REACH_C * 100)
    scale = 100 * spread_c * math.sqrt(2)
    none = [0.5 * math.erfc(below / scale) for below in range(-reach, reach + 1)]
    none[0] = 1.0  # out of reach: no night of that number
    return frozen(np.log(np.maximum(none, _LEAST_CHANCE)))


@lru_cache(maxsize=1024)
def _order_weights(n: int, rank: int) -> NDArray[np.float64]:
    """(n,) chance that the value of a rank in a resample is the i-th smallest of the sample."""
    up_to = [
        sum(math.comb(n, k) * (i / n) ** k * (1 - i / n) ** (n - k) for k in range(rank, n + 1))
        for i in range(n + 1)
    ]
    return frozen(np.diff(np.array(up_to)))


@lru_cache(maxsize=1024)
def chance_within(
    climate: FrostClimate, key: int, spread_c: float, n_days: int
) -> NDArray[np.float64]:
    """(366,) chance that a night at or below a threshold falls in the days from each slot on.

    The run of 1 to 366 days, the first counted, may pass the split: what counts is the growth,
    not the season. Key and spread are those of ``answer_of``. Smoothed, (k + 0.5) / (n + 1), over
    the years of the period whose run has at most 10 missing days; NaN where there is none.
    """
    n_missing = _sum_of_run(climate.missing.astype(np.float64), n_days, beyond=1.0)
    if spread_c > 0:
        log_none = _log_no_frost(climate.careful, key, spread_c)
        chance = -np.expm1(_sum_of_run(log_none, n_days, beyond=0.0))
    else:
        frost = (climate.careful <= key).astype(np.float64)
        chance = _sum_of_run(frost, n_days, beyond=0.0) > 0
    usable = n_missing <= min(MAX_MISSING_DAYS, n_days * _MAX_MISSING_SHARE)
    # the latest years, counted from the last that can be used at all
    later = np.cumsum(usable[::-1], axis=0)[::-1]
    usable &= later <= climate.period_seasons
    n = usable.sum(axis=0)
    k = np.where(usable, chance, 0.0).sum(axis=0)
    return frozen(np.where(n > 0, smoothed_chance(k, n), np.nan))


def _sum_of_run(table: NDArray[np.float64], n_days: int, *, beyond: float) -> NDArray[np.float64]:
    """(n_rows, 366) sums over runs of days that go on into the next row."""
    flat = np.concatenate((table.ravel(), np.full(n_days, beyond)))
    before = np.concatenate(([0.0], np.cumsum(flat)))
    size = table.size
    return (before[n_days : n_days + size] - before[:size]).reshape(table.shape)


@dataclass(frozen=True, slots=True)
class FrostDates:
    """When the last (or first) frost comes, by chance."""

    # month-day MM-DD at a chance of 50 %: for last frosts the first day from which the chance of
    # another is at most that; for first frosts the last day up to which the chance that it has
    # come is at most that. None where frosts are too rare, or never rare enough, for a date.
    p50: str | None = None
    p10: str | None = None  # likewise at 10 %; ``p05`` at 5 %
    p05: str | None = None
    # of the frosts seen in the period, by the day of the year; ``latest`` likewise
    earliest: date | None = None
    latest: date | None = None
    # bootstrap standard error of ``p10``, days; None where there is no date
    error_days: float | None = None
    median_error_days: float | None = None  # likewise of ``p50``
    # ``p50`` of the latest 15 seasons less that of the period, days; None where the period is not
    # longer
    recent_days: int | None = None

    @property
    def shifting(self) -> bool:
        """Whether the latest seasons differ from the period by more than its error."""
        if self.recent_days is None or self.median_error_days is None:
            return False
        return abs(self.recent_days) > self.median_error_days


NO_DATES = FrostDates()


@dataclass(frozen=True)
class Answer:
    """The frosts recorded at one threshold; chances by slot (366,) and dates, as ``FrostRisk``."""

    dates: SeasonDates
    after_by_slot: NDArray[np.float64]
    before_by_slot: NDArray[np.float64]
    last_frost: FrostDates
    first_frost: FrostDates


@lru_cache(maxsize=8192)
def answer_of(climate: FrostClimate, key: int, spread_c: float) -> Answer | None:
    """The answer of a climate, or None where no season can be used.

    The key is the threshold at the station, hundredths of a degree C; the spread is the
    standard deviation of a night's difference between plot and station.
    """
    dates = climate.seasons(key / 100)
    if not dates.n_seasons:
        return None
    last, first = curves_of(climate, dates, spread_c)
    return Answer(
        dates,
        last.chance,
        first.chance,
        _frost_dates(climate.cycle, dates.last, last),
        _frost_dates(climate.cycle, dates.first, first),
    )


def _frost_dates(cycle: Cycle, side: SideDates, curve: Curve) -> FrostDates:
    slots = [curve.slot_at(chance) for chance in (0.50, 0.10, 0.05)]
    p50, p10, p05 = (None if slot is None else cycle.month_day(slot) for slot in slots)
    recent_days = None
    if len(curve.by_season) > RECENT_SEASONS and slots[0] is not None:
        now = Curve.of(curve.by_season[-RECENT_SEASONS:], first=curve.first).slot_at(0.50)
        recent_days = None if now is None else now - slots[0]
    earliest, latest = side.extremes
    return FrostDates(
        p50=p50,
        p10=p10,
        p05=p05,
        earliest=earliest,
        latest=latest,
        error_days=curve.error_days(0.10),
        median_error_days=curve.error_days(0.50),
        recent_days=recent_days,
    )
