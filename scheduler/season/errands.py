"""Calls that have to be made some days before the work that needs them."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.season.placed import Placed
from scheduler.stand import left_to_utility

UTILITY = "the utility"


@dataclass(frozen=True, slots=True)
class Errand:
    """One call.

    Args:
        id: ``holding.book-<what>-<visit>`` or ``<plot>.call-utility``.
        title: what to do.
        on: the last good day for it.
        needed: first day on which it is needed; None where it is simply due.
        tasks: ids of the tasks that need it.
        because: why, one sentence.
        late: whether its last good day has gone by.
    """

    id: str
    title: str
    on: date
    needed: date | None
    tasks: tuple[str, ...]
    because: str
    late: bool = False


def errands_of(placed: Placed) -> tuple[Errand, ...]:
    """Every call of the season that is not logged as done, by day."""
    found = (*_bookings(placed), *_utility_calls(placed))
    left = (errand for errand in found if errand.id not in placed.done)
    return tuple(sorted(left, key=lambda errand: (errand.on, errand.id)))


def _bookings(placed: Placed) -> Iterator[Errand]:
    """For each hire and visit: when it has to be booked at the latest."""
    as_of = placed.outlook.as_of
    for hire in placed.holding.crew.hire:
        by_visit: dict[str, list[str]] = {}
        for task_id in placed.stints:
            task = placed.tasks[task_id]
            if hire.id in task.hired:
                by_visit.setdefault(task.type.visit, []).append(task_id)
        for visit, task_ids in by_visit.items():
            needed = placed.season.date_of(min(placed.stints[t].first for t in task_ids))
            on = needed - timedelta(days=hire.lead_days)
            yield Errand(
                id=f"holding.book-{hire.id}-{visit}",
                title=f"Book {hire.name}",
                on=max(on, as_of),
                needed=needed,
                tasks=tuple(task_ids),
                because=f"{hire.name} wants {hire.lead_days} days of notice",
                late=on < as_of,
            )


def _utility_calls(placed: Placed) -> Iterator[Errand]:
    for plot in placed.holding.plots:
        words = left_to_utility(plot, placed.holding)
        if words is not None:
            yield Errand(
                id=f"{plot.id}.call-utility",
                title=f"Call {UTILITY} about {plot.name}",
                on=max(placed.outlook.as_of, placed.season.first),
                needed=None,
                tasks=(),
                because=words,
            )
