"""Winter chill and spring warmth, by the published models.

For judging how far buds have come; bloom follows chill, then heat. The author of the
reference implementation advises portions, not chill hours or Utah units, in warm
climates. Hourly temperatures have no gaps; degree days take the extremes of a day.
"""

import math

import numpy as np
from numpy.typing import NDArray

# Fishman, Erez and Couvillon 1987, with the constants of the R package chillR.
_E0, _E1 = 4153.5, 12888.8
_A0, _A1 = 139500.0, 2.567e18
_SLOPE, _TF_K = 1.6, 277.0
_ZERO_K = 273.0

# Richardson et al. 1974: units of an hour up to each temperature, degrees C.
_UTAH_UP_TO_C = np.array([1.4, 2.4, 9.1, 12.4, 15.9, 18.0])
_UTAH_UNITS = np.array([0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0])

# Anderson, Richardson and Kesner 1986: base, optimum and upper limit, degrees C.
_GDH_BASE_C, _GDH_BEST_C, _GDH_MOST_C = 4.0, 25.0, 36.0


def chill_hours(temperature_c: NDArray[np.float64]) -> int:
    """Hours from 0 to 7.2 degrees C, both counted.

    >>> chill_hours(np.array([-0.1, 0.0, 7.2, 7.3]))
    2
    """
    return int(((temperature_c >= 0) & (temperature_c <= 7.2)).sum())


def utah_units(temperature_c: NDArray[np.float64]) -> float:
    """Chill units of the Utah model (Richardson et al. 1974); warm hours take away.

    >>> utah_units(np.array([1.4, 2.4, 9.1, 12.4, 15.9, 18.0, 18.1]))
    0.5
    """
    at = np.searchsorted(_UTAH_UP_TO_C, temperature_c, side="left")
    return float(_UTAH_UNITS[at].sum())


def chill_portions(temperature_c: NDArray[np.float64]) -> float:
    """Portions of the dynamic model (Fishman, Erez and Couvillon 1987).

    State carries over from hour to hour: begin with the first hour of autumn, not in the
    middle of winter. As in the R package chillR the first hour only sets the start.

    Args:
        temperature_c: (n_hours,) degrees C.

    Returns:
        Whole and broken portions that were fixed.
    """
    portions = intermediate = 0.0
    for celsius in temperature_c[1:].tolist():
        kelvin = celsius + _ZERO_K
        balance = (_A0 / _A1) * math.exp((_E1 - _E0) / kelvin)
        rate = _A1 * math.exp(-_E1 / kelvin)
        intermediate = balance - (balance - intermediate) * math.exp(-rate)
        if intermediate >= 1:
            ratio = math.exp(_SLOPE * _TF_K * (kelvin - _TF_K) / kelvin)
            fixed = ratio / (1 + ratio)
            portions += intermediate * fixed
            intermediate *= 1 - fixed
    return portions


def growing_degree_hours(temperature_c: NDArray[np.float64]) -> float:
    """Growing degree hours of Anderson et al. (1986): none below 4, best at 25, none at 36.

    >>> round(growing_degree_hours(np.array([4.0, 14.5, 25.0, 36.0])), 6)
    31.5
    """
    span = _GDH_BEST_C - _GDH_BASE_C
    rising = span / 2 * (1 + np.cos(np.pi + np.pi * (temperature_c - _GDH_BASE_C) / span))
    fall = np.pi / 2 + np.pi / 2 * (temperature_c - _GDH_BEST_C) / (_GDH_MOST_C - _GDH_BEST_C)
    falling = span * (1 + np.cos(fall))
    hours = np.where(temperature_c <= _GDH_BEST_C, rising, falling)
    inside = (temperature_c >= _GDH_BASE_C) & (temperature_c <= _GDH_MOST_C)
    return float(hours[inside].sum())


def degree_days(tmin_c: float, tmax_c: float, base_c: float) -> float:
    """Mean of the day above the base, floored at 0: the simple average method.

    >>> degree_days(4, 20, 10)
    2.0
    """
    return max(0.0, (tmin_c + tmax_c) / 2 - base_c)


def degree_days_modified(tmin_c: float, tmax_c: float, base_c: float) -> float:
    """The same with extremes below the base raised to it (modified average method).

    >>> degree_days_modified(4, 20, 10)
    5.0
    """
    return degree_days(max(tmin_c, base_c), max(tmax_c, base_c), base_c)


def degree_days_single_sine(tmin_c: float, tmax_c: float, base_c: float) -> float:
    """Area above the base under a sine through both extremes (Baskerville and Emin 1969).

    Without an upper limit. Args and result in degrees C and degree days.

    >>> round(degree_days_single_sine(4, 20, 10), 4)
    3.6265
    """
    if tmin_c >= base_c:
        return (tmin_c + tmax_c) / 2 - base_c
    if tmax_c <= base_c:
        return 0.0
    mean, half = (tmax_c + tmin_c) / 2, (tmax_c - tmin_c) / 2
    crossing = math.asin((base_c - mean) / half)
    return ((mean - base_c) * (math.pi / 2 - crossing) + half * math.cos(crossing)) / math.pi
