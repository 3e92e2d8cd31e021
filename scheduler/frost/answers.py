"""What a climate answers for one threshold: curves, dates, errors. Kept, since plots share it."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.chance_curves import Curve, curves_of
from scheduler.frost.seasons import FrostClimate, SeasonDates, SideDates
from scheduler.weather import Cycle

RECENT_SEASONS = 15


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
