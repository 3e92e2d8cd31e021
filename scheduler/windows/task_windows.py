"""The days on which a task may stand, and why not on the others."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.stand import Task
from scheduler.terms import DaySpan, Ruling, Season, spans_of
from scheduler.windows.facts import Facts
from scheduler.windows.rules import rulings_on

GROWERS_OWN = ("own-dates", "not-past")  # an own day cannot break these


@dataclass(frozen=True)
class TaskWindow:
    """What all rules say of every day, for one task.

    Args:
        task: the task.
        season: the civil days.
        rulings: one for each rule that speaks of the task.
        fixed_first: number of the day the grower has fixed, if any.
    """

    task: Task
    season: Season
    rulings: tuple[Ruling, ...]
    fixed_first: int | None

    @property
    def open(self) -> NDArray[np.bool_]:
        """(n_days,) True where no ruling closes the day."""
        closed = np.zeros(self.season.n_days, dtype=bool)
        for ruling in self.rulings:
            closed |= ruling.closed
        return ~closed

    @property
    def points(self) -> NDArray[np.float64]:
        """(n_days,) sum of the rulings' points: how much each day is preferred."""
        return sum((ruling.points for ruling in self.rulings), np.zeros(self.season.n_days))

    @property
    def spans(self) -> tuple[DaySpan, ...]:
        """The runs of open days."""
        return spans_of(self.season, self.open)

    def closing(self, day: int) -> tuple[Ruling, ...]:
        """The rulings that close a day."""
        return tuple(ruling for ruling in self.rulings if ruling.closed[day])

    @property
    def against(self) -> tuple[Ruling, ...]:
        """The rulings that the grower's own day breaks; none where there is no such day."""
        if self.fixed_first is None or not 0 <= self.fixed_first < self.season.n_days:
            return ()
        return tuple(r for r in self.closing(self.fixed_first) if r.rule_id not in GROWERS_OWN)


def window_of(task: Task, facts: Facts) -> TaskWindow:
    """Ask every rule about every day for one task."""
    own = {own.task: own.on for own in facts.holding.plan.says.own_date if own.on is not None}
    fixed = own.get(task.id)
    return TaskWindow(
        task=task,
        season=facts.season,
        rulings=rulings_on(task, facts),
        fixed_first=None if fixed is None else facts.season.day_of(fixed),
    )
