"""The sky as events: phases and season marks."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from scheduler.calendars.ics import Event
from scheduler.season import Placed
from scheduler.sky import SkyEvent
from scheduler.terms import day_words
from scheduler.words import phrases

SHOWN = (
    "new_moon",
    "first_quarter",
    "full_moon",
    "last_quarter",
    "march_equinox",
    "june_solstice",
    "september_equinox",
    "december_solstice",
)
_FIRST_LUNATION = datetime(2000, 1, 6, 18, 14, tzinfo=UTC)
_SYNODIC_MONTH = timedelta(days=29.530588853)


def sky_events(plan: Placed) -> Iterator[Event]:
    """Phases and season marks by day."""
    for event in plan.outlook.sky.events:
        if event.event in SHOWN:
            yield _sky_event(event, plan.holding.site.zone)


def _sky_event(event: SkyEvent, zone: str) -> Event:
    day, title = event.local.date(), phrases.EVENT_WORDS[event.event]
    moon = event.event in SHOWN[:4]
    tag = f" Timing work by the moon is a {phrases.MOON_TAG}." if moon else ""
    clock = f"{event.local:%H:%M} in {zone}"
    return Event(
        key=f"sky/{event.event}/{_round_of(event) if moon else day.year}",
        title=title,
        first=day,
        last=day,
        description=f"{title} on {day_words(day)} at {clock}.{tag}",
        categories=("moon" if moon else "season",),
        color="silver" if moon else "goldenrod",
    )


def _round_of(event: SkyEvent) -> int:
    """Which lunation a phase belongs to, counted from January 2000: its name for ever.

    The mean synodic month is good enough to count by: a phase strays from it by hours.
    """
    return round((event.utc - _FIRST_LUNATION) / _SYNODIC_MONTH - SHOWN.index(event.event) / 4)
