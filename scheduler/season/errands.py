"""What has to be done on a day beside the crew's work: calls to make, covers to put on.

What is hired has to be booked. A firm that has been called keeps the days it agreed to; they stand
in ``crew.toml``, because the work log says only that somebody called. Where it says so and no days
stand there, the days that are planned are told as the line to write.

Decided: bookings are placed so many days before the first need. Refused: bookings as work of the
solver. Held by tests/test_season.py::test_bookings_are_made_in_time_or_called_late.

Decided: a booked day is preferred, needs no notice, and is no aim of its own: what cannot be done
on it is a new booking. Refused: the published days for the booked ones, as a rule may have moved
them. Held by tests/season/test_bookings.py::test_a_booked_day_needs_no_notice.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from scheduler.files import fields
from scheduler.frost import names_words, night_words
from scheduler.holding import Hire
from scheduler.season.kept_days import numbers_of, spans_on
from scheduler.season.placed import Placed
from scheduler.stand import left_to_utility
from scheduler.terms import Level, Notice, days_words

# how the ids of errands go on after the plot: the work log may speak of them
CALLS = ("book-", "call-", "protect-")


@dataclass(frozen=True, slots=True)
class HireNeed:
    """One visit that needs something hired."""

    hire: Hire
    visit: fields.Visit
    # by task id, the planned days on which it is needed, by number
    days: dict[str, tuple[int, ...]]
    unbooked: tuple[int, ...]  # those of all its tasks for which it is not booked, sorted
    # whether the log says that it is booked, and crew.toml neither for which days of this visit
    # nor that it comes on all of its days anyway
    untold: bool

    @property
    def id(self) -> str:
        """The id of the errand to book it."""
        return self.hire.booking_of(self.visit)


def needs_of(placed: Placed) -> Iterator[HireNeed]:
    """Every hire and visit of the plan, in the order of crew.toml and of the first day."""
    for hire in placed.holding.crew.hire:
        by_visit: dict[fields.Visit, dict[str, tuple[int, ...]]] = {}
        for task_id, stint in placed.stints.items():
            task = placed.tasks[task_id]
            if hire.id in task.hired:
                by_visit.setdefault(task.type.visit, {})[task_id] = stint.days
        booked = _booked_days(hire, placed)
        for visit, days in by_visit.items():
            unbooked = tuple(sorted({day for worked in days.values() for day in worked} - booked))
            logged = hire.booking_of(visit) in placed.done
            untold = logged and not hire.booked_for(visit, placed.season) and bool(unbooked)
            yield HireNeed(hire, visit, days, unbooked, untold)


def _booked_days(hire: Hire, placed: Placed) -> set[int]:
    """Numbers of the days of the season for which it is booked."""
    return numbers_of((booked.span for booked in hire.booked), placed.season)


def booked_line(hire: Hire, placed: Placed, *visits: str) -> str:
    """The whole line for crew.toml: what stands there, and the planned days not yet in it.

    They are those of the visits just booked, and of others that the log tells without days.
    """
    days: list[tuple[date, date, str | None]] = [
        (booked.first, booked.last, booked.visit) for booked in hire.booked
    ]
    for need in needs_of(placed):
        if need.hire is hire and (need.untold or need.visit in visits):
            spans = spans_on(need.unbooked, placed.season)
            days += [(span.first, span.last, need.visit) for span in spans]
    days.sort(key=lambda entry: entry[:2])
    entries = [
        f"{{ first = {first}, last = {last}" + (f', visit = "{visit}" }}' if visit else " }")
        for first, last, visit in days
    ]
    return f"booked = [{', '.join(entries)}]"


def logged_words(task_id: str, placed: Placed) -> str:
    """What to write once a booking is logged, which the season knows; or that nothing is."""
    need = next((need for need in needs_of(placed) if need.id == task_id), None)
    if need is None:
        return "Nothing that is still planned needs it; there are no days to write down."
    if not need.unbooked:
        return "The days that the plan needs are among those booked in crew.toml."
    return (
        f"Planned for {days_words(placed.season, need.unbooked)}. So that these days stay, write "
        f'into crew.toml under [[hire]] id = "{need.hire.id}" (or the days that were agreed, if '
        f"others):\n{booked_line(need.hire, placed, need.visit)}"
    )


def booking_notices(placed: Placed) -> Iterator[Notice]:
    """Bookings whose days nobody has told, and booked days that nothing needs."""
    for hire in placed.holding.crew.hire:
        untold = [need.id for need in needs_of(placed) if need.hire is hire and need.untold]
        if untold:
            says = (
                f"{hire.name} is booked by the work log ({' and '.join(untold)}), but crew.toml "
                "does not say for which days, so another plan may move them. If it is for the "
                f'days planned now, write under [[hire]] id = "{hire.id}": '
                f"{booked_line(hire, placed)}"
            )
            yield Notice("booking-without-days", Level.WARNING, untold[0], says)
        idle = _idle_days(hire, placed)
        if idle:
            cost = hire.cost_day * hire.count * len(idle)
            paid = f" ({cost:g} in all)" if cost else ""
            says = (
                f"{hire.name} is booked for {days_words(placed.season, idle)}, but no work of "
                f"the plan needs it then: call it off, or it is paid for nothing{paid}."
            )
            yield Notice("booked-unused", Level.WARNING, "crew.toml", says)


def _idle_days(hire: Hire, placed: Placed) -> list[int]:
    """Booked days from today on that neither the plan nor the log has work for, ascending."""
    today = placed.season.day_of(placed.outlook.as_of)
    planned = {day for use in placed.roster.hires if use.kit_id == hire.id for day in use.days}
    logged = {
        placed.season.day_of(entry.date)
        for entry in placed.holding.log
        if (task := placed.tasks.get(entry.task)) is not None and hire.id in task.hired
    }
    idle = _booked_days(hire, placed) - planned - logged
    return sorted(day for day in idle if day >= today)


@dataclass(frozen=True, slots=True)
class Errand:
    """One errand."""

    # ``holding.book-<what>-<visit>``, ``<plot>.call-utility`` or ``<plot>.protect-tender``
    id: str
    title: str
    on: date  # the last good day for it; ``late`` where it has gone by
    needed: date | None  # first day on which it is needed; None where it is simply due
    tasks: tuple[str, ...]  # ids of the tasks that need it
    because: str  # why, one sentence
    late: bool = False
    # a call, or stock to protect on the evening before a hard night
    kind: Literal["call", "protect"] = "call"


def errands_of(placed: Placed) -> tuple[Errand, ...]:
    """Every errand of the season that is still to do, by day."""
    errands = (*_bookings(placed), *_utility_calls(placed), *_protections(placed))
    return tuple(sorted(errands, key=lambda errand: (errand.on, errand.id)))


def _protections(placed: Placed) -> Iterator[Errand]:
    """For each plot: the next evening on which tender stock wants covering.

    Logged as done it is done for the nights until then; the next hard night asks again.
    """
    for frost in placed.outlook.plots.values():
        errand_id = f"{frost.plot.id}.protect-tender"
        covered = placed.done.get(errand_id)
        nights = [
            n for n in frost.hard_nights if covered is None or n.night.evening > covered.date
        ]
        if nights:
            kinds = names_words([kind for kind, _ in nights[0].hurt], placed.holding)
            yield Errand(
                id=errand_id,
                title=f"Cover {kinds} in {frost.plot.name}",
                on=nights[0].night.evening,
                needed=nights[0].night.day,
                tasks=(),
                because="; ".join(night_words(night, placed.holding) for night in nights),
                kind="protect",
            )


def _bookings(placed: Placed) -> Iterator[Errand]:
    """For each hire and visit: when the days that are not booked have to be, at the latest."""
    as_of = placed.outlook.as_of
    for need in needs_of(placed):
        if need.untold or not need.unbooked:
            continue
        hire, needed = need.hire, placed.season.date_of(need.unbooked[0])
        on = needed - timedelta(days=hire.lead_days)
        days = days_words(placed.season, need.unbooked)
        beside = f" and is not booked for {days}" if hire.booked else ""
        yield Errand(
            id=need.id,
            title=f"Book {hire.name}",
            on=max(on, as_of),
            needed=needed,
            tasks=tuple(t for t, days in need.days.items() if {*days} & {*need.unbooked}),
            because=f"{hire.name} wants {hire.lead_days} days of notice{beside}",
            late=on < as_of,
        )


def _utility_calls(placed: Placed) -> Iterator[Errand]:
    for plot in placed.holding.plots:
        words, errand_id = left_to_utility(plot, placed.holding), f"{plot.id}.call-utility"
        if words is not None and errand_id not in placed.done:
            yield Errand(
                id=errand_id,
                title=f"Call the utility about {plot.name}",
                on=max(placed.outlook.as_of, placed.season.first),
                needed=None,
                tasks=(),
                because=words,
            )
