"""The clocks of the sky room: UTC, Terrestrial Time, and the Earth's own turning.

Bodies move by Terrestrial Time (TT), which runs evenly; here it is counted in days from
J2000.0 (2000 January 1, 12 h TT). People live by UTC, counted in POSIX seconds: TT - 32.184 s
- (TAI - UTC), the last a whole number of leap seconds (IERS Conventions 2010, chapter 10).
Since 2017 it is 37 s and none is assumed to come. Before 1972 there was no UTC of today's kind
and civil clocks followed the turning Earth, so there "UTC" stands for Universal Time,
TT - delta T: this choice is ours and agrees with tables printed in Universal Time, where clocks
running back on the leap seconds of 1972 would be 44 s off in 1900.

Delta T, the measured lag of the turning Earth, and the leap seconds come from the tables that
skyfield carries inside itself (IERS daily values from 1973, Morrison, Stephenson, Hohenkerk and
Zawilski 2021 before, a forecast after). No network is needed.
"""

from datetime import UTC, datetime, timedelta, tzinfo
from functools import lru_cache

import numpy as np
from skyfield.iokit import Loader
from skyfield.timelib import Timescale

from scheduler.sky.curves import Floats

DAY_S = 86400.0
J2000_JD = 2451545.0
_POSIX_OF_J2000_S = 946728000.0  # 2000-01-01T12:00, every day counted as 86400 s
_UTC_BEGINS_S = 63072000.0  # 1972-01-01T00:00Z, TAI - UTC = 10 s
_POSIX_JD = 2440587.5
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@lru_cache(maxsize=1)
def timescale() -> Timescale:
    """Skyfield's timescale with its built-in tables, opened once."""
    return Loader(".").timescale(builtin=True)


@lru_cache(maxsize=1)
def _leaps() -> tuple[Floats, Floats]:
    """Instants (POSIX s) from which TT - UTC has a value, and the values (s)."""
    scale = timescale()
    instants = (np.asarray(scale.leap_dates, dtype=np.float64) - _POSIX_JD) * DAY_S
    offsets = np.asarray(scale.leap_offsets, dtype=np.float64)
    return np.append(_UTC_BEGINS_S, instants), np.append(10.0, offsets) + 32.184


def delta_t_s(tt_days: Floats) -> Floats:
    """TT - UT1 in seconds, at days of TT from J2000.0."""
    return np.asarray(timescale().delta_t_function(tt_days + J2000_JD), dtype=np.float64)


def _offset_s(posix_s: Floats, tt_days: Floats) -> Floats:
    """TT - UTC in seconds, for instants known roughly in both clocks."""
    instants, offsets = _leaps()
    index = np.searchsorted(instants, posix_s, side="right") - 1
    offset_s = offsets[index]
    before = index < 0
    if before.any():
        offset_s[before] = delta_t_s(tt_days[before])
    return offset_s


def utc_of_tt(tt_days: Floats) -> Floats:
    """UTC in POSIX seconds at days of TT from J2000.0; the same shape."""
    as_if_s = tt_days * DAY_S + _POSIX_OF_J2000_S
    rough_s = as_if_s - _offset_s(as_if_s - 60.0, tt_days)
    return as_if_s - _offset_s(rough_s, tt_days)


def tt_of_utc(posix_s: Floats) -> Floats:
    """Days of TT from J2000.0 at UTC in POSIX seconds; the same shape."""
    as_if_s = posix_s - _POSIX_OF_J2000_S
    rough_s = as_if_s + _offset_s(posix_s, as_if_s / DAY_S)
    return (as_if_s + _offset_s(posix_s, rough_s / DAY_S)) / DAY_S


def datetime_of(posix_s: float, zone: tzinfo = UTC) -> datetime:
    """The aware datetime of POSIX seconds, to the microsecond, on the clock of a zone."""
    if posix_s >= 0:
        return datetime.fromtimestamp(posix_s, zone)
    # not every system's C library knows negative POSIX seconds
    return (_EPOCH + timedelta(seconds=posix_s)).astimezone(zone)
