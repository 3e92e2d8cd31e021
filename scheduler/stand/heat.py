"""Limits of heat and vibration for people at work, by published formulas.

They are reminders for planning; local law and the state of the person go before them.
"""

import math

# Dry bulb temperatures between which an air temperature is looked for, degrees C.
_COLDEST_C, _HOTTEST_C = -20.0, 60.0


def alert_limit_c(effort_w: float) -> float:
    """Recommended alert limit for people not used to the heat, degrees C WBGT.

    NIOSH 2016-106: 59.9 - 14.1 log10 M.

    Args:
        effort_w: metabolic rate M of a person of 70 kg, watts.

    >>> round(alert_limit_c(415), 2)
    22.99
    """
    return 59.9 - 14.1 * math.log10(effort_w)


def exposure_limit_c(effort_w: float) -> float:
    """Recommended exposure limit for people used to the heat, degrees C WBGT.

    NIOSH 2016-106: 56.7 - 11.5 log10 M.

    >>> round(exposure_limit_c(415), 2)
    26.59
    """
    return 56.7 - 11.5 * math.log10(effort_w)


def wbgt_shade_c(air_c: float, humidity_pct: float) -> float:
    """Simplified wet bulb globe temperature, degrees C: light wind, moderate sun.

    0.567 T + 0.393 e + 3.94 with e the vapour pressure in hPa (Australian Bureau of
    Meteorology, from memory). It reads too high under cloud and in wind, too low in still
    full sun.

    Args:
        air_c: air temperature, degrees C.
        humidity_pct: relative humidity, 0 to 100.

    >>> round(wbgt_shade_c(28, 70), 1)
    30.2
    """
    vapour_hpa = humidity_pct / 100 * 6.105 * math.exp(17.27 * air_c / (237.7 + air_c))
    return 0.567 * air_c + 0.393 * vapour_hpa + 3.94


def air_at_wbgt_c(wbgt_c: float, humidity_pct: float) -> float:
    """Air temperature, degrees C, at which the simplified WBGT reaches a value."""
    low, high = _COLDEST_C, _HOTTEST_C
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (
            (middle, high) if wbgt_shade_c(middle, humidity_pct) < wbgt_c else (low, middle)
        )
    return low


def vibration_hours(vibration_m_s2: float, daily_m_s2: float) -> float:
    """Hours of running a tool until a daily vibration value over 8 h is reached.

    8 h * (A / a)^2: HSE, hand-arm vibration.

    Args:
        vibration_m_s2: of the tool; above 0.
        daily_m_s2: the action or limit value.

    >>> vibration_hours(5.0, 2.5)
    2.0
    """
    return 8.0 * (daily_m_s2 / vibration_m_s2) ** 2
