"""What has to be done on a day beside the crew's work: calls to make, covers to put on."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from scheduler.frost import names_words, night_words
from scheduler.season.bookings import needs_of, spans_on, spans_words
from scheduler.season.placed import Placed
from scheduler.stand import left_to_utility

UTILITY = "the utility"
# how the ids of errands go on after the plot: the work log may speak of them
CALLS = ("book-", "call-", "protect-")


@dataclass(frozen=True, slots=True)
class Errand:
    """One errand.

    Args:
        id: ``holding.book-<what>-<visit>``, ``<plot>.call-utility`` or
            ``<plot>.protect-tender``.
        title: what to do.
        on: the last good day for it.
        needed: first day on which it is needed; None where it is simply due.
        tasks: ids of the tasks that need it.
        because: why, one sentence.
        late: whether its last good day has gone by.
        kind: a call, or stock to protect on the evening before a hard night.
    """

    id: str
    title: str
    on: date
    needed: date | None
    tasks: tuple[str, ...]
    because: str
    late: bool = False
    kind: Literal["call", "protect"] = "call"


def errands_of(placed: Placed) -> tuple[Errand, ...]:
    """Every errand of the season that is still to do, by day."""
    calls = [errand for errand in _utility_calls(placed) if errand.id not in placed.done]
    left = [*_bookings(placed), *calls, *_protections(placed)]
    return tuple(sorted(left, key=lambda errand: (errand.on, errand.id)))


def _protections(placed: Placed) -> Iterator[Errand]:
    """For each plot: the next evening on which tender stock wants covering.

    Logged as done it is done for the nights until then; the next hard night asks again.
    """
    for known in placed.outlook.plots.values():
        errand_id = f"{known.plot.id}.protect-tender"
        covered = placed.done.get(errand_id)
        nights = [n for n in known.hard_nights if covered is None or n.evening > covered.date]
        if nights:
            kinds = names_words([one for one, _ in nights[0].hurt], placed.holding)
            yield Errand(
                id=errand_id,
                title=f"Cover {kinds} in {known.plot.name}",
                on=nights[0].evening,
                needed=nights[0].night.day,
                tasks=(),
                because="; ".join(night_words(night, placed.holding) for night in nights),
                kind="protect",
            )


def _bookings(placed: Placed) -> Iterator[Errand]:
    """For each hire and visit: when the days that are not booked have to be, at the latest."""
    as_of = placed.outlook.as_of
    for need in needs_of(placed):
        if not need.to_book:
            continue
        hire = need.hire
        needed = placed.season.date_of(need.unbooked[0])
        on = needed - timedelta(days=hire.lead_days)
        beside = ""
        if hire.booked:
            days = spans_words(spans_on(set(need.unbooked), placed.season))
            beside = f" and is not booked for {days}"
        yield Errand(
            id=need.id,
            title=f"Book {hire.name}",
            on=max(on, as_of),
            needed=needed,
            tasks=tuple(need.to_book),
            because=f"{hire.name} wants {hire.lead_days} days of notice{beside}",
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
