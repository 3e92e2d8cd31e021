"""The day to decide whether a release goes or waits: only where work waits for that word."""

from collections.abc import Container, Mapping
from dataclasses import replace
from typing import TypeVar

from scheduler.season.placed import Placed
from scheduler.stand import Task
from scheduler.terms import Level, Notice

_T = TypeVar("_T")


def without_idle_decisions(placed: Placed) -> Placed:
    """The same plan without days to decide on which nothing is left to be decided.

    Whether work stands after them is known only once it is placed, and a decision that goes
    leaves half an hour free, so nothing is solved anew.
    """
    decisions = [task for task in placed.tasks.values() if task.type.decides]
    idle = {task.id: _note(task, placed) for task in decisions if _is_idle(task, placed)}
    if not idle:
        return placed
    visits = tuple(v for v in placed.problem.visits if v.id not in idle)
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
    day = placed.stints[task.id].first
    begins = [
        placed.stints[other.id].first
        for other in placed.tasks.values()
        if other.plot_id == task.plot_id and other.type.visit == "release" and other.type.exposes
        if other.id in placed.stints
    ]
    return not any(first > day for first in begins) or any(
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
