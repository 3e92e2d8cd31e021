"""The sky as events: phases and season marks."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from scheduler.calendars.ics import Event
from scheduler.season import Placed
from scheduler.sky import SkyEvent
from scheduler.terms import day_words
from scheduler.words import phrases

PHASES = ("new_moon", "first_quarter", "full_moon", "last_quarter")
_FIRST_LUNATION = datetime(2000, 1, 6, 18, 14, tzinfo=UTC)
_SYNODIC_MONTH = timedelta(days=29.530588853)


def sky_events(plan: Placed) -> Iterator[Event]:
    """Phases and season marks by day."""
    for event in plan.outlook.sky.events:
        is_phase = event.event in PHASES
        day, title = event.local.date(), phrases.EVENT_WORDS[event.event]
        tag = f" {phrases.MOON_CAUTION}" if is_phase else ""
        clock = f"{event.local:%H:%M} in {plan.holding.site.zone}"
        yield Event(
            key=f"sky/{event.event}/{_lunation(event) if is_phase else day.year}",
            title=title,
            first=day,
            last=day,
            description=f"{title} on {day_words(day)} at {clock}.{tag}",
            categories=("moon" if is_phase else "season",),
            color="silver" if is_phase else "goldenrod",
        )


def _lunation(event: SkyEvent) -> int:
    """Which lunation a phase belongs to, counted from January 2000: its name for ever.

    The mean synodic month is good enough to count by: a phase strays from it by hours.
    """
    return round((event.utc - _FIRST_LUNATION) / _SYNODIC_MONTH - PHASES.index(event.event) / 4)
