"""The door to the ephemeris: where Moon and Sun stand, twelve-hourly, seen from the Earth.

The JPL ephemeris DE421 (Folkner, Williams and Boggs 2009, IPN Progress Report 42-178) comes
with the package ``skyfield_data`` and is opened straight from its folder: no network, no expiry
warning. What is done to the raw vectors, all of it published:

* light time: a body is seen where it stood when the light left it. Over the
  1.3 s from the Moon and the 499 s from the Sun its path about the barycentre is
  straight to some centimetres, so position less velocity times light time is enough;
* annual aberration, by the Lorentz formula (Explanatory Supplement to the
  Astronomical Almanac, 3rd ed., section 7.2.3); the bending of light by the
  Sun is under 0.01 arcseconds for the Moon and is left out;
* frame bias and precession IAU 2006 (Capitaine, Wallace and Chapront 2003),
  nutation IAU 2000B (McCarthy and Luzum 2003, within 0.001 arcseconds of the
  long series), in the implementations of skyfield;
* apparent sidereal time by the equinox method (USNO Circular 179, section 2.6.2).
"""

from contextlib import closing
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from importlib.resources import as_file, files

import numpy as np
from skyfield.framelib import ICRS_to_J2000
from skyfield.jpllib import SpiceKernel
from skyfield.nutationlib import (
    build_nutation_matrix,
    equation_of_the_equinoxes_complimentary_terms,
    iau2000b_radians,
    mean_obliquity,
)
from skyfield.precessionlib import compute_precession
from skyfield.timelib import Time

from scheduler.sky.clock import DAY_S, J2000_JD, timescale
from scheduler.sky.curves import Floats, Ints
from scheduler.terms import frozen

_J2000_DAY = date(2000, 1, 1)
# The kernel ends on 2053-10-09; its reader extrapolates some days beyond without a word.
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2053, 9, 30)
NODES_PER_DAY = 2
_C_KM_PER_D = 299792.458 * DAY_S
_ARCSEC_RAD = np.pi / 648000
_TURNS_AT_J2000, _TURNS_PER_DAY = 0.7790572732640, 1.00273781191135448  # IAU 2000, in UT1
_AT_ONCE = 4096  # instants read together: the nutation series takes 600 floats for each
_SPARSE_D = 8.0  # days between the samples of what hardly changes
# The segments of the kernel on the way from the Earth to Moon and Sun.
_PATH = {(0, 3), (0, 10), (3, 301), (3, 399)}


class SkyRangeError(ValueError):
    """A day is outside the years the ephemeris covers."""


@dataclass(frozen=True, slots=True, eq=False)
class Positions:
    """Moon and Sun from the Earth's centre at equal steps of half a day of TT.

    Vectors are apparent and referred to the true equator and equinox of date:
    x to the equinox, z to the celestial pole.

    Args:
        first_node: number of the first sample; sample k stands at J2000.0 + k / 2 days.
        moon_km: (n, 3) the Moon's centre.
        sun_km: (n, 3) the Sun's centre.
        obliquity_rad: (n,) true obliquity of the ecliptic.
        sidereal_rad: (n,) Greenwich apparent sidereal angle less ``turn_rad`` of the node.
        light_range_km: (n,) distance from the Earth to the Moon where it is seen.
    """

    first_node: int
    moon_km: Floats
    sun_km: Floats
    obliquity_rad: Floats
    sidereal_rad: Floats
    light_range_km: Floats


def turn_rad(days: Floats) -> Floats:
    """The even part of the Earth's turning at days from J2000.0: its angle, were TT UT1."""
    return 2 * np.pi * (_TURNS_AT_J2000 + _TURNS_PER_DAY * days)


def nodes_of(first: date, last: date) -> tuple[int, int]:
    """First and last node needed for some UTC days: with margins for the polynomials."""
    begin, end = (round(days_to_midnight(day) * NODES_PER_DAY) for day in (first, last))
    return begin - 10, end + NODES_PER_DAY + 12


def days_to_midnight(day: date) -> float:
    """Days from J2000.0 to the midnight with which a date begins, in one and the same clock."""
    return (day - _J2000_DAY).days - 0.5


def ecliptic_of(vectors: Floats, obliquity_rad: Floats) -> Floats:
    """Turn equatorial vectors (n, 3) to the ecliptic: x to the equinox, z to the pole."""
    x, y, z = vectors.T
    cosine, sine = np.cos(obliquity_rad), np.sin(obliquity_rad)
    return np.stack((x, y * cosine + z * sine, z * cosine - y * sine), axis=-1)


def check_days(first: date, last: date) -> None:
    """Raise a ``SkyRangeError`` for days outside 1900-01-01 ... 2053-09-30."""
    for day in (first, last):
        if not FIRST_DAY <= day <= LAST_DAY:
            raise SkyRangeError(
                f"{day} is outside the years of the ephemeris: Sun and Moon are known "
                f"from {FIRST_DAY} to {LAST_DAY}"
            )


@lru_cache(maxsize=8)
def positions(first_node: int, last_node: int) -> Positions:
    """Read Moon and Sun at nodes within the covered days, the last included.

    The arrays are read-only; a repeated call returns the same object.
    """
    nodes = np.arange(first_node, last_node + 1)
    pieces = np.array_split(nodes, -(-nodes.size // _AT_ONCE))
    with (
        as_file(files("skyfield_data") / "data" / "de421.bsp") as path,
        closing(SpiceKernel(str(path))) as kernel,
    ):
        read = [_read(kernel, piece) for piece in pieces]
    return Positions(
        first_node, *(frozen(np.concatenate(columns)) for columns in zip(*read, strict=True))
    )


def _read(kernel: SpiceKernel, nodes: Ints) -> tuple[Floats, ...]:
    """The arrays of :class:`Positions` after ``first_node``, for some nodes."""
    days = nodes / NODES_PER_DAY
    when = timescale().tt_jd(days + J2000_JD)
    states = {
        ends: part.at(when)
        for part in kernel.segments
        if (ends := (part.center, part.target)) in _PATH
    }
    km = {ends: state.xyz.km for ends, state in states.items()}
    km_per_d = {ends: state.velocity.km_per_s * DAY_S for ends, state in states.items()}
    earth_km_per_d = km_per_d[0, 3] + km_per_d[3, 399]
    moon_km = _as_lit(km[3, 301] - km[3, 399], km_per_d[0, 3] + km_per_d[3, 301])
    sun_km = _as_lit(km[0, 10] - km[0, 3] - km[3, 399], km_per_d[0, 10])
    in_longitude_rad, in_obliquity_rad = iau2000b_radians(when)
    mean_rad = mean_obliquity(when.tdb) * _ARCSEC_RAD
    true_rad = mean_rad + in_obliquity_rad
    nutation = build_nutation_matrix(mean_rad, true_rad, in_longitude_rad)
    precession = np.einsum("ijn,jk->ikn", compute_precession(when.tdb), ICRS_to_J2000)
    to_date = np.einsum("ijn,jkn->ikn", nutation, precession)
    angle_rad = _sidereal_rad(when, in_longitude_rad * np.cos(mean_rad))
    return (
        np.einsum("ijn,jn->ni", to_date, _as_seen(moon_km, earth_km_per_d)),
        np.einsum("ijn,jn->ni", to_date, _as_seen(sun_km, earth_km_per_d)),
        true_rad,
        # brought between -pi and pi
        np.remainder(angle_rad - turn_rad(days) + np.pi, 2 * np.pi) - np.pi,
        np.linalg.norm(moon_km, axis=0),
    )


def _sidereal_rad(when: Time, nutation_in_ra_rad: Floats) -> Floats:
    """Greenwich apparent sidereal angle: the mean one and the equation of the equinoxes."""
    # The last terms of that equation are 0.003 arcseconds high and 18.6 years long, so they
    # are taken at every eighth day, the same eighth days in every run.
    tt = when.tt
    sparse = np.arange(tt[0] // _SPARSE_D, tt[-1] // _SPARSE_D + 2) * _SPARSE_D
    small_rad = equation_of_the_equinoxes_complimentary_terms(sparse)
    angle_rad: Floats = when.gmst * (np.pi / 12) + np.interp(tt, sparse, small_rad)
    return angle_rad + nutation_in_ra_rad


def _as_lit(towards_km: Floats, body_km_per_d: Floats) -> Floats:
    """Where a body stood when its light left it; (3, n), from the Earth's place now."""
    lit_km = towards_km
    for _ in range(2):
        light_d = np.linalg.norm(lit_km, axis=0) / _C_KM_PER_D
        lit_km = towards_km - body_km_per_d * light_d
    return lit_km


def _as_seen(vectors_km: Floats, earth_km_per_d: Floats) -> Floats:
    """Vectors (3, n) tilted by the aberration of an observer who moves with the Earth.

    The length is left as the boost gives it, that of the light's path in the moving
    frame: only so may a site's own vector be subtracted afterwards.
    """
    beta = earth_km_per_d / _C_KM_PER_D
    length_km = np.linalg.norm(vectors_km, axis=0)
    along = (vectors_km * beta).sum(axis=0) / length_km
    gamma = 1 / np.sqrt(1 - (beta * beta).sum(axis=0))
    seen: Floats = vectors_km / gamma + beta * length_km * (1 + along * gamma / (1 + gamma))
    return seen
