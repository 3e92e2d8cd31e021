"""The instants that are the same for the whole Earth.

Each kind of event is a zero of one of seven smooth curves, sampled at the nodes of
:mod:`scheduler.sky.ephemeris` and solved all together:

=============================  ===================  ======================
curve                          zero while rising    zero while falling
=============================  ===================  ======================
sine of the elongation         new moon             full moon
cosine of the elongation       last quarter         first quarter
sine of the Sun's longitude    March equinox        September equinox
cosine of the Sun's longitude  December solstice    June solstice
sine of the Moon's latitude    ascending node       descending node
rate of the Moon's distance    perigee              apogee
rate of sin(declination)       southmost            northmost
=============================  ===================  ======================

Longitudes and latitudes are apparent, geocentric, of the true ecliptic and
equinox of date, and the elongation is the Moon's longitude less the Sun's: the
definitions of the almanac offices (Explanatory Supplement to the Astronomical
Almanac, 3rd ed., chapter 11). Perigee and apogee are those of the geometric
distance, the zeros of its rate; observatories that print the distance at which
the Moon is seen, 1.3 light seconds back, differ by up to a quarter of an hour, and
:func:`apsides_as_seen` is kept for comparing with them. Taking sines and
cosines instead of unwrapped angles, so that every event is a plain zero, is ours.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from enum import StrEnum
from functools import lru_cache

import numpy as np

from scheduler.sky import clock, moon, seasons
from scheduler.sky.curves import Crossings, Floats, crossings, slopes
from scheduler.sky.ephemeris import (
    NODES_PER_DAY,
    Positions,
    check_days,
    nodes_of,
    positions,
)
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
    PERIGEE = "perigee"
    APOGEE = "apogee"
    NORTHMOST = "northmost"
    SOUTHMOST = "southmost"
    ASCENDING_NODE = "ascending_node"
    DESCENDING_NODE = "descending_node"


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
    (EventName.ASCENDING_NODE, EventName.DESCENDING_NODE),
    (EventName.PERIGEE, EventName.APOGEE),
    (EventName.SOUTHMOST, EventName.NORTHMOST),
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
    ...     datetime(2026, 1, 1, tzinfo=UTC), datetime(2026, 1, 4, tzinfo=UTC))]
    ['perigee', 'northmost', 'full_moon']
    """
    return events_of(*_span(first_utc, last_utc), UTC)


def _span(first_utc: datetime, last_utc: datetime) -> tuple[tuple[int, int], tuple[float, float]]:
    """The nodes and the POSIX seconds of a span of instants."""
    if first_utc.tzinfo is None or last_utc.tzinfo is None:
        raise ValueError("an instant needs a time zone; a naive datetime has none")
    first_day = first_utc.astimezone(UTC).date()
    last_day = (last_utc.astimezone(UTC) - timedelta(microseconds=1)).date()
    check_days(first_day, last_day)
    between_s = clock.posix_of(first_utc), clock.posix_of(last_utc)
    return nodes_of(first_day, max(first_day, last_day)), between_s


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
    # The last curve is NaN near its ends, which lie days outside the span asked for; a zero
    # found there is NaN as well and in no span.
    curves = np.stack(
        (
            *moon.elongation_curves(sky),
            *seasons.longitude_curves(sky),
            moon.latitude_curve(sky),
            sky.range_rate_km_per_d,
            moon.climb_curve(sky),
        )
    )
    return _named(crossings(curves), sky, _EVENTS)


def _named(
    zeros: Crossings, sky: Positions, names: tuple[tuple[EventName, EventName], ...]
) -> tuple[tuple[EventName, ...], Floats]:
    """Zeros as names and POSIX seconds, in order of time."""
    at = sky.first_node + zeros.sample + zeros.beyond
    # To the microsecond, as datetimes are: an instant then falls on one side of a cut only.
    posix_s = np.round(clock.utc_of_tt(at / NODES_PER_DAY) * 1e6) / 1e6
    order = np.argsort(posix_s, kind="stable")
    rows, falling = zeros.row[order].tolist(), (~zeros.rising[order]).tolist()
    called = tuple(names[row][fall] for row, fall in zip(rows, falling, strict=True))
    return called, frozen(posix_s[order])


def apsides_as_seen(first_utc: datetime, last_utc: datetime) -> tuple[SkyEvent, ...]:
    """Perigees and apogees of the distance at which the Moon is seen, light time included.

    For comparison with observatories that print this distance (JPL Horizons does);
    growers' pages use the geometric ones of :func:`events_between`.

    Args:
        first_utc: as in :func:`events_between`.
        last_utc: the same.
    """
    nodes, (first_s, last_s) = _span(first_utc, last_utc)
    sky = positions(*nodes)
    rate = slopes(sky.light_range_km)[None, :]
    names, posix_s = _named(crossings(rate), sky, ((EventName.PERIGEE, EventName.APOGEE),))
    found = zip(names, posix_s.tolist(), strict=True)
    return tuple(_event(name, at, UTC) for name, at in found if first_s <= at < last_s)
