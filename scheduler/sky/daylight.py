"""Rise, set and twilight: when Sun and Moon pass the altitudes that matter.

A body rises or sets when the true altitude of its centre passes

* Sun: -50', that is 34' of refraction and 16' of radius;
* Moon: -34' less its true radius, asin(1737.4 km / distance), as seen from the site;
* civil twilight: Sun at -6 degrees;
* light for work on the ground: Sun at -3 degrees.

The first three are the definitions of the US Naval Observatory ("Rise, Set, and
Twilight Definitions"). The fourth is our own log-linear estimate, between 500 lx
at sunset and 2.7 lx at -6 degrees, of the 54 lx that OSHA 29 CFR 1926.56 asks for
general work areas; shade of a canopy comes on top.
A skyline above the flat horizon moves sunrise and sunset only, not the twilight
of the sky: the upper rim of the Sun, lifted by refraction, must clear it.
Refraction at the skyline follows Bennett (1982, Journal of Navigation 35, 255),
scaled to the conventional 34' at the flat horizon, so that a skyline of 0 degrees is
the rule for open land. That use of it is ours.
"""

from datetime import date, timedelta
from enum import IntEnum

import numpy as np

from scheduler.sky import clock
from scheduler.sky.curves import AFTER, BEFORE, Bools, Floats, crossings
from scheduler.sky.ephemeris import Positions
from scheduler.sky.ground import Hours, SkySite, hour_of, hours_of, sine_altitudes

_MOON_RADIUS_KM = 1737.4
_SIN_REFRACTION, _COS_REFRACTION = np.sin(np.radians(34 / 60)), np.cos(np.radians(34 / 60))
# 2 G M / (c^2 R), 0.0003 arcseconds: felt only where the Sun grazes a limit at high latitudes.
_BENDING_RAD = 1.39e-9
# No altitude turns back more than 1 - cos(7.5 degrees) = 0.0086 beyond an hourly sample.
_REACH = 0.01


class LightLimit(IntEnum):
    """The altitudes whose passing is looked for."""

    SUN_RIM = 0
    GROUND_LIGHT = 1
    CIVIL_LIGHT = 2
    MOON_RIM = 3


def passages(site: SkySite, sky: Positions, first: date, last: date) -> list[tuple[Floats, Bools]]:
    """For each ``Limit`` the POSIX seconds from which the body is up or down, and which it is.

    They begin an hour before the first UTC day and go on with every passage up to an hour after
    the last, in order of time.
    """
    begin, end = hour_of(first) - 1, hour_of(last + timedelta(days=1)) + 1
    margins = _margins(site, hours_of(sky, begin - BEFORE, end + AFTER))
    zeros = crossings(margins, _REACH)
    utc_s = clock.utc_of_tt((begin - BEFORE + zeros.sample + zeros.beyond) / 24)
    begin_s = clock.utc_of_tt(np.array([begin / 24]))
    courses = []
    for limit in LightLimit:
        ours = zeros.row == limit
        up_at_begin = margins[limit, BEFORE] > 0
        since_s = np.append(begin_s, utc_s[ours])
        courses.append((since_s, np.append(up_at_begin, zeros.rising[ours])))
    return courses


def _margins(site: SkySite, hours: Hours) -> Floats:
    """Sine of the altitude less that of each limit; (4, hours)."""
    sun, _ = sine_altitudes(site, hours.sun, hours.sun_km)
    moon, moon_range_km = sine_altitudes(site, hours.moon, hours.moon_km)
    radius = _MOON_RADIUS_KM * hours.moon_widening / moon_range_km
    # sin(34' + radius), its cosine of the radius taken to the square: good to 1e-12.
    moon_rim = _COS_REFRACTION * radius + _SIN_REFRACTION * (1 - 0.5 * radius * radius)
    return np.stack(
        (
            sun - _sine_of_limit(sun_limit_deg(site.horizon_deg)),
            sun - _sine_of_limit(-3.0),
            sun - _sine_of_limit(-6.0),
            moon + moon_rim + _BENDING_RAD,
        )
    )


def _sine_of_limit(limit_deg: float) -> float:
    """Sine of a limit for the Sun, less the Earth's own bending of its light."""
    return float(np.sin(np.radians(limit_deg))) - _BENDING_RAD


def sun_limit_deg(horizon_deg: float) -> float:
    """True altitude of the Sun's centre when its upper rim stands on a skyline of 0 to 45.

    >>> round(sun_limit_deg(0.0), 3), round(sun_limit_deg(5.0), 3)
    (-0.833, 4.571)
    """

    def bennett(altitude_deg: float) -> float:
        return float(1 / np.tan(np.radians(altitude_deg + 7.31 / (altitude_deg + 4.4))))

    refraction_deg = 34 / 60 * bennett(horizon_deg) / bennett(0.0)
    return horizon_deg - refraction_deg - 16 / 60
