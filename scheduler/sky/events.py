"""The instants that are the same for the whole Earth.

Each is a zero of one of four smooth curves of :mod:`scheduler.sky.longitudes`:

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
from datetime import datetime, timedelta, tzinfo
from enum import StrEnum
from functools import lru_cache

import numpy as np

from scheduler.sky import clock
from scheduler.sky.curves import Floats, crossings
from scheduler.sky.ephemeris import NODES_PER_DAY, positions
from scheduler.sky.longitudes import event_curves
from scheduler.terms import Season, frozen

_MINUTE = timedelta(minutes=1)


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

    @property
    def near_midnight(self) -> bool:
        """Whether the local date is another one a minute earlier or later."""
        zone = self.local.tzinfo
        around = ((self.utc + shift).astimezone(zone).date() for shift in (-_MINUTE, _MINUTE))
        return any(day != self.local.date() for day in around)


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
