"""Which days published work is to keep, where a firm has agreed to others. Pure.

A firm gives the days it has, not those that were asked for. What is booked is paid for, so the
work that it is booked for leaves its published days for it, and the rest of its visit in that
plot moves along by as many days: else the work would stay where it was for the sake of what
follows it, and the firm would come for nothing.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

import numpy as np

from scheduler.holding import Hire
from scheduler.holding.fields import VISITS
from scheduler.season.outlook import Outlook
from scheduler.terms import DaySpan, Season
from scheduler.windows import Link, TaskWindow

Windows = Mapping[str, TaskWindow]  # by task id
Days = Mapping[str, int]  # by task id, a day number or a number of days


def day_to_keep(spans: Sequence[DaySpan], as_of: date) -> date | None:
    """The first published day that has not gone by; None where all have."""
    coming = [max(span.first, as_of) for span in spans if span.last >= as_of]
    return min(coming, default=None)


def numbers_of(spans: Iterable[DaySpan], season: Season) -> set[int]:
    """Numbers of the days of a season that lie in any of the spans."""
    return {day for span in spans for day in np.flatnonzero(season.mask(span)).tolist()}


def days_to_keep(
    outlook: Outlook,
    windows: Windows,
    links: Sequence[Link],
    published: Mapping[str, Sequence[DaySpan]],
) -> dict[str, int]:
    """For each published task the number of the day to keep; none where the grower set one.

    Args:
        outlook: sky, frost and files.
        windows: of the tasks that are still to do.
        links: the order of work.
        published: runs of days for which tasks were last published.
    """
    keeps = {
        task_id: outlook.season.day_of(day)
        for task_id, window in windows.items()
        if window.fixed_first is None
        and (day := day_to_keep(published.get(task_id, ()), outlook.as_of)) is not None
    }
    by: dict[str, int] = {}
    for hire in outlook.holding.crew.hire:
        by |= _moved_by(hire, outlook, windows, keeps, published)
    for task_id, days in list(by.items()):
        for beside in _rest_of_visit(task_id, windows, links):
            by.setdefault(beside, days)
    return {task_id: day + by.get(task_id, 0) for task_id, day in keeps.items()}


def _moved_by(
    hire: Hire,
    outlook: Outlook,
    windows: Windows,
    keeps: Days,
    published: Mapping[str, Sequence[DaySpan]],
) -> dict[str, int]:
    """By how many days work leaves its own day, for booked days that no such work has yet."""
    season, answer = outlook.season, dict[str, int]()
    today = season.day_of(outlook.as_of)
    for visit in VISITS:
        mine = [t for t in keeps if _wants(windows[t], hire, visit)]
        booked = {d for d in numbers_of(hire.booked_for(visit, season), season) if d >= today}
        free = booked - {d for t in mine for d in numbers_of(published[t], season)}
        for task_id in (t for t in mine if keeps[t] not in booked):
            window, keep = windows[task_id], keeps[task_id]
            days = {day for day in free if window.open[day]}
            begins = sorted(day for day in days if day - 1 not in days)
            if begins:
                answer[task_id] = min((day - keep for day in begins), key=abs)
    return answer


def _wants(window: TaskWindow, hire: Hire, visit: str) -> bool:
    return hire.id in window.task.hired and window.task.type.visit == visit


def _rest_of_visit(task_id: str, windows: Windows, links: Sequence[Link]) -> set[str]:
    """The work of the same visit that a task is tied to by the order of work, either way."""
    visit, reached, todo = windows[task_id].task.type.visit, {task_id}, [task_id]
    while todo:
        here = todo.pop()
        ends = {
            end for li in links if here in (li.before, li.after) for end in (li.before, li.after)
        }
        found = {t for t in ends - reached if t in windows and windows[t].task.type.visit == visit}
        reached |= found
        todo += sorted(found)
    return reached - {task_id}
