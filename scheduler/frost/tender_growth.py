"""The chance of a damaging night in the weeks after a day: what new growth has to live through."""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.chance_curves import log_no_frost, smoothed_chance
from scheduler.frost.seasons import MAX_MISSING_DAYS, FrostClimate
from scheduler.terms import N_SLOTS, frozen

_MAX_MISSING_SHARE = 0.2


@lru_cache(maxsize=1024)
def chance_within(
    climate: FrostClimate, key: int, spread_c: float, n_days: int
) -> NDArray[np.float64]:
    """Chance that a night at or below a threshold falls in the days from each slot on.

    The run of 1 to 366 days, the first counted, may pass the split: what counts is the growth,
    not the season. The key is the threshold at the station, hundredths of a degree C; the spread
    is the standard deviation of a night's difference between plot and station.

    Returns:
        (366,) smoothed chance (k + 0.5) / (n + 1) over the years of the period whose run
        has at most 10 missing days; NaN where there is none.

    Raises:
        ValueError: ``n_days`` is not 1 to 366.
    """
    if not 1 <= n_days <= N_SLOTS:
        raise ValueError(f"a run of {n_days} days; 1 to {N_SLOTS} are possible")
    n_missing = _sum_of_run(climate.missing.astype(np.float64), n_days, beyond=1.0)
    chance = _chance_by_year(climate, key, spread_c, n_days)
    usable = n_missing <= min(MAX_MISSING_DAYS, n_days * _MAX_MISSING_SHARE)
    # the latest years, counted from the last that can be used at all
    later = np.cumsum(usable[::-1], axis=0)[::-1]
    usable &= later <= climate.period_seasons
    n = usable.sum(axis=0)
    k = np.where(usable, chance, 0.0).sum(axis=0)
    return frozen(np.where(n > 0, smoothed_chance(k, n), np.nan))


def _chance_by_year(
    climate: FrostClimate, key: int, spread_c: float, n_days: int
) -> NDArray[np.float64]:
    if spread_c > 0:
        log_none = log_no_frost(climate.careful, key, spread_c)
        return -np.expm1(_sum_of_run(log_none, n_days, beyond=0.0))
    frost = (climate.careful <= key).astype(np.float64)
    return (_sum_of_run(frost, n_days, beyond=0.0) > 0).astype(np.float64)


def _sum_of_run(table: NDArray[np.float64], n_days: int, *, beyond: float) -> NDArray[np.float64]:
    """(n_rows, 366) sums over runs of days that go on into the next row."""
    flat = np.concatenate((table.ravel(), np.full(n_days, beyond)))
    before = np.concatenate(([0.0], np.cumsum(flat)))
    size = table.size
    return (before[n_days : n_days + size] - before[:size]).reshape(table.shape)
