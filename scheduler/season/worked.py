"""What a logged day means: the steps that the plan had for it, and how far they are. Pure."""

from collections.abc import Iterator
from datetime import date, timedelta

from scheduler.season.placed import Placed


def worked_until(placed: Placed, visit_id: str, day: date) -> Iterator[tuple[str, int, float]]:
    """The steps of a visit that the plan has begun by a day, in the order of work.

    What the log has of a step already counts: the plan speaks of the rest alone.

    Returns:
        For each its id, how much of it is done by then, 1 to 100 %, and the person-hours that
        are planned for that day and the days before it.
    """
    until = placed.season.day_of(day)
    for task_id in placed.groups.get(visit_id, ()):
        stint = placed.stints.get(task_id)
        if stint is None or stint.first > until:
            continue
        days = zip(stint.days, stint.hours, strict=True)
        worked_h = sum(hours for on, hours in days if on <= until)
        entry = placed.progress.get(task_id)
        before = entry.percent if entry else 0
        percent = round(before + (100 - before) * worked_h / sum(stint.hours))
        yield task_id, 100 if stint.last <= until else min(max(percent, 1), 99), worked_h


def visits_on(placed: Placed, day: date) -> tuple[str, ...]:
    """The visits with work on a day, or published for it."""
    number = placed.season.day_of(day)
    return tuple(
        visit_id
        for visit_id, ids in placed.groups.items()
        if any(day in span for span in placed.published.get(visit_id, ()))
        or any(t in placed.stints and number in placed.stints[t].days for t in ids)
    )


def planned_from(placed: Placed, visit_id: str, day: date) -> date:
    """The day as of which the plan speaks of what was done of a visit until a day.

    The first day that was published for it, or the day after the last one that is logged: what
    has not been logged since is planned as it was then.
    """
    spans, logged = placed.published.get(visit_id, ()), placed.logged_days(visit_id)
    first = min((span.first for span in spans), default=day)
    if logged:
        first = max(first, logged[-1] + timedelta(days=1))
    return min(first, day)
