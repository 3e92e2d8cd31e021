"""What a reader should know about the figures: where they rest on a forecast or a hair.

Two doubts are worth a word. Rise and set follow the turning Earth, which is
measured only up to the present; ten seconds of error in its forecast are ten
seconds in a sunrise. And an event within a minute of midnight may stand on the
neighbouring date in another table, because tables differ by their rounding and
by the forecast they were made with.
"""

from collections.abc import Iterable
from datetime import date, timedelta

from scheduler.sky.events import SkyEvent
from scheduler.terms import Level, Notice

FORECAST_FROM = date(2036, 1, 1)
_MINUTE = timedelta(minutes=1)


def doubts_about(events: Iterable[SkyEvent], last: date) -> tuple[Notice, ...]:
    """Notices about the events of a season and about its days, the last being ``last``."""
    forecast = (_FORECAST,) if last >= FORECAST_FROM else ()
    return (*forecast, *(_on_the_edge(event) for event in events if _is_on_the_edge(event)))


_FORECAST = Notice(
    "sky-forecast",
    Level.NOTE,
    "rise and set",
    f"Rise and set from {FORECAST_FROM.year} on rest on a forecast of the Earth's turning "
    "and may be some seconds off.",
)


def _is_on_the_edge(event: SkyEvent) -> bool:
    """Whether the local date is another one a minute earlier or later."""
    zone = event.local.tzinfo
    around = ((event.utc + shift).astimezone(zone).date() for shift in (-_MINUTE, _MINUTE))
    return any(day != event.local.date() for day in around)


def _on_the_edge(event: SkyEvent) -> Notice:
    """The notice for an event within a minute of another date."""
    return Notice(
        "sky-date-edge",
        Level.NOTE,
        event.event.value,
        f"This event falls at {event.local:%H:%M:%S} on {event.local:%Y-%m-%d}, within a minute "
        "of another date; other tables may print that one.",
    )
