"""What the rules say of every day for a task: the days on which it may stand, and why not."""

import re
from collections.abc import Callable, Container, Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import Holding, dayrules
from scheduler.stand import Task
from scheduler.terms import Basis, DaySpan, Ruling, Season, day_words, spans_of
from scheduler.windows.facts import Facts, Mask

Rulings: TypeAlias = Iterator[Ruling]
Says: TypeAlias = Callable[[Any, Task, Facts], Rulings]  # each takes rules of its own kinds
SAYS: dict[str, Says] = {}

BY_TODAY = ("not-past", "hire-notice")  # rules that close days because of what day it is
ONCE_A_ROUND = "once-a-round"
GROWERS_OWN = ("own-dates", "not-past")  # an own day cannot break these


def says_for(*kinds: str) -> Callable[[Says], Says]:
    """Register what rules of some kinds say of every day for a task.

    The kinds stand in ``holding.dayrules``; nothing is said where a rule knows nothing of a task.
    """

    def register(function: Says) -> Says:
        SAYS.update(dict.fromkeys(kinds, function))
        return function

    return register


def ruling_by(
    rule: dayrules.RuleHead,
    closed: Mask,
    points: NDArray[np.float64] | None = None,
    basis: Basis | None = None,
    **filled_in: Any,  # noqa: ANN401  # any value can be printed
) -> Ruling:
    """A ruling in the words of its rule, with ``{name}`` replaced where a value has that name.

    Without ``points`` it prefers no day; without ``basis`` it rests on what the rule says.
    """
    return Ruling(
        rule_id=rule.id,
        basis=basis or rule.basis,
        words=re.sub(r"\{(\w+)\}", lambda name: str(filled_in.get(name[1], name[0])), rule.words),
        source=rule.source,
        closed=closed,
        points=np.zeros(closed.shape) if points is None else points,
    )


def speaks_of(rule: dayrules.RuleHead, task: Task) -> bool:
    """Whether a rule is about a task; whether its switch is on is asked elsewhere."""
    kind = task.type
    if isinstance(rule, dayrules.CutSeasonRule) and rule.id not in task.cut_rules:
        return False
    selected = (
        (rule.tasks, (kind.id, kind.visit)),
        (rule.groups, task.groups),
        (rule.exposes, kind.exposes),
        (rule.plants, [row.plant for row in task.stock]),
    )
    return (kind.cuts or not rule.cuts_only) and all(
        not named or not {*named}.isdisjoint(there) for named, there in selected
    )


@dataclass(frozen=True)
class TaskWindow:
    """What the rules that speak of a task say of every day.

    ``fixed_first`` is the number of the day on which the grower wants it begun, if any.
    """

    task: Task
    season: Season
    rulings: tuple[Ruling, ...]
    fixed_first: int | None

    @property
    def open(self) -> Mask:
        """(n_days,) True where no ruling closes the day."""
        return self.open_but_for(())

    def open_but_for(self, rule_ids: Container[str]) -> Mask:
        """(n_days,) True where no ruling but of some rules closes the day."""
        closed = np.zeros(self.season.n_days, dtype=bool)
        for ruling in self.rulings:
            if ruling.rule_id not in rule_ids:
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


def days_set(holding: Holding) -> dict[str, date]:
    """Days that the grower has set, by the id of the task or visit that is to begin then."""
    return {own.task: own.on for own in holding.plan.says.own_date if own.on is not None}


def window_of(task: Task, facts: Facts) -> TaskWindow:
    """Ask every rule about every day for one task."""
    rules = facts.holding.rules
    rulings = tuple(
        ruling
        for rule in rules.rules.values()
        if speaks_of(rule, task) and rules.is_on(rule.switch)
        for ruling in SAYS[rule.kind](rule, task, facts)
    )
    fixed = days_set(facts.holding).get(task.id)
    fixed_first = None if fixed is None else facts.season.day_of(fixed)
    window = TaskWindow(task, facts.season, rulings, fixed_first)
    again = _of_the_same_round(window, facts)
    return window if again is None else replace(window, rulings=(*rulings, again))


def _of_the_same_round(window: TaskWindow, facts: Facts) -> Ruling | None:
    """The days that belong to a round of the work that was done at the end of the season before.

    A winter or a harvest may run over the first day of a plan; it is worked once, unless the
    grower's own date asks for it again.
    """
    task, season, rules = window.task, facts.season, facts.holding.rules
    near_days, round_days = map(rules.figure, ("same-round-days", "round-days"))
    done, days = facts.done_before.get(task.id), np.flatnonzero(window.open_but_for(BY_TODAY))
    if done is None or not days.size or days[0] > near_days:
        return None
    if any(own.task in (task.id, task.visit_id) for own in facts.holding.plan.says.own_date):
        return None
    since = season.day_of(done)
    if not -round_days <= since < 0:
        return None
    gaps = np.flatnonzero(np.diff(days) > near_days)
    last = min(int(days[gaps[0]] if gaps.size else days[-1]), since + round(round_days))
    closed = np.arange(season.n_days) <= last
    return Ruling(
        rule_id=ONCE_A_ROUND,
        basis=Basis.PLANNED,
        words=f"it is done on {day_words(done)}, in the season before, and this is the same round",
        source="common practice, no source",
        closed=closed,
        points=np.zeros(season.n_days),
    )
