"""Second cuts of a growing season: how long after the first, and whether there was a first."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import dayrules
from scheduler.stand import Task
from scheduler.terms import Level, Notice, day_words
from scheduler.windows.facts import Facts
from scheduler.windows.known_cuts import counts, first_cut_on
from scheduler.windows.order_of_work import Link
from scheduler.windows.task_windows import TaskWindow


def second_cut_links(tasks: Sequence[Task], facts: Facts) -> tuple[Link, ...]:
    """The second cut waits for each planned first cut of stock that nobody has cut yet."""
    return tuple(
        Link(first.id, second.id, 7 * rule.weeks, 7 * rule.until_weeks)
        for second in tasks
        for rule in _rules_of(second, facts)
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

    Args:
        tasks: all tasks.
        windows: what the rules say of every day, by task id.
        facts: what the rules look at.
        planned: number of the last day of each planned task, by id; left out, a first cut
            may stand on any of its open days.

    Returns:
        A note about the plot for each, by task id.
    """
    plan = facts.holding.plan.id
    begun = {entry.task for entry in facts.holding.log if entry.plan == plan}
    return {
        task.id: _note(task, rule, facts)
        for task in tasks
        for rule in _rules_of(task, facts)
        if task.id not in begun
        and windows[task.id].fixed_first is None
        and not _has_first(task, tasks, rule, windows, facts, planned)
    }


def _rules_of(task: Task, facts: Facts) -> list[dayrules.AfterFirstCutRule]:
    return [
        rule
        for rule in facts.holding.rules.rules.values()
        if isinstance(rule, dayrules.AfterFirstCutRule) and task.type.id in rule.tasks
    ]


def _firsts_to_come(
    second: Task, tasks: Sequence[Task], rule: dayrules.AfterFirstCutRule, facts: Facts
) -> list[Task]:
    """Planned cuts of stock of a second cut that was not cut in its growing season yet."""
    waiting = [row for row in second.stock if not counts(facts.cut_on(row), second, rule, facts)]
    return [
        task
        for task in tasks
        if task.type.cuts
        and task.type.regrown_months is None
        and task.plot_id == second.plot_id
        and any(row in task.stock for row in waiting)
    ]


def _has_first(
    task: Task,
    tasks: Sequence[Task],
    rule: dayrules.AfterFirstCutRule,
    windows: Mapping[str, TaskWindow],
    facts: Facts,
    planned: Mapping[str, int] | None,
) -> bool:
    if first_cut_on(task, rule, facts) is not None:
        return True
    open_days = np.flatnonzero(windows[task.id].open)
    for first in _firsts_to_come(task, tasks, rule, facts):
        if planned is None:
            ends = np.flatnonzero(_may_stand(windows[first.id]))
        else:
            ends = np.array([planned[first.id]] if first.id in planned else [], dtype=np.int64)
        waits = open_days[:, None] - ends
        if bool(((waits >= 7 * rule.weeks) & (waits <= 7 * rule.until_weeks)).any()):
            return True
    return False


def _may_stand(window: TaskWindow) -> NDArray[np.bool_]:
    """(n_days,) open days; the grower's own day alone where there is one."""
    if window.fixed_first is None:
        return window.open
    only = np.zeros(window.season.n_days, dtype=bool)
    only[window.fixed_first : window.fixed_first + 1] = True
    return only


def _note(task: Task, rule: dayrules.AfterFirstCutRule, facts: Facts) -> Notice:
    last = max((cut for row in task.stock if (cut := facts.cut_on(row))), default=None)
    known = "no cut of it is known" if last is None else f"last cut on {day_words(last)}"
    where = task.plot.name if task.plot else facts.holding.site.name
    says = (
        f"{task.title!r} in {where} is not due in this plan: no first cut of the same "
        f"growing season is logged, or can stand {rule.weeks} weeks before it ({known})."
    )
    return Notice("second-cut-not-due", Level.NOTE, task.plot_id, says, (task.id,))
