"""``worklog.csv``: what was done, when, and how long it took."""

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
    """

    date: Day
    plan: Slug
    task: Told
    percent: Annotated[int, Strict(), Ge(1), Le(100)] = 100
    hours: Amount | None = None
    note: str = ""
    book_h: Amount | None = None
