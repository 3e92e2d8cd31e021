"""The day to decide whether a release goes or waits: only where work waits for that word."""

from dataclasses import replace

from scheduler.season.placed import Placed
from scheduler.stand import Task
from scheduler.terms import Level, Notice


def without_idle_decisions(placed: Placed) -> Placed:
    """The same plan without days to decide on which nothing is left to be decided.

    Whether work stands after them is known only once it is placed, and a decision that goes
    leaves half an hour free, so nothing is solved anew.
    """
    idle = {
        task.id: _note(task, placed)
        for task in placed.tasks.values()
        if task.type.decides and task.id in placed.stints
        if task.id not in placed.progress and not _decides(task, placed)
    }
    if not idle:
        return placed
    visits = tuple(v for v in placed.problem.visits if v.id not in idle)
    roster = placed.roster
    return replace(
        placed,
        tasks={task_id: task for task_id, task in placed.tasks.items() if task_id not in idle},
        windows={one: window for one, window in placed.windows.items() if one not in idle},
        idle=(*placed.idle, *idle.values()),
        problem=replace(placed.problem, visits=visits),
        groups={one: ids for one, ids in placed.groups.items() if one not in idle},
        roster=replace(
            roster,
            visits=tuple(visit for visit in roster.visits if visit.visit_id not in idle),
            stints=tuple(stint for stint in roster.stints if stint.step_id not in idle),
        ),
    )


def _decides(task: Task, placed: Placed) -> bool:
    """Whether frost-gated work of the plot stands after it, and none before in the same window."""
    day = placed.stints[task.id].first
    begins = [
        stint.first
        for task_id, stint in placed.stints.items()
        for other in (placed.tasks[task_id],)
        if other.plot_id == task.plot_id and other.type.visit == "release" and other.type.exposes
    ]
    return any(first > day for first in begins) and not any(
        first < day and _same_window(task.plot_id, first, day, placed) for first in begins
    )


def _same_window(plot: str, first: int, day: int, placed: Placed) -> bool:
    """Whether a day lies in the open frost window that a later day lies in or ends."""
    risk, day_of = placed.outlook.frost[plot], placed.season.date_of
    opened = day_of(first)
    return risk.is_open(opened) and risk.closes_after(opened) == risk.closes_after(day_of(day))


def _note(task: Task, placed: Placed) -> Notice:
    says = (
        f"{task.title!r} in {placed.place_of(task)} is left out: no work that waits for "
        "frost stands after it in this plan, or it has begun before."
    )
    return Notice("nothing-to-decide", Level.NOTE, task.plot_id, says, (task.id,))
