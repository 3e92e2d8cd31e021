"""The walk through the rooms: from a holding's files to its crew's days. Pure."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from types import MappingProxyType

from scheduler.holding import Holding
from scheduler.roster import solve
from scheduler.season.along import along_links
from scheduler.season.decisions import without_idle_decisions
from scheduler.season.logged import finished, progress_of
from scheduler.season.outlook import Outlook, outlook_of
from scheduler.season.placed import Placed
from scheduler.season.roster_problem import Published, grouped, problem_of, with_own_days
from scheduler.stand import Task, tasks_of
from scheduler.terms import Notice
from scheduler.windows import (
    Facts,
    Link,
    TaskWindow,
    after_picking,
    between_rounds,
    in_place_of,
    links_between,
    not_due,
    second_cut_links,
    window_of,
)


def placed_season(
    holding: Holding,
    as_of: date,
    *,
    published: Published = MappingProxyType({}),
    tell: Callable[[str], None] = lambda _: None,
) -> Placed:
    """The season with its work on the crew's days: the whole walk.

    Args:
        holding: the site's files, checked.
        as_of: today; nothing is planned before it.
        published: the days for which visits were last published; they are kept unless a rule
            forces a move.
        tell: is told each stage of the work, as a few words for the grower.

    Returns:
        The work and its days; what has no room is in ``roster.left_out``.
    """
    tasks = tasks_of(holding)
    outlook = outlook_of(holding, as_of, tasks)
    facts = Facts(holding, outlook.season, outlook.sky, outlook.frost, as_of)
    windows = {task.id: window_of(task, facts) for task in tasks}
    idle = not_due(tasks, windows, facts) | in_place_of(tasks, windows, progress_of(holding))
    tell(f"Planning {len({task.visit_id for task in tasks if task.id not in idle})} visits")
    placed = _placed(outlook, facts, windows, idle, published)
    if ahead := _going_ahead(placed):
        placed = _placed(outlook, facts, windows, idle, published, ahead)
    late = not_due(tasks, windows, facts, {one: day.last for one, day in placed.stints.items()})
    if late.keys() - idle.keys():
        # what would follow a second cut that cannot come is not to be lost with it
        placed = _placed(outlook, facts, windows, idle | late, published, ahead)
    return without_idle_decisions(placed)


def _placed(
    outlook: Outlook,
    facts: Facts,
    windows: Mapping[str, TaskWindow],
    idle: Mapping[str, Notice],
    published: Published,
    ahead: frozenset[str] = frozenset(),
) -> Placed:
    """The work that is due on the crew's days; some of it need not wait where it should."""
    holding = facts.holding
    windows = {task_id: window for task_id, window in windows.items() if task_id not in idle}
    tasks = {task_id: window.task for task_id, window in windows.items()}
    due = tuple(tasks.values())
    shut = {task_id for task_id, window in windows.items() if not window.open.any()}
    links = (
        *_links(due, holding, shut),
        *second_cut_links(due, facts),
        *along_links(due, holding),
        *after_picking(due, holding.rules),
        *between_rounds(due),
    )
    links = tuple(
        link
        for link in links
        if not _overdue(tasks[link.before], facts, published)
        and not (link.soft and link.after in ahead)
    )
    groups = grouped(due, links)
    windows = with_own_days(windows, groups, holding)
    problem = problem_of(outlook, windows, links, published, groups)
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


def _going_ahead(placed: Placed) -> frozenset[str]:
    """Tasks without a place that only wait for what they need not wait for."""
    out = set(placed.left_out)
    return frozenset(link.after for link in placed.links if link.soft and link.after in out)


def _overdue(task: Task, facts: Facts, published: Published) -> bool:
    """Whether other work was published for days that have gone by, and nobody has logged it.

    It is asked about, and no visit is held up for it: most often it was done.
    """
    spans, holding = published.get(task.visit_id, ()), facts.holding
    gone = bool(spans) and all(span.last < facts.as_of for span in spans)
    return gone and not task.is_step and task.id not in progress_of(holding)


def _links(tasks: Sequence[Task], holding: Holding, shut: set[str]) -> tuple[Link, ...]:
    """The order of work; across what is done already, too.

    Where the medium stratum was cut before the emergent one, what lies and grows on the ground
    still waits for the emergent one.
    """
    done = finished(progress_of(holding))
    every = links_between(tasks, holding.rules, shut)
    left = [task for task in tasks if task.id not in done]
    across = links_between(left, holding.rules, shut)
    return tuple({(link.before, link.after): link for link in (*across, *every)}.values())
