"""What the work log says of the plan in force."""

from collections.abc import Mapping, Sequence
from datetime import date

from scheduler.holding import Holding, LogEntry


def entries_of(holding: Holding) -> dict[str, list[LogEntry]]:
    """The entries of the plan in force, by task id, in the order of the log."""
    answer: dict[str, list[LogEntry]] = {}
    for entry in holding.log:
        if entry.plan == holding.plan.id:
            answer.setdefault(entry.task, []).append(entry)
    return answer


def progress_of(holding: Holding) -> dict[str, LogEntry]:
    """The last entry of each task of the plan in force, by id."""
    return {task_id: entries[-1] for task_id, entries in entries_of(holding).items()}


def finished(progress: Mapping[str, LogEntry]) -> dict[str, LogEntry]:
    """The entries of what is wholly done."""
    return {task_id: entry for task_id, entry in progress.items() if entry.percent == 100}


def finished_before(holding: Holding) -> dict[str, date]:
    """The day on which work of other plans was finished before the one in force, by task id."""
    first, plan_id = holding.plan.season.first, holding.plan.id
    earlier = [entry for entry in holding.log if entry.plan != plan_id and entry.date < first]
    last = {(entry.plan, entry.task): entry for entry in earlier}  # a later row takes one back
    days: dict[str, date] = {}
    for entry in last.values():
        if entry.percent == 100:
            days[entry.task] = max(entry.date, days.get(entry.task, entry.date))
    return days


def logged_days(
    ids: Sequence[str], log: Mapping[str, Sequence[LogEntry]], as_of: date
) -> tuple[date, ...]:
    """Days up to today on which some tasks were worked on, ascending."""
    days = {entry.date for task_id in ids for entry in log.get(task_id, ())}
    return tuple(sorted(day for day in days if day <= as_of))
