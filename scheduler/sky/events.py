"""The instants that are the same for the whole Earth.

Each kind of event is a zero of one of four smooth curves, sampled at the nodes of
:mod:`scheduler.sky.ephemeris` and solved all together:

=============================  =================  ==================
curve                          zero while rising  zero while falling
=============================  =================  ==================
sine of the elongation         new moon           full moon
cosine of the elongation       last quarter       first quarter
sine of the Sun's longitude    March equinox      September equinox
cosine of the Sun's longitude  December solstice  June solstice
=============================  =================  ==================

Longitudes are apparent, geocentric, of the true ecliptic and equinox of date, and
the elongation is the Moon's longitude less the Sun's: the definitions of the almanac
offices (Explanatory Supplement to the Astronomical Almanac, 3rd ed., chapter 11).
Taking sines and cosines instead of unwrapped angles, so that every event is a plain
zero, is ours.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from enum import StrEnum
from functools import lru_cache

import numpy as np

from scheduler.sky import clock, moon
from scheduler.sky import season_marks as seasons
from scheduler.sky.curves import Floats, crossings
from scheduler.sky.ephemeris import NODES_PER_DAY, check_days, nodes_of, positions
from scheduler.terms import frozen


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


@dataclass(frozen=True, slots=True)
class SkyEvent:
    """One instant of the sky.

    Args:
        event: what happens.
        utc: when, as an aware datetime in UTC, to the microsecond.
        local: the same instant on the clock of the site (UTC where no site is meant).
    """

    event: EventName
    utc: datetime
    local: datetime


# Row by row as in the table above: the event while rising, the event while falling.
_EVENTS = (
    (EventName.NEW_MOON, EventName.FULL_MOON),
    (EventName.LAST_QUARTER, EventName.FIRST_QUARTER),
    (EventName.MARCH_EQUINOX, EventName.SEPTEMBER_EQUINOX),
    (EventName.DECEMBER_SOLSTICE, EventName.JUNE_SOLSTICE),
)


def events_between(first_utc: datetime, last_utc: datetime) -> tuple[SkyEvent, ...]:
    """All site-independent events from ``first_utc`` to just before ``last_utc``.

    Args:
        first_utc: an aware datetime, not before 1900-01-01T00:00Z.
        last_utc: an aware datetime, not after 2053-10-01T00:00Z.

    Returns:
        The events in order of time, with UTC also as the local clock. A span cut in pieces
        gives the same events.

    Raises:
        SkyRangeError: the span is outside the years of the ephemeris.
        ValueError: an instant has no time zone.

    >>> [event.event.value for event in events_between(
    ...     datetime(2026, 3, 18, tzinfo=UTC), datetime(2026, 3, 21, tzinfo=UTC))]
    ['new_moon', 'march_equinox']
    """
    if first_utc.tzinfo is None or last_utc.tzinfo is None:
        raise ValueError("an instant needs a time zone; a naive datetime has none")
    first_day = first_utc.astimezone(UTC).date()
    last_day = (last_utc.astimezone(UTC) - timedelta(microseconds=1)).date()
    check_days(first_day, last_day)
    between_s = clock.posix_of(first_utc), clock.posix_of(last_utc)
    return events_of(nodes_of(first_day, max(first_day, last_day)), between_s, UTC)


def events_of(
    nodes: tuple[int, int], between_s: tuple[float, float], zone: tzinfo
) -> tuple[SkyEvent, ...]:
    """Events of a run of nodes whose instants lie in a half-open span of POSIX seconds."""
    names, posix_s = _instants(*nodes)
    inside = np.flatnonzero((posix_s >= between_s[0]) & (posix_s < between_s[1]))
    return tuple(_event(names[index], posix_s[index], zone) for index in inside.tolist())


def _event(name: EventName, posix_s: float, zone: tzinfo) -> SkyEvent:
    """An event with both its clocks."""
    utc = clock.datetime_of(float(posix_s))
    return SkyEvent(name, utc, utc.astimezone(zone))


@lru_cache(maxsize=8)
def _instants(first_node: int, last_node: int) -> tuple[tuple[EventName, ...], Floats]:
    """Names and POSIX seconds of all events of a run of nodes, in order of time."""
    sky = positions(first_node, last_node)
    zeros = crossings(np.stack((*moon.elongation_curves(sky), *seasons.longitude_curves(sky))))
    at = first_node + zeros.sample + zeros.beyond
    # To the microsecond, as datetimes are: an instant then falls on one side of a cut only.
    posix_s = np.round(clock.utc_of_tt(at / NODES_PER_DAY) * 1e6) / 1e6
    order = np.argsort(posix_s, kind="stable")
    rows, falling = zeros.row[order].tolist(), (~zeros.rising[order]).tolist()
    called = tuple(_EVENTS[row][fall] for row, fall in zip(rows, falling, strict=True))
    return called, frozen(posix_s[order])
