"""Which days published visits are to keep, where a firm has agreed to others. Pure.

A firm gives the days it has, not those that were asked for. What is booked is paid for, so the
visit that it is booked for leaves its published days for it, as far as they are not the same;
and what waits for that visit leaves its own, as far as they come before.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

import numpy as np

from scheduler.roster import followers, with_followers
from scheduler.season.outlook import Outlook
from scheduler.terms import DaySpan, Season, spans_of
from scheduler.windows import TaskWindow


def day_to_keep(spans: Sequence[DaySpan], as_of: date) -> date | None:
    """The first published day that has not gone by; None where all have."""
    coming = [max(span.first, as_of) for span in spans if span.last >= as_of]
    return min(coming, default=None)


def numbers_of(spans: Iterable[DaySpan], season: Season) -> set[int]:
    """Numbers of the days of a season that lie in any of the spans."""
    return {day for span in spans for day in np.flatnonzero(season.mask(span)).tolist()}


def spans_on(days: Iterable[int], season: Season) -> tuple[DaySpan, ...]:
    """Day numbers as spans of civil days."""
    return spans_of(season, np.isin(np.arange(season.n_days), list(days)))


def days_to_keep(
    outlook: Outlook,
    windows: Mapping[str, TaskWindow],
    groups: Mapping[str, Sequence[str]],
    published: Mapping[str, Sequence[DaySpan]],
    pairs: Iterable[tuple[str, str]],
) -> dict[str, int]:
    """For each published visit the number of the day to keep.

    None where the grower has set the day, or where something is booked for later days: for the
    visit, or for one that it waits for. Windows and groups are of the tasks that are still to do;
    of a pair of visits the second waits for the first.
    """
    answer, elsewhere = {}, {}
    for visit_id, ids in groups.items():
        own = [windows[task_id] for task_id in ids]
        day = day_to_keep(published.get(visit_id, ()), outlook.as_of)
        if day is None or any(window.fixed_first is not None for window in own):
            continue
        booked = _booked_elsewhere(own, published[visit_id], outlook)
        if booked is None:
            answer[visit_id] = outlook.season.day_of(day)
        else:
            elsewhere[visit_id] = booked
    after = followers(pairs)
    for visit_id, booked in elsewhere.items():
        waiting = with_followers({visit_id}, after)
        answer = {v: day for v, day in answer.items() if v not in waiting or day >= booked}
    return answer


def _booked_elsewhere(
    windows: Sequence[TaskWindow], published: Sequence[DaySpan], outlook: Outlook
) -> int | None:
    """The first day, open to the visit, that something is booked for; None if any is published."""
    season = outlook.season
    kept, today = numbers_of(published, season), season.day_of(outlook.as_of)
    for hire in outlook.holding.crew.hire:
        for window in windows:
            if hire.id not in window.task.hired:
                continue
            booked = numbers_of(hire.booked_for(window.task.type.visit, season), season)
            coming = {day for day in booked if day >= today and window.open[day]}
            if coming and not coming & kept:
                return min(coming)
    return None
