"""Published ways to a date at a chance: empirical quantiles by name, and mixed normal.

Plans read their dates off the chance curve (``curves``); these are for tables, and for
comparison with what others print. Dates are day numbers; a season without a frost is
-inf among last frosts and +inf among first frosts, and counts.
"""

import math
from collections.abc import Sequence
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.seasons import SideDates

QuantileMethod = Literal["weibull", "hazen", "linear", "median-unbiased"]

FEW_SEASONS = 15

# Hyndman and Fan 1996: position of a quantile among n sorted values, 1 to n, is
# share * (n + 1 - a - b) + a; the pair (a, b) names the method.
_PLOTTING: dict[QuantileMethod, tuple[float, float]] = {
    "weibull": (0.0, 0.0),
    "hazen": (0.5, 0.5),
    "linear": (1.0, 1.0),
    "median-unbiased": (1 / 3, 1 / 3),
}


def quantile(
    values: NDArray[np.float64] | Sequence[float], share: float, method: QuantileMethod
) -> float:
    """Empirical quantile, by a named plotting position.

    Args:
        values: at least one, in any order; infinite ones count.
        share: 0 to 1, the share of values at or below the quantile.
        method: ``weibull`` i/(n+1), ``hazen`` (i-0.5)/n, ``linear`` (i-1)/(n-1), known as
            type 7, or ``median-unbiased`` (i-1/3)/(n+1/3), known as type 8 (Hyndman and
            Fan 1996, The American Statistician 50:361).

    Returns:
        The quantile; infinite where it falls on a season without frost, and the date of
        the other where it falls between one with and one without.

    Raises:
        ValueError: no values, or a share outside 0 to 1.

    >>> quantile([162, 165, 161, 170, 165, 168], 0.8, "linear")
    168.0
    """
    ordered = np.sort(np.asarray(values, dtype=np.float64))
    if not ordered.size or not 0 <= share <= 1:
        raise ValueError(f"no quantile {share} of {ordered.size} values")
    a, b = _PLOTTING[method]
    position = share * (ordered.size + 1 - a - b) + a
    position = round(min(max(position, 1.0), float(ordered.size)), 9)
    below, above = ordered[math.floor(position) - 1], ordered[math.ceil(position) - 1]
    if below == above or position == math.floor(position):
        return float(below)
    if not math.isfinite(below) or not math.isfinite(above):
        return float(above if math.isinf(below) else below)
    return float(below + (above - below) * (position - math.floor(position)))


def usual_method(n_seasons: int) -> QuantileMethod:
    """Hazen under 15 seasons, else linear.

    The linear quantile is biased to the unsafe side by 2 days at 10 seasons and 3.4 at 5;
    with 30 it agrees best with published normals (measured on 88 seasons of Milwaukee
    and on NCEI normals of three stations).
    """
    return "hazen" if n_seasons < FEW_SEASONS else "linear"


def last_frost_slot(side: SideDates, chance: float, method: QuantileMethod | None = None) -> float:
    """Slot of the year on or after which a last frost comes with a chance.

    Args:
        side: last frosts.
        chance: 0 to 1; a chance of 0.9 is an early date, of 0.1 a late one.
        method: of the quantile; the usual one of so many seasons if left out.

    Returns:
        A slot, or -inf where so many seasons have no frost.
    """
    return quantile(side.slot, 1 - chance, method or usual_method(side.n_seasons))


def first_frost_slot(
    side: SideDates, chance: float, method: QuantileMethod | None = None
) -> float:
    """Slot of the year on or before which a first frost has come with a chance.

    Args:
        side: first frosts.
        chance: 0 to 1; a chance of 0.1 is an early date.
        method: of the quantile; the usual one of so many seasons if left out.

    Returns:
        A slot, or +inf where so many seasons have no frost.
    """
    return quantile(side.slot, chance, method or usual_method(side.n_seasons))


def mixed_normal_last_day(
    share_with_frost: float, mean_day: float, sd_days: float, chance: float
) -> float | None:
    """Day on or after which a last frost comes with a chance, by the mixed distribution.

    Thom and Shaw (1958) take the dates of last frosts as normal; with seasons that have
    none the chance is ``share * (1 - Phi((day - mean) / sd))`` (formula from memory). It
    fails where frosts are marginal and dates far from normal.

    Args:
        share_with_frost: share of seasons with a frost, above 0, at most 1.
        mean_day: mean day number of the last frost in those.
        sd_days: standard deviation, days, above 0.
        chance: wanted, above 0 and below 1.

    Returns:
        The day, or None where frosts come in too few seasons.

    >>> round(mixed_normal_last_day(0.8, 60, 12, 0.5), 2), mixed_normal_last_day(0.8, 60, 12, 0.9)
    (56.18, None)
    """
    if chance >= share_with_frost:
        return None
    return mean_day + sd_days * NormalDist().inv_cdf(1 - chance / share_with_frost)


def risk_over_years(chance_a_year: float, n_years: int) -> float:
    """Chance of at least one bad year in several: 1 - (1 - P) ** n (Haan 1979, from memory).

    >>> round(risk_over_years(0.1, 10), 3)
    0.651
    """
    return 1 - (1 - chance_a_year) ** n_years
