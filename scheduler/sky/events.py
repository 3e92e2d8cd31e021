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

import numpy as np

from scheduler.sky import clock
from scheduler.sky.curves import Floats, crossings, values_at
from scheduler.sky.ephemeris import NODES_PER_DAY, Positions, ecliptic_of, positions
from scheduler.terms import Season


def event_curves(sky: Positions) -> Floats:
    """(4, n) sine and cosine of the elongation, then of the Sun's longitude, at the nodes."""
    moon_x, moon_y, _ = ecliptic_of(sky.moon_km, sky.obliquity_rad).T
    sun_x, sun_y, _ = ecliptic_of(sky.sun_km, sky.obliquity_rad).T
    sun_length = np.hypot(sun_x, sun_y)
    lengths = np.hypot(moon_x, moon_y) * sun_length
    across, along = sun_x * moon_y - sun_y * moon_x, sun_x * moon_x + sun_y * moon_y
    return np.stack((across / lengths, along / lengths, sun_y / sun_length, sun_x / sun_length))


def look_at(sky: Positions, at: Floats) -> tuple[Floats, Floats]:
    """Elongation and the Sun's longitude, degrees, 0 to 360, seen from the Earth's centre.

    Each is (m,), at (m,) places in half days from node 0.
    """
    values = values_at(np.column_stack((sky.moon_km, sky.sun_km, sky.obliquity_rad)), at)
    moon_rad, sun_rad = (
        np.arctan2(seen[:, 1], seen[:, 0])
        for seen in (ecliptic_of(body, values[:, 6]) for body in (values[:, :3], values[:, 3:6]))
    )
    return np.degrees(moon_rad - sun_rad) % 360, np.degrees(sun_rad) % 360


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
    zeros = crossings(event_curves(positions(*nodes)))
    at = nodes[0] + zeros.sample + zeros.beyond
    # To the microsecond, as datetimes are: an instant then falls on one side of a cut only.
    posix_s = np.round(clock.utc_of_tt(at / NODES_PER_DAY) * 1e6) / 1e6
    events = []
    for n in np.argsort(posix_s, kind="stable").tolist():
        name = _EVENTS[zeros.row[n]][0 if zeros.rising[n] else 1]
        utc = clock.datetime_of(float(posix_s[n]))
        events.append(SkyEvent(name, utc, utc.astimezone(zone)))
    return tuple(event for event in events if event.local.date() in season)
