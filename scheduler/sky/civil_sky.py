"""Everything a grower's year needs from Sun and Moon, for one site and one run of civil days.

The search runs over continuous time and its finds are put into days afterwards, each by the
local date of its own instant, so that none is lost or doubled at a day's edge.

A civil day runs from the first instant whose local date is its own to the first
instant of the next. Nothing else is safe: days of 23, 25 and 23.5 hours occur
every year, midnight itself may be skipped (Cairo on 2026-04-24 begins at
01:00), and once a whole date was (Apia never had 2011-12-30). The rule is ours.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from functools import cached_property
from zoneinfo import ZoneInfo

import numpy as np

from scheduler.sky import clock
from scheduler.sky.clock import datetime_of
from scheduler.sky.curves import Bools, Floats, Ints
from scheduler.sky.daylight import passages
from scheduler.sky.ephemeris import NODES_PER_DAY, check_days, nodes_of, positions
from scheduler.sky.events import SkyEvent, events_of, look_at, winter_months
from scheduler.sky.ground import SkySite
from scheduler.terms import Place, Season, frozen

Times = tuple[tuple[datetime, ...], ...]
_SECOND = timedelta(seconds=1)
_A_DAY_AND_MORE_S = 27 * 3600  # no zone has ever skipped or repeated more than a day


def first_instant(day: date, zone: ZoneInfo) -> int:
    """POSIX seconds of the first instant whose local date is ``day`` or later.

    >>> cairo = ZoneInfo("Africa/Cairo")
    >>> datetime_of(first_instant(date(2026, 4, 24), cairo), cairo).hour
    1
    """
    midnight = datetime.combine(day, time(), zone).astimezone(UTC)
    about_s = round(midnight.timestamp())
    if midnight.astimezone(zone).date() >= day > (midnight - _SECOND).astimezone(zone).date():
        return about_s
    # the clocks skip or repeat midnight: the first instant is found by halving
    before, after = about_s - _A_DAY_AND_MORE_S, about_s + _A_DAY_AND_MORE_S
    while after - before > 1:
        middle = (before + after) // 2
        if datetime_of(middle, zone).date() >= day:
            after = middle
        else:
            before = middle
    return after


@dataclass(frozen=True, slots=True, eq=False)
class CivilDays:
    """The dates of a season on the clocks of a zone.

    Args:
        starts_s: (n_days + 1,) POSIX seconds of the first instants of the dates and of the
            date after them. A date that the clocks skip starts with its successor.
        noons_s: (n_days,) POSIX seconds when the clocks show 12:00.
    """

    season: Season
    zone: ZoneInfo
    starts_s: Floats
    noons_s: Floats

    @classmethod
    def of(cls, season: Season, zone: ZoneInfo) -> "CivilDays":
        """The dates of a season in a zone."""
        dates = [*season, season.last + timedelta(days=1)]
        noons = [datetime.combine(day, time(12), zone) for day in season]
        return cls(
            season,
            zone,
            np.array([first_instant(day, zone) for day in dates], dtype=np.float64),
            np.array([noon.timestamp() for noon in noons]),
        )

    def lists(self, utc_s: Floats) -> Times:
        """Instants as local times, each under its own local date; n_days tuples."""
        lists: list[list[datetime]] = [[] for _ in range(self.season.n_days)]
        first = self.season.first.toordinal()
        for instant_s in utc_s.tolist():
            local = datetime_of(instant_s, self.zone)
            if 0 <= (day := local.toordinal() - first) < len(lists):
                lists[day].append(local)
        return tuple(map(tuple, lists))


class BodyState(StrEnum):
    """Whether a body crosses its limit on a day, and where it is if it does not."""

    RISES_OR_SETS = "rises_or_sets"
    UP_ALL_DAY = "up_all_day"
    DOWN_ALL_DAY = "down_all_day"


@dataclass(frozen=True, eq=False)
class Course:
    """The ups and downs of one body about one limit, over the civil days of a site.

    Lists of times hold one tuple a day, of none to two aware local datetimes (in the
    rarest case more): at high latitudes a body may rise twice on a day or not at all, and
    the Moon skips a rise and a set every month everywhere.

    Args:
        since_s: (m,) POSIX seconds from which the body is up or down: the begin of the
            search, then every passage.
        up: (m,) whether it is up from then on.
    """

    days: CivilDays
    since_s: Floats
    up: Bools

    @cached_property
    def rises(self) -> Times:
        """Local times at which the body comes above the limit, day by day."""
        return self.days.lists(self.since_s[1:][self.up[1:]])

    @cached_property
    def sets(self) -> Times:
        """Local times at which the body goes below the limit, day by day."""
        return self.days.lists(self.since_s[1:][~self.up[1:]])

    @cached_property
    def hours_up(self) -> Floats:
        """Hours above the limit within each civil day; (n_days,)."""
        spans_s = np.diff(self.since_s) * self.up[:-1]
        total_s = np.concatenate(([0.0], np.cumsum(spans_s)))
        starts_s = self.days.starts_s
        index = self._index(starts_s)
        until_s = total_s[index] + self.up[index] * (starts_s - self.since_s[index])
        return frozen(np.diff(until_s) / 3600)

    @cached_property
    def states(self) -> tuple[BodyState, ...]:
        """The state of the body on each civil day."""
        middle_s = (self.days.starts_s[:-1] + self.days.starts_s[1:]) / 2
        quiet = (
            BodyState.UP_ALL_DAY if up else BodyState.DOWN_ALL_DAY
            for up in self.up[self._index(middle_s)].tolist()
        )
        return tuple(
            BodyState.RISES_OR_SETS if rise or set_ else state
            for rise, set_, state in zip(self.rises, self.sets, quiet, strict=True)
        )

    def _index(self, posix_s: Floats) -> Ints:
        """Which stretch of the course some instants lie in."""
        return np.searchsorted(self.since_s, posix_s, side="right") - 1


@dataclass(frozen=True, eq=False)
class Sky:
    """Sun and Moon at one site; arrays have shape (n_days,) and are read-only.

    A date that the clocks skip has no hours and no times; its noon is that of the clocks before
    the skip.

    Args:
        events: the instants common to all sites whose local date lies in the season.
        sun: the upper rim of the Sun above the skyline.
        ground_light: the Sun's centre above -3 degrees: light for work on the ground.
        civil_light: the same above -6 degrees: light to walk and water by.
        moon: the upper rim of the Moon above the flat horizon.
        lit_fraction: lit part of the Moon's disc at local noon, 0 to 1.
        elongation_deg: Moon's ecliptic longitude less the Sun's at local noon, 0 to 360.
        winter_months: the season clock at local noon, 0 to 12.
    """

    place: Place
    season: Season
    events: tuple[SkyEvent, ...]
    sun: Course
    ground_light: Course
    civil_light: Course
    moon: Course
    lit_fraction: Floats
    elongation_deg: Floats
    winter_months: Floats

    @property
    def waxing(self) -> Bools:
        """(n_days,) whether the elongation is under 180 degrees."""
        return self.elongation_deg < 180


def sky_of(place: Place, season: Season) -> Sky:
    """Sun and Moon at a site over civil days from 1900-01-01 to 2053-09-30.

    Raises:
        SkyRangeError: a day is outside the years of the ephemeris.
        zoneinfo.ZoneInfoNotFoundError: the place names no zone of the IANA database.
    """
    check_days(season.first, season.last)
    days = CivilDays.of(season, ZoneInfo(place.zone))
    first, last = season.first - timedelta(days=1), season.last + timedelta(days=1)
    nodes = nodes_of(first, last)
    bodies = positions(*nodes)
    courses = passages(SkySite.of(place), bodies, first, last)
    sun, ground, civil, moon = (Course(days, since_s, up) for since_s, up in courses)
    look = look_at(bodies, clock.tt_of_utc(days.noons_s) * NODES_PER_DAY - nodes[0])
    return Sky(
        place,
        season,
        events_of(nodes, season, days.zone),
        sun,
        ground,
        civil,
        moon,
        lit_fraction=frozen(look.lit_fraction),
        elongation_deg=frozen(look.elongation_deg),
        winter_months=frozen(winter_months(look.sun_longitude_deg, southern=place.southern)),
    )
