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
    """The frosts recorded at one threshold; chances by slot (366,) and dates, as ``FrostRisk``."""

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
    after, before = curves.on_or_after, curves.on_or_before
    return Answer(
        dates,
        after,
        before,
        _frost_dates(climate.cycle, dates.last, after, curves.by_season_after, first=False),
        _frost_dates(climate.cycle, dates.first, before, curves.by_season_before, first=True),
    )


def _frost_dates(
    cycle: Cycle,
    side: SideDates,
    curve: NDArray[np.float64],
    by_season: NDArray[np.float32],
    *,
    first: bool,
) -> FrostDates:
    """Dates read off one of the two curves."""
    slot_at = slot_before_first if first else slot_after_last
    slots = [slot_at(curve, chance) for chance in (0.50, 0.10, 0.05)]
    p50, p10, p05 = (None if slot is None else cycle.month_day(slot) for slot in slots)
    recent_days = None
    if len(by_season) > RECENT_SEASONS and slots[0] is not None:
        recent = by_season[-RECENT_SEASONS:].sum(axis=0, dtype=np.float64)
        now = slot_at(smoothed_chance(recent, RECENT_SEASONS), 0.50)
        recent_days = None if now is None else now - slots[0]
    earliest, latest = side.extremes
    return FrostDates(
        p50=p50,
        p10=p10,
        p05=p05,
        earliest=earliest,
        latest=latest,
        error_days=bootstrap_error_days(by_season, 0.10, first=first),
        median_error_days=bootstrap_error_days(by_season, 0.50, first=first),
        recent_days=recent_days,
    )
