"""Names and spans that the tests of events share."""

from datetime import UTC, datetime

from scheduler.sky import EventName, SkyEvent, events_between

PHASES = (
    EventName.NEW_MOON,
    EventName.FIRST_QUARTER,
    EventName.FULL_MOON,
    EventName.LAST_QUARTER,
)
SEASONS = (
    EventName.MARCH_EQUINOX,
    EventName.JUNE_SOLSTICE,
    EventName.SEPTEMBER_EQUINOX,
    EventName.DECEMBER_SOLSTICE,
)


def utc(year: int, month: int = 1, day: int = 1, hour: int = 0, minute: int = 0) -> datetime:
    return datetime(year, month, day, hour, minute, tzinfo=UTC)


def of_years(first: int, last: int, names: tuple[EventName, ...]) -> list[SkyEvent]:
    end = utc(last + 1) if last < 2053 else utc(2053, 10, 1)
    return [event for event in events_between(utc(first), end) if event.event in names]
