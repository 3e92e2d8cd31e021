"""The order of work: which task waits for which."""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduler.holding import RuleBook, TaskType
from scheduler.holding.tasktypes import After
from scheduler.stand import Task


@dataclass(frozen=True, slots=True)
class Link:
    """One task waits for another of the same plot.

    Args:
        before: id of the task that comes first.
        after: id of the task that waits.
        min_days: days between the end of the one and the start of the other; 0 allows the
            same day.
        within_days: at most so many days between; None if it does not matter.
        soft: whether the one that waits goes ahead where it would else have no day at all.
    """

    before: str
    after: str
    min_days: int
    within_days: int | None
    soft: bool = False


def links_between(
    tasks: Sequence[Task], rules: RuleBook, shut: Container[str] = ()
) -> tuple[Link, ...]:
    """The order of work among the tasks that there are.

    Where a task type is missing in a plot, those that waited for it wait for what it would
    have waited for, so that the order holds across the gap.

    Args:
        tasks: all that there are.
        rules: which of them waits for which.
        shut: ids of those without an open day, for which some need not wait.
    """
    there = {(task.plot_id, task.type.id): task for task in tasks}
    return tuple(
        Link(
            there[task.plot_id, after.task].id,
            task.id,
            after.min_days,
            after.within_days,
            after.if_open,
        )
        for task in tasks
        for after in _present(task.type, task.plot_id, there, rules)
        if not (after.if_open and there[task.plot_id, after.task].id in shut)
    )


def left_before(
    task_id: str, tasks: Sequence[Task], done: Container[str], rules: RuleBook
) -> tuple[Task, ...]:
    """What should have come right before a task and is not done.

    Args:
        task_id: the task, done or not.
        tasks: all that there are.
        done: ids of those that are.
        rules: which of them waits for which.
    """
    left = {task.id: task for task in tasks if task.id not in done or task.id == task_id}
    links = links_between(tuple(left.values()), rules)
    return tuple(left[link.before] for link in links if link.after == task_id)


def _present(
    kind: TaskType, plot_id: str, there: Mapping[tuple[str, str], Task], rules: RuleBook
) -> tuple[After, ...]:
    """What a task type waits for in this plot, looking through types that are missing."""
    found: dict[str, After] = {}
    for after in _look_back(kind, plot_id, there, rules, frozenset({kind.id})):
        found.setdefault(after.task, after)
    return tuple(found.values())


def _look_back(
    kind: TaskType,
    plot_id: str,
    there: Mapping[tuple[str, str], Task],
    rules: RuleBook,
    seen: frozenset[str],
) -> Iterator[After]:
    for after in kind.after:
        if (plot_id, after.task) in there:
            yield after
        elif after.task not in seen:
            missing = rules.tasks[after.task]
            for earlier in _look_back(missing, plot_id, there, rules, seen | {after.task}):
                # the tolerance is that of the task that waits: wood dries for so long
                yield After(
                    task=earlier.task,
                    min_days=max(after.min_days, earlier.min_days),
                    within_days=after.within_days,
                    if_open=after.if_open,
                )
