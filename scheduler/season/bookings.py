"""What is hired, on which days, and whether these days are booked. Pure.

A firm that has been called keeps the days it agreed to; they stand in ``crew.toml``, because the
work log says only that somebody called. Where it says so and no days stand there, the days that
are planned are told as the line to write.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from scheduler.files import fields
from scheduler.holding import Hire
from scheduler.season.kept_days import numbers_of
from scheduler.season.placed import Placed
from scheduler.terms import DaySpan, Level, Notice, Season, day_words, spans_of


@dataclass(frozen=True, slots=True)
class HireNeed:
    """One visit that needs something hired.

    Args:
        hire: what is hired.
        visit: the visit.
        days: by task id, the planned days on which it is needed, by number.
        unbooked: those of all its tasks for which it is not booked, sorted.
        untold: whether the log says that it is booked, and crew.toml neither for which days of
            this visit nor that it comes on all of its days anyway.
    """

    hire: Hire
    visit: fields.Visit
    days: dict[str, tuple[int, ...]]
    unbooked: tuple[int, ...]
    untold: bool

    @property
    def id(self) -> str:
        """The id of the errand to book it."""
        return self.hire.booking_of(self.visit)

    @property
    def to_book(self) -> dict[str, tuple[int, ...]]:
        """The tasks with days that are not booked."""
        open_days = set() if self.untold else set(self.unbooked)
        return {task_id: days for task_id, days in self.days.items() if open_days & {*days}}


def needs_of(placed: Placed) -> tuple[HireNeed, ...]:
    """Every hire and visit of the plan, in the order of crew.toml and of the first day."""
    return tuple(need for hire in placed.holding.crew.hire for need in _needs(hire, placed))


def _needs(hire: Hire, placed: Placed) -> Iterator[HireNeed]:
    by_visit: dict[fields.Visit, dict[str, tuple[int, ...]]] = {}
    for task_id, stint in placed.stints.items():
        task = placed.tasks[task_id]
        if hire.id in task.hired:
            by_visit.setdefault(task.type.visit, {})[task_id] = stint.days
    booked = _booked_days(hire, placed.season)
    for visit, days in by_visit.items():
        wanted = {day for of_task in days.values() for day in of_task}
        unbooked = tuple(sorted(wanted - booked))
        logged = hire.booking_of(visit) in placed.done
        untold = logged and not hire.booked_for(visit, placed.season) and bool(unbooked)
        yield HireNeed(hire, visit, days, unbooked, untold)


def _booked_days(hire: Hire, season: Season) -> set[int]:
    """Numbers of the days of the season for which it is booked."""
    return numbers_of((one.span for one in hire.booked), season)


def spans_words(spans: tuple[DaySpan, ...]) -> str:
    """Spans of days in words: ``3 May 2027 to 4 May 2027, 6 May 2027``."""
    return ", ".join(
        day_words(one.first)
        if one.n_days == 1
        else f"{day_words(one.first)} to {day_words(one.last)}"
        for one in spans
    )


def spans_on(days: set[int], season: Season) -> tuple[DaySpan, ...]:
    """Day numbers as spans of civil days."""
    mask = np.zeros(season.n_days, dtype=bool)
    mask[sorted(days)] = True
    return spans_of(season, mask)


def booked_line(hire: Hire, placed: Placed, *visits: str) -> str:
    """The whole line for crew.toml: what stands there, and the planned days not yet in it.

    Args:
        hire: what is hired.
        placed: the season.
        visits: those just booked; others that the log tells without days are taken in too.
    """
    told: list[tuple[date, date, str | None]] = [
        (one.first, one.last, one.visit) for one in hire.booked
    ]
    for need in needs_of(placed):
        if need.hire is hire and (need.untold or need.visit in visits):
            spans = spans_on(set(need.unbooked), placed.season)
            told += [(span.first, span.last, need.visit) for span in spans]
    entries = [
        f"first = {first}, last = {last}" + (f', visit = "{visit}"' if visit else "")
        for first, last, visit in sorted(told, key=lambda one: one[:2])
    ]
    return f"booked = [{', '.join(f'{{ {entry} }}' for entry in entries)}]"


def logged_words(task_id: str, placed: Placed) -> str:
    """What to write once a booking is logged; says so where there is nothing to write.

    Args:
        task_id: the errand, as it stands in the log.
        placed: the season, planned with that entry in the log.
    """
    need = next((need for need in needs_of(placed) if need.id == task_id), None)
    if need is None:
        return "Nothing that is still planned needs it; there are no days to write down."
    if not need.unbooked:
        return "The days that the plan needs are among those booked in crew.toml."
    days = spans_words(spans_on(set(need.unbooked), placed.season))
    return (
        f"Planned for {days}. So that these days stay, write into crew.toml under "
        f'[[hire]] id = "{need.hire.id}" (or the days that were agreed, if others):\n'
        f"{booked_line(need.hire, placed, need.visit)}"
    )


def booking_notices(placed: Placed) -> Iterator[Notice]:
    """Bookings whose days nobody has told, and booked days that nothing needs."""
    for hire in placed.holding.crew.hire:
        untold = [need for need in needs_of(placed) if need.hire is hire and need.untold]
        if untold:
            ids = " and ".join(need.id for need in untold)
            says = (
                f"{hire.name} is booked by the work log ({ids}), but crew.toml does not say for "
                "which days, so another plan may move them. If it is for the days planned now, "
                f'write under [[hire]] id = "{hire.id}": {booked_line(hire, placed)}'
            )
            yield Notice("booking-without-days", Level.WARNING, untold[0].id, says)
        idle = _idle_days(hire, placed)
        if idle:
            yield Notice(
                "booked-unused", Level.WARNING, "crew.toml", _idle_words(hire, idle, placed)
            )


def _idle_days(hire: Hire, placed: Placed) -> set[int]:
    """Booked days from today on that neither the plan nor the log has work for."""
    today = placed.season.day_of(placed.outlook.as_of)
    planned = {day for use in placed.roster.hires if use.kit_id == hire.id for day in use.days}
    logged = {
        placed.season.day_of(entry.date)
        for entry in placed.holding.log
        if (task := placed.tasks.get(entry.task)) is not None and hire.id in task.hired
    }
    booked = _booked_days(hire, placed.season)
    return {day for day in booked - planned - logged if day >= today}


def _idle_words(hire: Hire, idle: set[int], placed: Placed) -> str:
    cost = hire.cost_day * hire.count * len(idle)
    paid = f" ({cost:g} in all)" if cost else ""
    return (
        f"{hire.name} is booked for {spans_words(spans_on(idle, placed.season))}, but no work of "
        f"the plan needs it then: call it off, or it is paid for nothing{paid}."
    )
