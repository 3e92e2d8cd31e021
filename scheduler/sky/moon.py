"""The Moon's phase and light.

Phase is the Moon's apparent ecliptic longitude less the Sun's (the elongation of
the almanac offices): 0 at new moon, 90 at first quarter, and the Moon waxes from
0 to 180. It is never read from the lit fraction, which is fullest up to half an
hour away from full moon and half lit a quarter of an hour away from the
quarters. The lit fraction is (1 + cos i) / 2 with the phase angle i at the Moon
between Earth and Sun (Meeus, Astronomical Algorithms, 2nd ed., formula 48.1).
"""

from dataclasses import dataclass

import numpy as np

from scheduler.sky.curves import Floats, values_at
from scheduler.sky.ephemeris import Positions, ecliptic_of


def elongation_curves(sky: Positions) -> tuple[Floats, Floats]:
    """Sine and cosine of the elongation at the nodes; each (n,)."""
    moon = ecliptic_of(sky.moon_km, sky.obliquity_rad)
    sun = ecliptic_of(sky.sun_km, sky.obliquity_rad)
    lengths = np.hypot(moon[:, 0], moon[:, 1]) * np.hypot(sun[:, 0], sun[:, 1])
    across = sun[:, 0] * moon[:, 1] - sun[:, 1] * moon[:, 0]
    along = sun[:, 0] * moon[:, 0] + sun[:, 1] * moon[:, 1]
    return across / lengths, along / lengths


@dataclass(frozen=True, slots=True)
class MoonLook:
    """The Moon at some instants; arrays of shape (m,).

    Args:
        elongation_deg: ecliptic longitude less the Sun's, 0 to 360.
        lit_fraction: lit part of the disc, 0 to 1.
    """

    elongation_deg: Floats
    lit_fraction: Floats


def moon_at(sky: Positions, at: Floats) -> MoonLook:
    """The Moon, seen from the Earth's centre, at some places between the nodes.

    Args:
        sky: positions at the nodes.
        at: (m,) places, in half days from the first node.
    """
    values = values_at(np.column_stack((sky.moon_km, sky.sun_km, sky.obliquity_rad)), at)
    moon, sun, obliquity_rad = values[:, :3], values[:, 3:6], values[:, 6]
    east = ecliptic_of(moon, obliquity_rad)
    west = ecliptic_of(sun, obliquity_rad)
    turn = np.arctan2(east[:, 1], east[:, 0]) - np.arctan2(west[:, 1], west[:, 0])
    phase_cosine = (_unit(moon - sun) * _unit(moon)).sum(axis=1)
    return MoonLook(
        elongation_deg=np.degrees(turn) % 360,
        lit_fraction=(1 + phase_cosine) / 2,
    )


def _unit(vectors: Floats) -> Floats:
    """Vectors (n, 3) made one long."""
    lengths: Floats = np.sqrt((vectors * vectors).sum(axis=1))
    return vectors / lengths[:, None]
