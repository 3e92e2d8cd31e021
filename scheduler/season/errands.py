"""What has to be done on a day beside the crew's work: calls to make, covers to put on.

Decided: bookings are placed so many days before the first need. Refused: bookings as work of the
solver. Held by tests/test_season.py::test_bookings_are_made_in_time_or_called_late.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from scheduler.frost import names_words, night_words
from scheduler.season.bookings import needs_of
from scheduler.season.placed import Placed
from scheduler.stand import left_to_utility
from scheduler.terms import days_words

# how the ids of errands go on after the plot: the work log may speak of them
CALLS = ("book-", "call-", "protect-")


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
