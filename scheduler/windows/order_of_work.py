"""The order of work: which task waits for which, which takes the place of another.

Last stand known cuts: how long stock is left after one, and whether a second has its first.

Decided: the order reaches through what is logged as done: laying waits for a skipped stratum.
Refused: laying after fruit trees; four avocados would hold it up. Held by
tests/season/test_logged_order.py::test_work_on_the_ground_waits_for_trees_skipped_by_the_log.

Decided: a known first cut is a ruling, a planned one an order of work. Refused: ``after`` in
tasks.toml, because a southern plan often begins between the two.
Held by tests/season/test_second_cuts.py::test_after_a_logged_first_cut_the_second_waits_as_long.
"""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from scheduler.holding import After, RuleBook, TaskType, dayrules
from scheduler.stand import Task
from scheduler.terms import DaySpan, Level, Notice, Season, day_words
from scheduler.windows.facts import Facts, Mask, in_months
from scheduler.windows.task_windows import (
    BY_TODAY,
    ONCE_A_ROUND,
    Rulings,
    TaskWindow,
    ruling_by,
    says_for,
)

NEAR = 9  # days from the first cut of a visit to its last planting


@dataclass(frozen=True, slots=True)
class Link:
    """One task waits for another of the same plot, by their ids."""

    before: str
    after: str
    # days between the end of the one and the start of the other; 0 allows the same day
    min_days: int
    within_days: int | None  # at most so many days between; None if it does not matter
    # whether the one that waits goes ahead where it would else have no day at all
    soft: bool = False


def links_between(
    tasks: Sequence[Task], rules: RuleBook, shut: Container[str] = ()
) -> tuple[Link, ...]:
    """The order of work among the tasks that there are.

    Where a task type is missing in a plot, those that waited for it wait for what it would
    have waited for, so that the order holds across the gap. For those in ``shut``, which have
    no open day, some need not wait.
    """
    there: dict[tuple[str, str], list[Task]] = {}
    for task in tasks:
        there.setdefault((task.plot_id, task.type.id), []).append(task)
    return tuple(
        Link(before.id, task.id, after.min_days, after.within_days, after.if_open)
        for task in tasks
        for after in _waits(task.type, task.plot_id, there, rules).values()
        for before in there[task.plot_id, after.task]
        if not (after.if_open and before.id in shut)
        # parts by kind have to do only with their own plants
        if not (before.part and task.part) or any(row in before.stock for row in task.stock)
    )


def between_rounds(tasks: Sequence[Task]) -> Iterator[Link]:
    """One round of the same work comes so many days after the other.

    Rounds of picking have days of their own; the last of the old crop may come first in a plan.
    """
    rounds = {
        (task.plot_id, task.type.id, task.round): task
        for task in tasks
        if task.rounds > 1 and not task.type.picks
    }
    for (plot_id, kind_id, number), task in rounds.items():
        earlier = rounds.get((plot_id, kind_id, number - 1))
        if earlier is not None:
            yield Link(earlier.id, task.id, task.type.round_days, 2 * task.type.round_days)


def after_picking(tasks: Sequence[Task], rules: RuleBook) -> Iterator[Link]:
    """What is pruned after harvest waits for the last round of picking of its plants."""
    every = rules.rules.values()
    groups = {g for rule in every if rule.kind == "after-harvest" for g in rule.groups}
    for cut in tasks:
        if not cut.type.cuts or cut.groups.isdisjoint(groups):
            continue
        for pick in tasks:
            last = pick.type.picks and pick.round == pick.rounds
            if last and any(row in pick.stock for row in cut.stock):
                yield Link(pick.id, cut.id, 0, None, soft=True)


def left_before(
    task_id: str, tasks: Sequence[Task], done: Container[str], rules: RuleBook
) -> tuple[Task, ...]:
    """What should have come right before a task, itself done or not, and is not done."""
    left = {task.id: task for task in tasks if task.id not in done or task.id == task_id}
    links = links_between(tuple(left.values()), rules)
    return tuple(left[link.before] for link in links if link.after == task_id)


def _waits(
    kind: TaskType,
    plot_id: str,
    there: Container[tuple[str, str]],
    rules: RuleBook,
    seen: frozenset[str] = frozenset(),
) -> dict[str, After]:
    """What a task type waits for in this plot, looking through types that are missing."""
    waits: dict[str, After] = {}
    seen |= {kind.id}
    for after in kind.after:
        if (plot_id, after.task) in there:
            waits.setdefault(after.task, after)
        elif after.task not in seen:
            through = _waits(rules.tasks[after.task], plot_id, there, rules, seen)
            for earlier in through.values():
                # the tolerance is that of the task that waits: wood dries for so long
                least = max(after.min_days, earlier.min_days)
                waits.setdefault(earlier.task, replace(after, task=earlier.task, min_days=least))
    return waits


def in_place_of(
    tasks: Sequence[Task], windows: Mapping[str, TaskWindow], begun: Container[str]
) -> dict[str, Notice]:
    """What is not due: work without a day in its visit, or else what would take its place.

    A step has a day in its visit where it is open within ``NEAR`` days after some day on which
    all other steps are open that the log has not begun: their days lie behind. Returns a note
    about the plot for each, by task id.
    """
    notes: dict[str, Notice] = {}
    by_type: dict[tuple[str, str | None], Task] = {(t.plot_id, t.type.id): t for t in tasks}
    for task in tasks:
        other = by_type.get((task.plot_id, task.type.or_else))
        if other is None:
            continue
        if _has_day(task, [t for t in tasks if t.id not in begun], windows):
            notes[other.id] = _note(other, "what it would plant is planted in the release visit")
        else:
            closing = windows[task.id].rulings
            why = next((r.words for r in closing if r.rule_id == "ahead-of-dry"), "no day is open")
            notes[task.id] = _note(task, f"{why}; {other.title!r} takes its place")
            for waits in tasks:
                if waits.plot_id == task.plot_id and waits.type.with_task == task.type.id:
                    notes[waits.id] = _note(waits, f"{task.title!r} is not done in this visit")
    return notes


def gone_before(
    tasks: Sequence[Task], windows: Mapping[str, TaskWindow], facts: Facts, begun: Container[str]
) -> dict[str, Notice]:
    """Work whose days had gone by when the plan was taken up, and which the log has not begun.

    Likewise what was done in the season before, and has no other round in this one. A visit goes
    with any of its steps. Returns a note about the plot for each, by task id.
    """
    usual = {task.id: windows[task.id].open_but_for(BY_TODAY) for task in tasks}
    notes = dict(_done_before_notes(tasks, windows))
    taken_up = facts.holding.plan.says.taken_up
    if taken_up is None or taken_up not in facts.season:
        return notes
    day = facts.season.day_of(taken_up)
    gone = {t.visit_id for t in tasks if usual[t.id][:day].any() and not usual[t.id][day:].any()}
    gone -= {task.visit_id for task in tasks if task.id in begun}
    why = f"its days had gone by when the plan was taken up, on {day_words(taken_up)}"
    return notes | {task.id: _note(task, why) for task in tasks if task.visit_id in gone}


def _done_before_notes(
    tasks: Sequence[Task], windows: Mapping[str, TaskWindow]
) -> Iterator[tuple[str, Notice]]:
    for task in tasks:
        window = windows[task.id]
        same = [ruling for ruling in window.rulings if ruling.rule_id == ONCE_A_ROUND]
        if same and not window.open_but_for(BY_TODAY).any():
            yield task.id, _note(task, same[0].words)


def _has_day(task: Task, tasks: Sequence[Task], windows: Mapping[str, TaskWindow]) -> bool:
    """Whether a step is open soon after a day on which the rest of its visit is."""
    together = np.ones(windows[task.id].season.n_days, dtype=bool)
    for other in tasks:
        if other.visit_id == task.visit_id and other is not task:
            together &= windows[other.id].open
    return any(windows[task.id].open[day : day + NEAR].any() for day in np.flatnonzero(together))


def _note(task: Task, why: str) -> Notice:
    where = task.plot.name if task.plot else "the holding"
    says = f"{task.title!r} in {where} is not planned: {why}."
    return Notice("done-otherwise", Level.NOTE, task.plot_id, says, (task.id,))


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
        task.id: _too_soon_note(task, rule, facts)
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


def _too_soon_note(task: Task, rule: dayrules.AfterFirstCutRule, facts: Facts) -> Notice:
    last = max((cut for row in task.stock if (cut := facts.cut_on(row))), default=None)
    known = "no cut of it is known" if last is None else f"last cut on {day_words(last)}"
    where = task.plot.name if task.plot else facts.holding.site.name
    words = (
        f"{task.title!r} in {where} is not due in this plan: no first cut of the same "
        f"growing season is logged, or can stand {rule.weeks} weeks before it ({known})."
    )
    return Notice("second-cut-not-due", Level.NOTE, task.plot_id, words, (task.id,))
