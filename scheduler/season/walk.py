"""The walk through the rooms: from a holding's files to its crew's days. Pure."""

from collections.abc import Callable, Collection, Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import product
from types import MappingProxyType
from typing import TypeVar

from scheduler.holding import Holding
from scheduler.roster import Packed, solve
from scheduler.season.logged import finished, progress_of
from scheduler.season.outlook import Outlook, outlook_of
from scheduler.season.placed import Placed
from scheduler.season.roster_problem import Published, grouped, problem_of, with_own_days
from scheduler.stand import Task, tasks_of
from scheduler.terms import Level, Notice
from scheduler.windows import (
    Link,
    TaskWindow,
    after_picking,
    between_rounds,
    gone_before,
    in_place_of,
    links_between,
    not_due,
    second_cut_links,
    window_of,
)

_T = TypeVar("_T")


def placed_season(
    holding: Holding,
    as_of: date,
    *,
    published: Published = MappingProxyType({}),
    done_before: Mapping[str, date] = MappingProxyType({}),
    tell: Callable[[str], None] = lambda _: None,
) -> Placed:
    """The season with its work on the crew's days: the whole walk.

    Args:
        holding: the site's files, checked.
        as_of: today; nothing is planned before it.
        published: the days for which visits were last published; they are kept unless a rule
            forces a move.
        done_before: the last day on which the season before is planned to do a task, by its id.
        tell: is told each stage of the work, as a few words for the grower.

    Returns:
        The work and its days; what has no room is in ``roster.left_out``.
    """
    tasks = tasks_of(holding)
    outlook = outlook_of(holding, as_of, tasks, done_before)
    facts = outlook.facts
    windows = {task.id: window_of(task, facts) for task in tasks}
    begun = progress_of(holding)
    idle = not_due(tasks, windows, facts) | in_place_of(tasks, windows, begun)
    idle |= gone_before(tasks, windows, facts, begun)
    tell(f"Planning {len({task.visit_id for task in tasks if task.id not in idle})} visits")
    packed: Packed = {}  # most work is the same each time that the season is placed
    placed = _placed(outlook, windows, idle, published, (), packed)
    # what has no place, and only waits for what it need not wait for, goes ahead
    waiting = {link.after for link in placed.links if link.soft}
    if ahead := waiting.intersection(placed.left_out):
        placed = _placed(outlook, windows, idle, published, ahead, packed)
    ends = {task_id: stint.last for task_id, stint in placed.stints.items()}
    late = not_due(tasks, windows, facts, ends)
    if late.keys() - idle.keys():
        # what would follow a second cut that cannot come is not to be lost with it
        placed = _placed(outlook, windows, idle | late, published, ahead, packed)
    return _without_idle_decisions(placed)


def _placed(
    outlook: Outlook,
    windows: Mapping[str, TaskWindow],
    idle: Mapping[str, Notice],
    published: Published,
    ahead: Collection[str],
    packed: Packed,
) -> Placed:
    """The work that is due on the crew's days; some of it need not wait where it should."""
    holding = outlook.holding
    windows = {task_id: window for task_id, window in windows.items() if task_id not in idle}
    tasks = {task_id: window.task for task_id, window in windows.items()}
    due = tuple(tasks.values())
    links = tuple(
        link
        for link in _orders(outlook, windows, published)
        if not (link.soft and link.after in ahead)
    )
    groups = grouped(due, links)
    windows = with_own_days(windows, groups, holding)
    problem = problem_of(outlook, windows, links, published, groups, packed)
    return Placed(
        outlook=outlook,
        tasks=tasks,
        windows=windows,
        links=links,
        groups=groups,
        progress=progress_of(holding),
        published=published,
        idle=tuple(idle.values()),
        problem=problem,
        roster=solve(problem),
    )


def _orders(
    outlook: Outlook, windows: Mapping[str, TaskWindow], published: Published
) -> Iterator[Link]:
    """What waits for what, of the work that is due.

    Of what was published for days gone by, and nobody has logged, only what may still come is
    waited for; where what waits has no other day, it goes ahead.
    """
    holding, tasks = outlook.holding, {t_id: window.task for t_id, window in windows.items()}
    due = tuple(tasks.values())
    shut = {task_id for task_id, window in windows.items() if not window.open.any()}
    overdue = {task_id for task_id, task in tasks.items() if _overdue(task, outlook, published)}
    links = (
        *_links(due, holding, shut),
        *second_cut_links(due, outlook.facts),
        *_along_links(due, holding),
        *after_picking(due, holding.rules),
        *between_rounds(due),
    )
    for link in links:
        if link.before not in overdue:
            yield link
        elif link.before not in shut:
            yield replace(link, soft=True)


def _overdue(task: Task, outlook: Outlook, published: Published) -> bool:
    """Whether other work was published for days that have gone by, and nobody has logged it.

    It is asked about, and no visit is held up for it: most often it was done.
    """
    spans = published.get(task.visit_id, ())
    gone = bool(spans) and all(span.last < outlook.as_of for span in spans)
    return gone and not task.is_step and task.id not in progress_of(outlook.holding)


def _links(tasks: Sequence[Task], holding: Holding, shut: set[str]) -> Iterable[Link]:
    """The order of work; across what is done already, too.

    Where the medium stratum was cut before the emergent one, what lies and grows on the ground
    still waits for the emergent one.
    """
    done = finished(progress_of(holding))
    left = [task for task in tasks if task.id not in done]
    across = links_between(left, holding.rules, shut)
    links = (*across, *links_between(tasks, holding.rules, shut))
    return {(link.before, link.after): link for link in links}.values()


def _along_links(tasks: Sequence[Task], holding: Holding) -> Iterator[Link]:
    """A plot's visit in the days after that of the neighbouring plot that it rides along with."""
    days = round(holding.rules.figure("along-days"))
    steps: dict[tuple[str, str], list[Task]] = {}  # by plot and visit, in the order of work
    for task in sorted(tasks, key=lambda task: task.type.order):
        if task.is_step:
            steps.setdefault((task.plot_id, task.type.visit), []).append(task)
    kinds = dict.fromkeys(task.type.visit for task in tasks if task.is_step)
    for work in holding.plan.says.work:
        for plot_id, kind in product(work.plots, kinds):
            leads, rides = steps.get((work.along_with or "", kind)), steps.get((plot_id, kind))
            if kind in work.types and leads and rides:
                yield Link(leads[-1].id, rides[0].id, 1, days, soft=True)


def _without_idle_decisions(placed: Placed) -> Placed:
    """The same plan without days to decide on a release for which no work waits.

    Whether work stands after them is known only once it is placed, and a decision that goes
    leaves half an hour free, so nothing is solved anew.
    """
    idle = {}
    for task in placed.tasks.values():
        if task.type.decides and _is_idle(task, placed):
            says = (
                f"{task.title!r} in {placed.place_of(task)} is left out: no work that waits for "
                "frost stands after it in this plan, or it has begun before."
            )
            idle[task.id] = Notice("nothing-to-decide", Level.NOTE, task.plot_id, says, (task.id,))
    if not idle:
        return placed
    visits = tuple(visit for visit in placed.problem.visits if visit.id not in idle)
    roster = placed.roster
    return replace(
        placed,
        tasks=_without(idle, placed.tasks),
        windows=_without(idle, placed.windows),
        idle=(*placed.idle, *idle.values()),
        problem=replace(placed.problem, visits=visits),
        groups=_without(idle, placed.groups),
        roster=replace(
            roster,
            visits=tuple(visit for visit in roster.visits if visit.visit_id not in idle),
            stints=tuple(stint for stint in roster.stints if stint.step_id not in idle),
        ),
    )


def _without(idle: Container[str], by_id: Mapping[str, _T]) -> dict[str, _T]:
    return {key: value for key, value in by_id.items() if key not in idle}


def _is_idle(task: Task, placed: Placed) -> bool:
    """Whether no frost-gated work of the plot stands after it, or some before in its window."""
    if task.id not in placed.stints or task.id in placed.progress:
        return False
    day, date_of = placed.stints[task.id].first, placed.season.date_of
    begins = list(_releases_of(task.plot_id, placed))
    if not any(first > day for first in begins):
        return True
    risk = placed.outlook.frost[task.plot_id]
    closes = risk.closes_after(date_of(day))
    before = [date_of(first) for first in begins if first < day]
    return any(risk.is_open(first) and risk.closes_after(first) == closes for first in before)


def _releases_of(plot_id: str, placed: Placed) -> Iterator[int]:
    """On which days the release work of a plot begins that lays something open to frost."""
    for task_id, stint in placed.stints.items():
        task = placed.tasks[task_id]
        if task.plot_id == plot_id and task.type.visit == "release" and task.type.exposes:
            yield stint.first
