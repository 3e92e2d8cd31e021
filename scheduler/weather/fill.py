"""Missing nights, taken as cold as they plausibly were.

A gap in a record hides frosts, so a missing night errs to the unsafe side: last frosts
come out early and first frosts late. In chances and closing dates a missing night
therefore counts as two standard deviations colder than expected, given the nights around
it and the time of year. Dates told as seen are never filled.

Measured on Milwaukee, 60 draws of random gaps: with 2 % of days missing the last frost at
10 % comes out 0.7 days later, at 50 % 1.0 day; with 5 %, 1.8 and 2.2 days; no draw had the
date at 10 % or 5 % earlier. Filled with one standard deviation, one draw in eight had.
"""

import numpy as np
from numpy.typing import NDArray

from scheduler.weather.cycle import harmonics

COLD_Z = 2.0  # colder one night in 44, were scores normal
_LEAST_SPREAD_C = 1.0
_MOST_PERSISTENCE = 0.95
_NO_NEIGHBOUR = 10_000


def cold_guess_c(slots: NDArray[np.intp], tmin_c: NDArray[np.float64]) -> NDArray[np.float64]:
    """Minima, degrees C, with the missing nights (NaN) filled on the cold side.

    The anomaly from two harmonics of the year, divided by a standard deviation that also
    follows two harmonics, is bridged between the nearest known nights as a first-order
    autoregressive series: mean and variance given both ends; see any text on Gaussian
    processes. The guess is the mean less two standard deviations; one night has to be known.
    Slots of the year and daily minima are each (n_days,).
    """
    known = np.flatnonzero(~np.isnan(tmin_c))
    missing = np.flatnonzero(np.isnan(tmin_c))
    waves = harmonics(slots, 2)
    mean_c = waves @ np.linalg.lstsq(waves[known], tmin_c[known])[0]
    squares = (tmin_c[known] - mean_c[known]) ** 2
    variance = waves @ np.linalg.lstsq(waves[known], squares)[0]
    spread_c = np.sqrt(np.maximum(variance, _LEAST_SPREAD_C**2))
    score = (tmin_c - mean_c) / spread_c
    guess, deviation = _bridge(score, known, missing)
    filled = tmin_c.copy()
    filled[missing] = mean_c[missing] + spread_c[missing] * (guess - COLD_Z * deviation)
    return filled


def _bridge(
    score: NDArray[np.float64], known: NDArray[np.intp], missing: NDArray[np.intp]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean and standard deviation of missing scores, given the nearest known ones."""
    products = score[:-1] * score[1:]
    both = ~np.isnan(products)
    persistence = float(products[both].mean()) if both.any() else 0.0
    persistence = min(max(persistence, 0.0), _MOST_PERSISTENCE)
    at = np.searchsorted(known, missing)
    has_left, has_right = at > 0, at < known.size
    left, right = known[np.maximum(at - 1, 0)], known[np.minimum(at, known.size - 1)]
    from_left = persistence ** np.where(has_left, missing - left, _NO_NEIGHBOUR)
    from_right = persistence ** np.where(has_right, right - missing, _NO_NEIGHBOUR)
    rest = 1 - (from_left * from_right) ** 2
    mean = (
        from_left * (1 - from_right**2) * score[left]
        + from_right * (1 - from_left**2) * score[right]
    ) / rest
    return mean, np.sqrt((1 - from_left**2) * (1 - from_right**2) / rest)
