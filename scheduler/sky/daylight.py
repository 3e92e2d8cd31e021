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

The altitudes of :mod:`scheduler.sky.ground` are smooth, so their zeros come from the
hourly samples by :mod:`scheduler.sky.curves`: bracketed by signs, with a test for
bodies that graze the limit between two samples. High latitudes need no case of
their own.

A skyline above the flat horizon moves sunrise and sunset only, not the twilight
of the sky: the upper rim of the Sun, lifted by refraction, must clear it.
Refraction at the skyline follows Bennett (1982, Journal of Navigation 35, 255),
scaled to the conventional 34' at the flat horizon, so that a skyline of 0 degrees is
the rule for open land. That use of it is ours.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from scheduler.sky import clock
from scheduler.sky.curves import AFTER, BEFORE, Bools, Floats, crossings
from scheduler.sky.ephemeris import Positions, check_days, nodes_of, positions
from scheduler.sky.ground import Hours, Sites, hour_of, hours_of, sine_altitudes
from scheduler.terms import frozen

_DAY = timedelta(days=1)
_MOON_RADIUS_KM = 1737.4
_SIN_REFRACTION, _COS_REFRACTION = np.sin(np.radians(34 / 60)), np.cos(np.radians(34 / 60))
# 2 G M / (c^2 R), 0.0003 arcseconds: felt only where the Sun grazes a limit at high latitudes.
_BENDING_RAD = 1.39e-9
# No altitude turns back more than 1 - cos(7.5 degrees) = 0.0086 beyond an hourly sample.
_REACH = 0.01
# Altitudes in work at once: a year at 25 sites, small enough to stay near the processor.
_SITES_AT_ONCE, _HOURS_AT_ONCE = 25, 9600


class Limit(IntEnum):
    """The altitudes whose passing is looked for."""

    SUN_RIM = 0
    GROUND_LIGHT = 1
    CIVIL_LIGHT = 2
    MOON_RIM = 3


@dataclass(frozen=True, slots=True, eq=False)
class Passages:
    """When bodies pass their limits at some sites; the arrays are read-only.

    Args:
        site: (m,) number of the site.
        limit: (m,) a value of :class:`Limit`.
        utc_s: (m,) POSIX seconds; in order of time within a site and limit.
        rising: (m,) True where the body comes up.
        begin_s: POSIX seconds of the first instant looked at.
        up_at_begin: (n_sites, 4) whether the body stands above each limit then.
    """

    site: NDArray[np.int32]
    limit: NDArray[np.int8]
    utc_s: Floats
    rising: Bools
    begin_s: float
    up_at_begin: Bools

    def between(self, begin_s: float, end_s: float) -> "Passages":
        """The passages from ``begin_s`` to just before ``end_s``, in POSIX seconds."""
        up, early = self.up_at_begin.copy(), self.utc_s < begin_s
        up[self.site[early], self.limit[early]] = self.rising[early]  # the last one stands
        kept = ~early & (self.utc_s < end_s)
        return Passages(
            site=frozen(self.site[kept]),
            limit=frozen(self.limit[kept]),
            utc_s=frozen(self.utc_s[kept]),
            rising=frozen(self.rising[kept]),
            begin_s=begin_s,
            up_at_begin=frozen(up),
        )


def rise_set_of_sites(
    lat_deg: Floats,
    lon_deg: Floats,
    first: date,
    n_days: int,
    horizon_deg: Floats | None = None,
) -> Passages:
    """Rise, set, ground light and civil twilight at many sites over one run of UTC days.

    What does not depend on the site is computed once.

    Args:
        lat_deg: (n_sites,) geodetic latitudes, -90 to 90, north positive.
        lon_deg: (n_sites,) longitudes, -180 to 180, east positive.
        first: first UTC day, not before 1900-01-01.
        n_days: number of UTC days, 1 or more, to 2053-09-30 at most.
        horizon_deg: (n_sites,) altitudes of the skylines, 0 to 45; open land if left out.

    Raises:
        SkyRangeError: a day is outside the years of the ephemeris.

    >>> found = rise_set_of_sites(np.array([52.0, -35.0]), np.array([5.0, 150.0]),
    ...                           date(2027, 6, 21), 1)
    >>> [Limit(limit).name for limit in found.limit[found.site == 1]]
    ['SUN_RIM', 'SUN_RIM', 'GROUND_LIGHT', 'GROUND_LIGHT', 'CIVIL_LIGHT', 'CIVIL_LIGHT', \
'MOON_RIM', 'MOON_RIM']
    """
    last = first + (n_days - 1) * _DAY
    check_days(first, last)
    skyline_deg = np.zeros_like(lat_deg) if horizon_deg is None else horizon_deg
    sky = positions(*nodes_of(first, last))
    found = passages(Sites.at(lat_deg, lon_deg, skyline_deg), sky, first, last)
    begin_s = (first - date(1970, 1, 1)).days * clock.DAY_S
    return found.between(begin_s, begin_s + n_days * clock.DAY_S)


def passages(sites: Sites, sky: Positions, first: date, last: date) -> Passages:
    """All passages at some sites over some UTC days, and over an hour more on both sides.

    Args:
        sites: where.
        sky: positions at the nodes of the days.
        first: first UTC day.
        last: last UTC day, included.
    """
    parts = [
        _of_some(sites.part(start, _SITES_AT_ONCE), hours, start)
        for hours in _blocks(sky, hour_of(first) - 1, hour_of(last + _DAY) + 1)
        for start in range(0, len(sites), _SITES_AT_ONCE)
    ]
    return Passages(
        site=np.concatenate([part.site for part in parts]),
        limit=np.concatenate([part.limit for part in parts]),
        utc_s=np.concatenate([part.utc_s for part in parts]),
        rising=np.concatenate([part.rising for part in parts]),
        begin_s=parts[0].begin_s,
        up_at_begin=np.concatenate([part.up_at_begin for part in parts])[: len(sites)],
    )


def _blocks(sky: Positions, begin: int, end: int) -> Iterator[Hours]:
    """The hours in runs of 400 days, which overlap so that no passage falls between them."""
    for start in range(begin, end, _HOURS_AT_ONCE):
        stop = min(start + _HOURS_AT_ONCE, end)
        yield hours_of(sky, start - BEFORE, stop + AFTER)


def _of_some(sites: Sites, hours: Hours, first_site: int) -> Passages:
    """Passages at a few sites, whose numbers count from ``first_site``."""
    margins = _margins(sites, hours)
    zeros = crossings(margins, _REACH)
    limit, site = np.divmod(zeros.row, len(sites))
    begin_tt = np.array([(hours.first_hour + BEFORE) / 24])
    return Passages(
        site=(site + first_site).astype(np.int32),
        limit=limit.astype(np.int8),
        utc_s=clock.utc_of_tt((hours.first_hour + zeros.sample + zeros.beyond) / 24),
        rising=zeros.rising,
        begin_s=float(clock.utc_of_tt(begin_tt)[0]),
        up_at_begin=(margins[:, BEFORE] > 0).reshape(len(Limit), len(sites)).T,
    )


def _margins(sites: Sites, hours: Hours) -> Floats:
    """Sine of the altitude less that of the limit; (limits times sites, hours)."""
    sun, _ = sine_altitudes(sites, hours.sun, hours.sun_km)
    moon, moon_range_km = sine_altitudes(sites, hours.moon, hours.moon_km)
    margins = np.empty((len(Limit), *sun.shape))
    rim_deg = sun_limit_deg(sites.horizon_deg)[:, None]
    np.subtract(sun, _sine_of_limit(rim_deg), out=margins[Limit.SUN_RIM])
    np.subtract(sun, _sine_of_limit(-3.0), out=margins[Limit.GROUND_LIGHT])
    np.subtract(sun, _sine_of_limit(-6.0), out=margins[Limit.CIVIL_LIGHT])
    sine = _MOON_RADIUS_KM * hours.moon_widening / moon_range_km
    # sin(34' + radius), its cosine of the radius taken to the square: good to 1e-12.
    margins[Limit.MOON_RIM] = moon + _COS_REFRACTION * sine
    margins[Limit.MOON_RIM] += _SIN_REFRACTION * (1 - 0.5 * sine * sine) + _BENDING_RAD
    return margins.reshape(-1, sun.shape[1])


def _sine_of_limit(limit_deg: Floats | float) -> Floats | float:
    """Sine of a limit for the Sun, less the Earth's own bending of its light."""
    return np.sin(np.radians(limit_deg)) - _BENDING_RAD


def sun_limit_deg(horizon_deg: Floats) -> Floats:
    """True altitude of the Sun's centre when its upper rim stands on the skyline.

    Args:
        horizon_deg: (n,) altitudes of the skyline, 0 to 45.

    >>> sun_limit_deg(np.array([0.0, 5.0])).round(3).tolist()
    [-0.833, 4.571]
    """

    def bennett(altitude_deg: Floats) -> Floats:
        return 1 / np.tan(np.radians(altitude_deg + 7.31 / (altitude_deg + 4.4)))

    refraction_deg = 34 / 60 * bennett(horizon_deg) / bennett(np.zeros(1))
    return horizon_deg - refraction_deg - 16 / 60
