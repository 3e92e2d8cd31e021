"""Sun and Moon on the ecliptic: phase, the Moon's light, the season clock, and their instants.

Longitudes are apparent, geocentric, of the true ecliptic and equinox of date. Phase is the
elongation, the Moon's longitude less the Sun's: 0 at new moon, 90 at first quarter; the Moon
waxes from 0 to 180. It is never read from the lit fraction, which is fullest up to half an
hour away from full moon and half lit a quarter of an hour away from the quarters.

Each instant that is the same for the whole Earth is a zero of one of four smooth curves:

=============================  =================  ==================
curve                          zero while rising  zero while falling
=============================  =================  ==================
sine of the elongation         new moon           full moon
cosine of the elongation       last quarter       first quarter
sine of the Sun's longitude    March equinox      September equinox
cosine of the Sun's longitude  December solstice  June solstice
=============================  =================  ==================

The definitions are those of the almanac offices (Explanatory Supplement to the Astronomical
Almanac, 3rd ed., chapter 11); taking sines and cosines instead of unwrapped angles is ours.
"""

from dataclasses import dataclass
from datetime import datetime, tzinfo
from enum import StrEnum
from functools import lru_cache

import numpy as np

from scheduler.sky import clock
from scheduler.sky.curves import Floats, crossings, values_at
from scheduler.sky.ephemeris import NODES_PER_DAY, Positions, ecliptic_of, positions
from scheduler.terms import Season, frozen


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
        np.degrees(moon_rad - sun_rad) % 360, (1 + phase_cosine) / 2, np.degrees(sun_rad) % 360
    )


def _unit(vectors: Floats) -> Floats:
    """Vectors (n, 3) made one long."""
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True))


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


class EventName(StrEnum):
    """What happens at an instant that is the same for the whole Earth."""

    NEW_MOON = "new_moon"
    FIRST_QUARTER = "first_quarter"
    FULL_MOON = "full_moon"
    LAST_QUARTER = "last_quarter"
    MARCH_EQUINOX = "march_equinox"
    JUNE_SOLSTICE = "june_solstice"
    SEPTEMBER_EQUINOX = "september_equinox"
    DECEMBER_SOLSTICE = "december_solstice"


# Row by row as in the table above: the event while rising, the event while falling.
_EVENTS = (
    (EventName.NEW_MOON, EventName.FULL_MOON),
    (EventName.LAST_QUARTER, EventName.FIRST_QUARTER),
    (EventName.MARCH_EQUINOX, EventName.SEPTEMBER_EQUINOX),
    (EventName.DECEMBER_SOLSTICE, EventName.JUNE_SOLSTICE),
)


@dataclass(frozen=True, slots=True)
class SkyEvent:
    """One instant of the sky, in UTC to the microsecond and on the clock of the site."""

    event: EventName
    utc: datetime
    local: datetime


def events_of(nodes: tuple[int, int], season: Season, zone: tzinfo) -> tuple[SkyEvent, ...]:
    """All events whose date on the clock of ``zone`` lies in a season, in order of time.

    The nodes, first and last, hold the season and a day more on both sides.
    """
    names, posix_s = _instants(*nodes)
    utc = [clock.datetime_of(instant_s) for instant_s in posix_s.tolist()]
    events = (
        SkyEvent(name, when, when.astimezone(zone)) for name, when in zip(names, utc, strict=True)
    )
    return tuple(event for event in events if event.local.date() in season)


@lru_cache(maxsize=8)
def _instants(first_node: int, last_node: int) -> tuple[tuple[EventName, ...], Floats]:
    """Names and POSIX seconds of all events of a run of nodes, in order of time."""
    zeros = crossings(event_curves(positions(first_node, last_node)))
    at = first_node + zeros.sample + zeros.beyond
    # To the microsecond, as datetimes are: an instant then falls on one side of a cut only.
    posix_s = np.round(clock.utc_of_tt(at / NODES_PER_DAY) * 1e6) / 1e6
    order = np.argsort(posix_s, kind="stable")
    rows, falling = zeros.row[order].tolist(), (~zeros.rising[order]).tolist()
    called = tuple(_EVENTS[row][fall] for row, fall in zip(rows, falling, strict=True))
    return called, frozen(posix_s[order])
