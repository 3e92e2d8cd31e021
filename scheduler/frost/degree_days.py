"""Degree days: how much warmth a day gives to growth above a base temperature."""

import math


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
