"""One body and one limit at one site, by civil day: rises, sets, hours above, state."""

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

import numpy as np

from scheduler.sky.civil import CivilDays, Times
from scheduler.sky.curves import Bools, Floats, Ints
from scheduler.terms import frozen


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
