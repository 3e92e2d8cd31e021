"""Which days published visits are to keep, where a firm has agreed to others. Pure.

A firm gives the days it has, not those that were asked for. What is booked is paid for, so the
visit that it is booked for leaves its published days for it, as far as they are not the same.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

import numpy as np

from scheduler.season.outlook import Outlook
from scheduler.terms import DaySpan, Season
from scheduler.windows import TaskWindow


def day_to_keep(spans: Sequence[DaySpan], as_of: date) -> date | None:
    """The first published day that has not gone by; None where all have."""
    coming = [max(span.first, as_of) for span in spans if span.last >= as_of]
    return min(coming, default=None)


def numbers_of(spans: Iterable[DaySpan], season: Season) -> set[int]:
    """Numbers of the days of a season that lie in any of the spans."""
    return {day for span in spans for day in np.flatnonzero(season.mask(span)).tolist()}


def days_to_keep(
    outlook: Outlook,
    windows: Mapping[str, TaskWindow],
    groups: Mapping[str, Sequence[str]],
    published: Mapping[str, Sequence[DaySpan]],
) -> dict[str, int]:
    """For each published visit the number of the day to keep.

    None where the grower has set the day, or where something is booked for other days.

    Args:
        outlook: sky, frost and files.
        windows: of the tasks that are still to do.
        groups: ids of these tasks by visit.
        published: runs of days for which visits were last published.
    """
    answer = {}
    for visit_id, ids in groups.items():
        day = day_to_keep(published.get(visit_id, ()), outlook.as_of)
        own = any(windows[task_id].fixed_first is not None for task_id in ids)
        if (
            day is not None
            and not own
            and not _booked_elsewhere(
                [windows[task_id] for task_id in ids], published[visit_id], outlook
            )
        ):
            answer[visit_id] = outlook.season.day_of(day)
    return answer


def _booked_elsewhere(
    windows: Sequence[TaskWindow], published: Sequence[DaySpan], outlook: Outlook
) -> bool:
    """Whether something is booked for days that are open to the visit, and none is published."""
    season = outlook.season
    there, today = numbers_of(published, season), season.day_of(outlook.as_of)
    for hire in outlook.holding.crew.hire:
        for window in windows:
            if hire.id not in window.task.hired:
                continue
            booked = numbers_of(hire.booked_for(window.task.type.visit, season), season)
            coming = {day for day in booked if day >= today and window.open[day]}
            if coming and not coming & there:
                return True
    return False
