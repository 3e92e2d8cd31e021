"""Work that has no day in its visit, and what takes its place."""

from collections.abc import Container, Mapping, Sequence

import numpy as np

from scheduler.stand import Task
from scheduler.terms import Level, Notice
from scheduler.windows.task_windows import TaskWindow


def in_place_of(
    tasks: Sequence[Task], windows: Mapping[str, TaskWindow], begun: Container[str]
) -> dict[str, Notice]:
    """What is not due: work without a day in its visit, or else what would take its place.

    A step has a day in its visit where it is open within ``NEAR`` days after some day on which
    all other steps are open that the log has not begun: their days lie behind. Returns a note
    about the plot for each, by task id.
    """
    found: dict[str, Notice] = {}
    by_type: dict[tuple[str, str | None], Task] = {(t.plot_id, t.type.id): t for t in tasks}
    for task in tasks:
        other = by_type.get((task.plot_id, task.type.or_else))
        if other is None:
            continue
        if _has_day(task, [t for t in tasks if t.id not in begun], windows):
            found[other.id] = _note(other, "what it would plant is planted in the release visit")
        else:
            closing = windows[task.id].rulings
            why = next((r.words for r in closing if r.rule_id == "ahead-of-dry"), "no day is open")
            found[task.id] = _note(task, f"{why}; {other.title!r} takes its place")
            for waits in tasks:
                if waits.plot_id == task.plot_id and waits.type.with_task == task.type.id:
                    found[waits.id] = _note(waits, f"{task.title!r} is not done in this visit")
    return found


NEAR = 9  # days from the first cut of a visit to its last planting


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
