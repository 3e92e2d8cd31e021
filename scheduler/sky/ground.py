"""Sun and Moon seen from the ground: their altitude at a site, hour by hour.

For a site with zenith direction z in the Earth-fixed frame the sine of the altitude is

    sin(altitude) = z . (D e - r) / |D e - r|

with the body at distance D in direction e from the Earth's centre and the site
at r on the WGS 84 ellipsoid: the subtraction of r is the whole of the parallax. On
the ellipsoid r = N z - q k with the radius of curvature N, q = N e^2 sin(latitude)
and the pole k, so that the distance |D e - r| comes out of the same product.
(Geometry of the ellipsoid: Explanatory Supplement to the Astronomical Almanac,
3rd ed., section 4.2.2.)

The Earth's turning carries the site along, and that aberration changes the sine of
the altitude by the part (drift . e). It reaches 0.03 arcseconds at -6 degrees: enough
for a hundredth of a second where the Sun grazes a limit. Left out are polar motion
(0.3 arcseconds) and height above the sea, which would lower the sea's horizon but
not the skyline of a plot.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np

from scheduler.sky.curves import AFTER, BEFORE, Floats, densified
from scheduler.sky.ephemeris import NODES_PER_DAY, Positions, days_to_midnight, turn_rad
from scheduler.terms import Place

_EQUATOR_KM, _FLATTENING = 6378.137, 1 / 298.257223563  # WGS 84
_E2 = _FLATTENING * (2 - _FLATTENING)
_TURN_PER_C_KM = 7.292115e-5 / 299792.458  # Earth's rate of rotation over the speed of light
HOURS_PER_NODE = 24 // NODES_PER_DAY


@dataclass(frozen=True, slots=True, eq=False)
class SkySite:
    """A point on the ellipsoid, and its skyline.

    Args:
        zenith: (3,) upward unit vector in the Earth-fixed frame.
        curvature_km: N, from the surface down the plumb line to the axis.
        polar_km: q, from that foot on the axis up to the Earth's centre.
        drift: (3,) the Earth's turning at the site, in parts of the speed of light.
        horizon_deg: altitude of the skyline above the flat horizon.
    """

    zenith: Floats
    curvature_km: float
    polar_km: float
    drift: Floats
    horizon_deg: float

    @classmethod
    def of(cls, place: Place) -> "SkySite":
        """The site of a place."""
        lat, lon = np.radians(place.lat_deg), np.radians(place.lon_deg)
        zenith = np.array((np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)))
        curvature_km = float(_EQUATOR_KM / np.sqrt(1 - _E2 * np.sin(lat) ** 2))
        polar_km = float(_E2 * curvature_km * np.sin(lat))
        east = np.array((-zenith[1], zenith[0], 0.0))
        drift = _TURN_PER_C_KM * curvature_km * east
        return cls(zenith, curvature_km, polar_km, drift, place.horizon_deg)


@dataclass(frozen=True, slots=True, eq=False)
class Hours:
    """Sun and Moon in the Earth-fixed frame (x to Greenwich, z to the pole) at hours of TT.

    Args:
        sun: (3, n) unit vectors; ``sun_km``: (n,) distances from the Earth's centre.
        moon: (3, n) unit vectors; ``moon_km``: (n,) distances.
        moon_widening: (n,) distances over those before aberration, which swells and shrinks
            the disc by a tenth of an arcsecond that definitions of rise and set do not mean.
    """

    sun: Floats
    sun_km: Floats
    moon: Floats
    moon_km: Floats
    moon_widening: Floats


def hour_of(day: date) -> int:
    """Number of the hour of TT at 0 h of a date."""
    return round(days_to_midnight(day) * 24)


def hours_of(sky: Positions, begin_hour: int, end_hour: int) -> Hours:
    """Sun and Moon at the hours of TT from J2000.0, from the first to just before the last.

    The positions have five nodes to spare on both sides of the hours.
    """
    first_node, last_node = begin_hour // HOURS_PER_NODE, end_hour // HOURS_PER_NODE
    rows = slice(first_node - sky.first_node - BEFORE, last_node - sky.first_node + AFTER + 1)
    columns = np.column_stack(
        (sky.sun_km[rows], sky.moon_km[rows], sky.sidereal_rad[rows], sky.light_range_km[rows])
    )
    spare = begin_hour - first_node * HOURS_PER_NODE
    hourly = densified(columns, HOURS_PER_NODE)[spare : spare + end_hour - begin_hour]
    angle_rad = turn_rad(np.arange(begin_hour, end_hour) / 24) + hourly[:, 6]
    sun, sun_km = _earth_fixed(hourly[:, :3].T, angle_rad)
    moon, moon_km = _earth_fixed(hourly[:, 3:6].T, angle_rad)
    return Hours(sun, sun_km, moon, moon_km, moon_km / hourly[:, 7])


def _earth_fixed(vectors_km: Floats, angle_rad: Floats) -> tuple[Floats, Floats]:
    """Vectors of date (3, n) turned with the Earth: unit vectors and lengths."""
    cosine, sine = np.cos(angle_rad), np.sin(angle_rad)
    x, y, z = vectors_km
    length_km = np.sqrt(x * x + y * y + z * z)
    turned = np.stack((cosine * x + sine * y, cosine * y - sine * x, z)) / length_km
    return turned, length_km


def sine_altitudes(site: SkySite, body: Floats, body_km: Floats) -> tuple[Floats, Floats]:
    """Sines of a body's altitude over a site, without refraction, and its distances, km.

    Each is (n,), as are its distances from the Earth's centre; ``body`` holds (3, n)
    Earth-fixed unit vectors.
    """
    curvature_km, polar_km, sine_lat = site.curvature_km, site.polar_km, site.zenith[2]
    towards = site.zenith @ body
    along_km = curvature_km * towards - polar_km * body[2]  # r . e
    site_km2 = curvature_km**2 - 2 * curvature_km * polar_km * sine_lat + polar_km**2
    range_km = np.sqrt((body_km - 2 * along_km) * body_km + site_km2)
    height_km = curvature_km - polar_km * sine_lat  # z . r
    sines = (body_km * towards - height_km) / range_km
    sines *= 1 - site.drift @ body
    return sines, range_km
