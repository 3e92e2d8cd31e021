"""Where Sun and Moon stand on the ecliptic: the phase, the Moon's light, the season clock.

Longitudes are apparent, geocentric, of the true ecliptic and equinox of date. Phase is the
elongation, the Moon's longitude less the Sun's: 0 at new moon, 90 at first quarter; the Moon
waxes from 0 to 180. It is never read from the lit fraction, which is fullest up to half an
hour away from full moon and half lit a quarter of an hour away from the quarters.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.sky.curves import Floats, values_at
from scheduler.sky.ephemeris import Positions, ecliptic_of


def event_curves(sky: Positions) -> Floats:
    """(4, n) sine and cosine of the elongation, then of the Sun's longitude, at the nodes."""
    moon_x, moon_y, _ = ecliptic_of(sky.moon_km, sky.obliquity_rad).T
    sun_x, sun_y, _ = ecliptic_of(sky.sun_km, sky.obliquity_rad).T
    sun_length = np.hypot(sun_x, sun_y)
    lengths = np.hypot(moon_x, moon_y) * sun_length
    across, along = sun_x * moon_y - sun_y * moon_x, sun_x * moon_x + sun_y * moon_y
    return np.stack((across / lengths, along / lengths, sun_y / sun_length, sun_x / sun_length))


@dataclass(frozen=True, slots=True)
class Look:
    """Sun and Moon at some instants; arrays of shape (m,).

    Args:
        elongation_deg: 0 to 360.
        lit_fraction: lit part of the Moon's disc, 0 to 1: (1 + cos i) / 2 with the phase angle
            i at the Moon between Earth and Sun (Meeus, Astronomical Algorithms, 2nd ed.,
            formula 48.1).
        sun_longitude_deg: 0 to 360.
    """

    elongation_deg: Floats
    lit_fraction: Floats
    sun_longitude_deg: Floats


def look_at(sky: Positions, at: Floats) -> Look:
    """Sun and Moon, seen from the Earth's centre, at (m,) places in half days from node 0."""
    values = values_at(np.column_stack((sky.moon_km, sky.sun_km, sky.obliquity_rad)), at)
    moon, sun, obliquity_rad = values[:, :3], values[:, 3:6], values[:, 6]
    moon_rad, sun_rad = (
        np.arctan2(seen[:, 1], seen[:, 0])
        for seen in (ecliptic_of(body, obliquity_rad) for body in (moon, sun))
    )
    phase_cosine = (_unit(moon - sun) * _unit(moon)).sum(axis=1)
    return Look(
        np.degrees(moon_rad - sun_rad) % 360,
        (1 + phase_cosine) / 2,
        np.degrees(sun_rad) % 360,
    )


def _unit(vectors: Floats) -> Floats:
    """Vectors (n, 3) made one long."""
    lengths: Floats = np.sqrt((vectors * vectors).sum(axis=1))
    return vectors / lengths[:, None]


def winter_months(longitude_deg: Floats, *, southern: bool) -> Floats:
    """The season clock: months of 30 degrees since the local winter solstice, 0 to 12.

    The solstice is the December one north of the equator, the June one south of it; 3 is the
    spring equinox, 6 the summer solstice. The clock is ours.

    >>> winter_months(np.array([270.0, 0.0, 90.0]), southern=False).tolist()
    [0.0, 3.0, 6.0]
    >>> winter_months(np.array([90.0, 180.0]), southern=True).tolist()
    [0.0, 3.0]
    """
    return (longitude_deg - (90.0 if southern else 270.0)) % 360 / 30
