"""What a climate answers for one threshold: curves, dates, errors. Kept, since plots share it."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.chance_curves import (
    bootstrap_error_days,
    curves_of,
    slot_after_last,
    slot_before_first,
    smoothed_chance,
)
from scheduler.frost.seasons import FrostClimate, SeasonDates, SideDates
from scheduler.weather import Cycle

RECENT_SEASONS = 15


@dataclass(frozen=True, slots=True)
class FrostDates:
    """When the last (or first) frost comes, by chance.

    Args:
        p50: month-day MM-DD at a chance of 50 %: for last frosts the first day from which
            the chance of another is at most that; for first frosts the last day up to
            which the chance that it has come is at most that. None where frosts are too
            rare, or never rare enough, for a date.
        p10: likewise at 10 %.
        p05: likewise at 5 %.
        earliest: of the frosts seen in the period, by the day of the year.
        latest: likewise.
        error_days: bootstrap standard error of ``p10``, days; None where there is no date.
        median_error_days: likewise of ``p50``.
        recent_days: ``p50`` of the latest 15 seasons less that of the period, days; None
            where the period is not longer.
    """

    p50: str | None = None
    p10: str | None = None
    p05: str | None = None
    earliest: date | None = None
    latest: date | None = None
    error_days: float | None = None
    median_error_days: float | None = None
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
    """Chances and dates at one threshold.

    Args:
        dates: last and first frosts as recorded.
        after_by_slot: (366,) chance of another frost on or after.
        before_by_slot: (366,) chance that the first has come on or before.
        last_frost: dates of the last frost.
        first_frost: dates of the first frost.
    """

    dates: SeasonDates
    after_by_slot: NDArray[np.float64]
    before_by_slot: NDArray[np.float64]
    last_frost: FrostDates
    first_frost: FrostDates


@lru_cache(maxsize=8192)
def answer_of(climate: FrostClimate, key: int, spread_c: float) -> Answer | None:
    """The answer of a climate, or None where no season can be used.

    Args:
        climate: the table of seasons.
        key: threshold at the station, hundredths of a degree C.
        spread_c: standard deviation of a night's difference between plot and station.
    """
    dates = climate.seasons(key / 100)
    if not dates.n_seasons:
        return None
    curves = curves_of(climate, dates, spread_c)
    last = _Reader(climate.cycle, curves.by_season_after, first=False)
    first = _Reader(climate.cycle, curves.by_season_before, first=True)
    return Answer(
        dates,
        curves.on_or_after,
        curves.on_or_before,
        last.frost_dates(curves.on_or_after, dates.last),
        first.frost_dates(curves.on_or_before, dates.first),
    )


class _Reader:
    """Reads dates off one of the two curves."""

    def __init__(self, cycle: Cycle, by_season: NDArray[np.float32], *, first: bool) -> None:
        self.cycle, self.by_season, self.first = cycle, by_season, first
        self.slot_at = slot_before_first if first else slot_after_last

    def frost_dates(self, curve: NDArray[np.float64], side: SideDates) -> FrostDates:
        earliest, latest = side.extremes
        return FrostDates(
            p50=self.month_day(curve, 0.50),
            p10=self.month_day(curve, 0.10),
            p05=self.month_day(curve, 0.05),
            earliest=earliest,
            latest=latest,
            error_days=bootstrap_error_days(self.by_season, 0.10, first=self.first),
            median_error_days=bootstrap_error_days(self.by_season, 0.50, first=self.first),
            recent_days=self.recent_days(curve),
        )

    def month_day(self, curve: NDArray[np.float64], chance: float) -> str | None:
        slot = self.slot_at(curve, chance)
        return None if slot is None else self.cycle.month_day(slot)

    def recent_days(self, curve: NDArray[np.float64]) -> int | None:
        if len(self.by_season) <= RECENT_SEASONS:
            return None
        recent = self.by_season[-RECENT_SEASONS:].sum(axis=0, dtype=np.float64)
        then, now = (
            self.slot_at(c, 0.5) for c in (curve, smoothed_chance(recent, RECENT_SEASONS))
        )
        return None if then is None or now is None else now - then
