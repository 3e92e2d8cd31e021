"""The season clock: where the Sun stands on its yearly way, the same in both hemispheres.

Rules about seasons count months after the local winter solstice by solar
longitude, 30 degrees to the month: 0 at the winter solstice, 3 at the spring
equinox, 6 at the summer solstice, 9 at the autumn equinox. The solstice is the
December one north of the equator and the June one south of it. Longitude is the
Sun's apparent one, of the true equinox of date; the clock itself is ours.
"""

import numpy as np

from scheduler.sky.curves import Floats, values_at
from scheduler.sky.ephemeris import Positions, ecliptic_of


def longitude_curves(sky: Positions) -> tuple[Floats, Floats]:
    """Sine and cosine of the Sun's longitude at the nodes; each (n,)."""
    sun = ecliptic_of(sky.sun_km, sky.obliquity_rad)
    length = np.hypot(sun[:, 0], sun[:, 1])
    return sun[:, 1] / length, sun[:, 0] / length


def sun_longitude_deg(sky: Positions, at: Floats) -> Floats:
    """The Sun's apparent longitude, 0 to 360 degrees, between the nodes.

    Args:
        sky: positions at the nodes.
        at: (m,) places, in half days from the first node.
    """
    values = values_at(np.column_stack((sky.sun_km, sky.obliquity_rad)), at)
    sun = ecliptic_of(values[:, :3], values[:, 3])
    return np.degrees(np.arctan2(sun[:, 1], sun[:, 0])) % 360


def winter_months(longitude_deg: Floats, *, southern: bool) -> Floats:
    """Months of 30 degrees since the local winter solstice, 0 to 12.

    >>> winter_months(np.array([270.0, 0.0, 90.0]), southern=False).tolist()
    [0.0, 3.0, 6.0]
    >>> winter_months(np.array([90.0, 180.0]), southern=True).tolist()
    [0.0, 3.0]
    """
    return (longitude_deg - (90.0 if southern else 270.0)) % 360 / 30
