"""The season as the roster is asked for it: visits and steps, their order, people and kit.

Decided: a chance of frost that the grower tolerates counts as none when days are chosen.
Refused: to weigh it, which sends each heavy visit to midsummer for the last per cent.

Decided: visits that wait for one another are worked as one. Refused: days of their own for all
work: a fig would hold back the terraces (``apart`` in tasks.toml has what may leave its visit).
Held by tests/season/test_visits.py::test_visits_that_wait_for_one_another_are_worked_as_one.
"""

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from graphlib import CycleError
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import Holding, LogEntry, hours_to_do
from scheduler.roster import Kit, Order, Packed, Problem, Step, Visit, Worker, circles_of, in_order
from scheduler.season.kept_days import days_to_keep
from scheduler.season.logged import entries_of, finished, logged_days, progress_of
from scheduler.season.outlook import Outlook
from scheduler.stand import Task, split_id
from scheduler.terms import DaySpan
from scheduler.windows import Link, TaskWindow, days_set

SAW = "running-saw"  # what of a day may be sawn: people with the skill, so long each
QUARTER_H = 0.25  # hours are planned in quarters
# Runs of days for which each visit was last published, by visit id.
Published: TypeAlias = Mapping[str, Sequence[DaySpan]]
Groups: TypeAlias = Mapping[str, tuple[str, ...]]  # by visit id, the ids of its tasks in order


def grouped(tasks: Iterable[Task], links: Sequence[Link]) -> dict[str, tuple[str, ...]]:
    """The tasks of each visit, in the order of work.

    Visits that wait for one another are worked as one: a task of the grower's own that stands
    between two steps of a visit becomes a step of it.
    """
    ids: dict[str, list[str]] = {}
    rank: dict[str, int] = {}
    for task in sorted(tasks, key=lambda task: (task.type.order, task.id)):
        ids.setdefault(task.visit_id, []).append(task.id)
        rank[task.id] = len(rank)
    edges = [(link.before, link.after) for link in links]
    among = [edge for edge in edges if rank.keys() >= {*edge}]
    while True:
        visit_of = visit_of_task(ids)
        pairs = {(visit_of[before], visit_of[after]) for before, after in among}
        knots = circles_of(ids, sorted(pair for pair in pairs if pair[0] != pair[1]))
        if not knots:
            break
        first, *others = sorted(knots[0], key=lambda visit_id: (-len(ids[visit_id]), visit_id))
        for other in others:
            ids[first] += ids.pop(other)
    return {visit_id: _sorted(own, edges, rank) for visit_id, own in ids.items()}


def visit_of_task(groups: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """The visit of each task, by task id."""
    return {task_id: visit_id for visit_id, ids in groups.items() for task_id in ids}


def _sorted(
    ids: list[str], edges: Sequence[tuple[str, str]], rank: Mapping[str, int]
) -> tuple[str, ...]:
    ids = sorted(ids, key=lambda task_id: rank[task_id])
    try:
        return tuple(in_order(ids, edges))
    except CycleError:  # the roster tells it, and leaves the visit out
        return tuple(ids)


def problem_of(
    outlook: Outlook,
    windows: Mapping[str, TaskWindow],
    links: tuple[Link, ...],
    published: Published,
    groups: Groups,
    packed: Packed,
) -> Problem:
    """State the season as the roster takes it; finished work is left out of it."""
    holding = outlook.holding
    log, own = entries_of(holding), days_set(holding)
    to_do = windows.keys() - finished(progress_of(holding)).keys()
    left = {visit_id: tuple(t for t in ids if t in to_do) for visit_id, ids in groups.items()}
    left = {visit_id: ids for visit_id, ids in left.items() if ids}
    visit_of = visit_of_task(left)
    due = [link for link in links if visit_of.keys() >= {link.before, link.after}]
    pairs = {(visit_of[link.before], visit_of[link.after]) for link in due}
    keeps = days_to_keep(outlook, windows, left, published, pairs)
    visits = []
    for visit_id, ids in left.items():
        visit = _visit(visit_id, groups[visit_id], [windows[t] for t in ids], log, outlook)
        visits.append(replace(visit, published_first=keeps.get(visit_id)))
    return Problem(
        season=outlook.season,
        visits=tuple(visits),
        orders=tuple(_order(link, windows, own) for link in due),
        workers=tuple(_workers(outlook)),
        kits=tuple(_kits(outlook)),
        heavy_in_row=holding.crew.heavy_days_in_row,
        heavy_worked=frozenset(_heavy_worked(outlook)),
        packed=packed,
    )


def _order(link: Link, windows: Mapping[str, TaskWindow], own: Container[str]) -> Order:
    """The order between two tasks; work that is on no ground keeps it from day to day.

    There is no longest wait after a step whose own day the grower has set: where the grower cuts
    before the window closes, the work that follows must wait longer than is usual, and to leave
    it out for that would be worse.
    """
    least = max(link.min_days, int(windows[link.before].task.plot is None))
    return Order(link.before, link.after, least, None if link.before in own else link.within_days)


def _heavy_worked(outlook: Outlook) -> Iterator[int]:
    """Days up to today on which heavy work was logged, whatever plan it was of."""
    for entry in outlook.holding.log:
        kind = outlook.holding.rules.tasks.get(split_id(entry.task)[1])
        if entry.date <= outlook.as_of and kind is not None and kind.heavy:
            yield outlook.season.day_of(entry.date)


def with_own_days(
    windows: Mapping[str, TaskWindow], groups: Groups, holding: Holding
) -> dict[str, TaskWindow]:
    """The windows, with the day set for a visit that is not begun as that of its first step."""
    answer, progress = dict(windows), progress_of(holding)
    for visit_id, on in days_set(holding).items():
        ids = [task_id for task_id in groups.get(visit_id, ()) if task_id in windows]
        if ids and visit_id not in windows and progress.keys().isdisjoint(ids):
            window = windows[ids[0]]
            answer[ids[0]] = replace(window, fixed_first=window.season.day_of(on))
    return answer


def _visit(
    visit_id: str,
    ids: Sequence[str],
    windows: Sequence[TaskWindow],
    log: Mapping[str, Sequence[LogEntry]],
    outlook: Outlook,
) -> Visit:
    """One visit with what is left to do of it."""
    is_step = any(window.task.is_step for window in windows)
    worked = logged_days(ids, log, outlook.as_of)
    pauses = is_step and days_set(outlook.holding).keys().isdisjoint(ids)
    return Visit(
        id=visit_id,
        steps=tuple(_step(window, log.get(window.task.id, ()), outlook) for window in windows),
        importance=min(max(window.task.type.importance for window in windows), 9),
        hurry=max(_hurry(window, outlook) for window in windows),
        lies_open=is_step or any(window.task.type.cuts for window in windows),
        begun=outlook.season.day_of(worked[0]) if is_step and worked else None,
        pause_days=round(outlook.holding.rules.figure("visit-pause")) if pauses else None,
    )


def _step(window: TaskWindow, log: Sequence[LogEntry], outlook: Outlook) -> Step:
    task = window.task
    hours = hours_to_do(log, task.hours.usual)
    is_open, fixed = _days_left(window, log, outlook)
    return Step(
        id=task.id,
        plot=task.plot.id if task.plot else "",
        work_h=max(QUARTER_H, round(hours / QUARTER_H) * QUARTER_H),
        # a hired climber is counted below, by the day, and is nobody's spare pair of hands
        team={skill: n for skill, n in task.team.items() if skill not in task.hired},
        team_max=task.crew_max,
        uses={**dict.fromkeys(task.hired, 1), **({SAW: 1} if task.saws else {})},
        open=is_open,
        points=window.points,
        risk=_frost_chance(task, outlook),
        heavy=task.type.heavy,
        fixed_first=fixed,
    )


def _days_left(
    window: TaskWindow, log: Sequence[LogEntry], outlook: Outlook
) -> tuple[NDArray[np.bool_], int | None]:
    """The days that are open to a step, and the one that the grower has set for it.

    A day of the grower's that has gone by leaves no other, unless the work was begun.
    """
    fixed = window.fixed_first
    if fixed is None or fixed >= outlook.season.day_of(outlook.as_of):
        return window.open, fixed
    rulings = tuple(ruling for ruling in window.rulings if ruling.rule_id != "own-dates")
    return replace(window, rulings=rulings).open & bool(log), None


def _frost_chance(task: Task, outlook: Outlook) -> NDArray[np.float64]:
    """Chance of another frost on or after each day, for tasks that lay something open to it.

    A chance that the grower tolerates counts as none: otherwise every piece of work would
    slip to midsummer for the last tenth of a per cent.
    """
    n_days = outlook.season.n_days
    if task.plot is None or not task.type.exposes:
        return np.zeros(n_days)
    risk = outlook.frost[task.plot.id]
    chance = np.nan_to_num(risk.chance_on_or_after[:n_days], nan=1.0)
    return np.where(risk.open[:n_days], chance, 0.0)


def _hurry(window: TaskWindow, outlook: Outlook) -> int:
    """More where covers may go on in the open frost window: each night without them counts."""
    task = window.task
    if task.plot is None or not task.type.covers:
        return 1
    is_open = outlook.frost[task.plot.id].open[: outlook.season.n_days]
    late = bool((window.open & is_open).any())
    return round(outlook.holding.rules.figure("late-cover-hurry")) if late else 1


def _workers(outlook: Outlook) -> Iterator[Worker]:
    """Everybody's hours, cut by daylight, less the share that is kept free."""
    daylight_h = outlook.sky.sun.hours_up
    kept = outlook.spare.worked(outlook.season)
    for person in outlook.holding.crew.person:
        told_h = np.array([person.hours_on(day) for day in outlook.season])
        hours = kept * np.minimum(told_h, daylight_h)
        yield Worker(person.name, frozenset[Any](person.skills), hours)


def _kits(outlook: Outlook) -> Iterator[Kit]:
    """What is hired, by the day."""
    for hire in outlook.holding.crew.hire:
        comes = np.array([hire.comes_on(day) for day in outlook.season], dtype=bool)
        units = np.where(comes, hire.count, 0)
        worth = outlook.holding.rules.figure("call-out-days")
        block_days = worth if hire.block_days is None else hire.block_days
        yield Kit(hire.id, units, hire.cost_day, block_days, units * round(60 * hire.hours))
    yield _saw_time(outlook)


def _saw_time(outlook: Outlook) -> Kit:
    """How long saws may run on a day: as long as a person may saw, for each who can."""
    rules = outlook.holding.rules
    each_min = rules.figure("saw-minutes") / rules.figure("saw-running-share")
    people = [p for p in outlook.holding.crew.person if "ground-saw" in p.skills]
    n_there = np.array([sum(p.hours_on(day) > 0 for p in people) for day in outlook.season])
    return Kit(SAW, n_there, minutes=n_there * round(each_min), own=True)
