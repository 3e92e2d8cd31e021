"""Civil days at the site: when a date begins, whatever the clocks do.

A civil day runs from the first instant whose local date is its own to the first
instant of the next. Nothing else is safe: days of 23, 25 and 23.5 hours occur
every year, midnight itself may be skipped (Cairo on 2026-04-24 begins at
01:00), and once a whole date was (Apia never had 2011-12-30). The rule is ours.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from scheduler.sky.clock import datetime_of
from scheduler.sky.curves import Floats
from scheduler.terms import Season

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
        lists: list[list[datetime]] = [[] for _ in self.season]
        for instant_s in utc_s.tolist():
            local = datetime_of(instant_s, self.zone)
            if local.date() in self.season:
                lists[self.season.day_of(local.date())].append(local)
        return tuple(map(tuple, lists))
