"""``worklog.csv``: what was done, when, and how long it took."""

from collections.abc import Iterable
from typing import Annotated

from annotated_types import Ge, Le
from pydantic import Strict

from scheduler.holding.fields import Amount, Day, Slug, Told, table


@table
class LogEntry:
    """One row of ``worklog.csv``.

    Args:
        date: civil day on which the work was done.
        plan: id of the plan the task belongs to.
        task: id of the task.
        percent: how much of the task is done after this day, 1 to 100.
        hours: person-hours worked that day, if they were counted.
        note: what is worth remembering.
        book_h: what the rule book gave for the whole task on that day, person-hours; written
            by `scheduler done`, so that later jobs are not measured against other stock.
        hours_left: person-hours still to do, where the grower says so; else they follow from
            ``percent`` and the hours worked so far.
    """

    date: Day
    plan: Slug
    task: Told
    percent: Annotated[int, Strict(), Ge(1), Le(100)] = 100
    hours: Amount | None = None
    note: str = ""
    book_h: Amount | None = None
    hours_left: Amount | None = None


def hours_to_do(entries: Iterable[LogEntry], usual_h: float) -> float:
    """Person-hours that a task still takes, from its entries in the order of the log.

    Where all hours were counted, the pace so far weighs as much as the share that is done,
    and the estimate as much as the share that is not: at 10 % a slow morning says little, at
    90 % it says nearly all.

    Args:
        entries: those of one task in one plan.
        usual_h: the estimate for the whole task.

    >>> from datetime import date
    >>> half = LogEntry(date=date(2027, 5, 3), plan="2027", task="low.cut", percent=50, hours=8)
    >>> hours_to_do([], 10.0), hours_to_do([half], 10.0), hours_to_do([half], 16.0)
    (10.0, 6.5, 8.0)
    """
    told = list(entries)
    if not told or (last := told[-1]).percent == 100:
        return 0.0 if told else usual_h
    if last.hours_left is not None:
        return last.hours_left
    done = last.percent / 100
    hours = [entry.hours for entry in told if entry.hours is not None]
    whole_h = usual_h
    if len(hours) == len(told) and sum(hours) > 0:
        whole_h = (1 - done) * usual_h + done * (sum(hours) / done)
    return (1 - done) * whole_h


def percent_done(hours_left: float, usual_h: float) -> int:
    """How much of a task is done where so many person-hours are left; 100 only where none are.

    >>> percent_done(0.0, 12.0), percent_done(3.0, 12.0), percent_done(20.0, 12.0)
    (100, 75, 1)
    """
    if hours_left == 0:
        return 100
    share = 1 - hours_left / usual_h if usual_h > 0 else 0.0
    return min(99, max(1, round(100 * share)))
