"""Known cuts: how long stock is left after one, and whether a second cut has its first.

Decided: a known first cut is a ruling, a planned one an order of work. Refused: ``after`` in
tasks.toml, because a southern plan often begins between the two.
Held by tests/season/test_second_cuts.py::test_after_a_logged_first_cut_the_second_waits_as_long.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta

import numpy as np

from scheduler.holding import dayrules
from scheduler.stand import Task
from scheduler.terms import DaySpan, Level, Notice, Season, day_words
from scheduler.windows.facts import Facts, Mask, in_months
from scheduler.windows.order_of_work import Link
from scheduler.windows.task_windows import Rulings, TaskWindow, ruling_by, says_for


@says_for("cut-once")
def _cut_once(rule: dayrules.CutOnceRule, task: Task, facts: Facts) -> Rulings:
    cuts = [facts.cut_on(row) for row in task.stock]
    known = [cut for cut in cuts if cut is not None]
    if known and len(known) == len(cuts):
        since = min(known)
        closed = facts.season.mask(DaySpan(since, since + timedelta(weeks=rule.weeks)))
        if closed.any():
            yield ruling_by(rule, closed, first=day_words(since))


@says_for("after-first-cut")
def _after_first_cut(rule: dayrules.AfterFirstCutRule, task: Task, facts: Facts) -> Rulings:
    """Open so long after the known first cut; silent where the first is still to come."""
    first = _first_cut_on(task, rule, facts)
    if first is not None:
        closed = ~_days_after(first, rule, facts.season)
        yield ruling_by(rule, closed, weeks=rule.weeks, first=day_words(first))


def _first_cut_on(task: Task, rule: dayrules.AfterFirstCutRule, facts: Facts) -> date | None:
    """The latest known first cut of the stock that counts for this plan; None without one."""
    cuts = [facts.cut_on(row) for row in task.stock]
    return max((cut for cut in cuts if cut and _counts(cut, task, rule, facts)), default=None)


def _counts(cut_on: date, task: Task, rule: dayrules.AfterFirstCutRule, facts: Facts) -> bool:
    """Whether the second cut's own season in the plan holds a day long enough after this one."""
    days = _days_after(cut_on, rule, facts.season)
    for season in facts.holding.rules.rules.values():
        if isinstance(season, dayrules.MonthsRule) and task.type.id in season.tasks:
            days &= in_months(season.spans, facts)
    return bool(days.any())


def _days_after(cut_on: date, rule: dayrules.AfterFirstCutRule, season: Season) -> Mask:
    """(n_days,) the days of the plan that lie long enough, and not too long, after a cut."""
    days = np.arange(season.n_days) - season.day_of(cut_on)
    return (days >= 7 * rule.weeks) & (days <= 7 * rule.until_weeks)


def second_cut_links(tasks: Sequence[Task], facts: Facts) -> tuple[Link, ...]:
    """The second cut waits for each planned first cut of stock that nobody has cut yet."""
    return tuple(
        Link(first.id, second.id, 7 * rule.weeks, 7 * rule.until_weeks)
        for second, rule in _second_cuts(tasks, facts)
        for first in _firsts_to_come(second, tasks, rule, facts)
    )


def not_due(
    tasks: Sequence[Task],
    windows: Mapping[str, TaskWindow],
    facts: Facts,
    planned: Mapping[str, int] | None = None,
) -> dict[str, Notice]:
    """Second cuts that no first cut of the same growing season goes before, with words.

    What is begun by the log, or set to a day by the grower, is never among them.

    ``planned`` gives the number of the last day of each planned task; without it, a first cut
    may stand on any of its open days. Returns a note about the plot for each, by task id.
    """
    plan = facts.holding.plan.id
    begun = {entry.task for entry in facts.holding.log if entry.plan == plan}
    return {
        task.id: _note(task, rule, facts)
        for task, rule in _second_cuts(tasks, facts)
        if task.id not in begun
        and windows[task.id].fixed_first is None
        and _first_cut_on(task, rule, facts) is None
        and not any(
            _may_follow(windows[task.id], windows[first.id], rule, planned)
            for first in _firsts_to_come(task, tasks, rule, facts)
        )
    }


def _second_cuts(
    tasks: Sequence[Task], facts: Facts
) -> Iterator[tuple[Task, dayrules.AfterFirstCutRule]]:
    for task in tasks:
        for rule in facts.holding.rules.rules.values():
            if isinstance(rule, dayrules.AfterFirstCutRule) and task.type.id in rule.tasks:
                yield task, rule


def _firsts_to_come(
    second: Task, tasks: Sequence[Task], rule: dayrules.AfterFirstCutRule, facts: Facts
) -> list[Task]:
    """Planned cuts of stock of a second cut that was not cut in its growing season yet."""
    waiting = [
        row
        for row in second.stock
        if not ((cut := facts.cut_on(row)) and _counts(cut, second, rule, facts))
    ]
    return [
        task
        for task in tasks
        if task.type.cuts
        and task.type.regrown_months is None
        and task.plot_id == second.plot_id
        and any(row in task.stock for row in waiting)
    ]


def _may_follow(
    second: TaskWindow,
    first: TaskWindow,
    rule: dayrules.AfterFirstCutRule,
    planned: Mapping[str, int] | None,
) -> bool:
    """Whether an open day of a second cut lies well after its first."""
    ends = np.flatnonzero(first.open).tolist()
    if planned is not None:
        ends = [planned[first.task.id]] if first.task.id in planned else []
    elif first.fixed_first is not None:
        ends = [first.fixed_first]
    waits = np.flatnonzero(second.open)[:, None] - np.array(ends, dtype=np.int64)
    return bool(((waits >= 7 * rule.weeks) & (waits <= 7 * rule.until_weeks)).any())


def _note(task: Task, rule: dayrules.AfterFirstCutRule, facts: Facts) -> Notice:
    last = max((cut for row in task.stock if (cut := facts.cut_on(row))), default=None)
    known = "no cut of it is known" if last is None else f"last cut on {day_words(last)}"
    where = task.plot.name if task.plot else facts.holding.site.name
    words = (
        f"{task.title!r} in {where} is not due in this plan: no first cut of the same "
        f"growing season is logged, or can stand {rule.weeks} weeks before it ({known})."
    )
    return Notice("second-cut-not-due", Level.NOTE, task.plot_id, words, (task.id,))
