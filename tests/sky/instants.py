"""Names, spans and instants that the tests of the sky share."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.sky import SkyEvent, sky_of
from scheduler.sky.daylight import LightLimit
from scheduler.sky.ephemeris import nodes_of
from scheduler.sky.events import EventName, events_of
from scheduler.terms import Place, Season

PHASES = (EventName.NEW_MOON, EventName.FIRST_QUARTER, EventName.FULL_MOON, EventName.LAST_QUARTER)
SEASONS = (
    EventName.MARCH_EQUINOX,
    EventName.JUNE_SOLSTICE,
    EventName.SEPTEMBER_EQUINOX,
    EventName.DECEMBER_SOLSTICE,
)


def utc(year: int, month: int = 1, day: int = 1, hour: int = 0, minute: int = 0) -> datetime:
    return datetime(year, month, day, hour, minute, tzinfo=UTC)


def events_between(first_utc: datetime, last_utc: datetime) -> list[SkyEvent]:
    """Events from the first instant to just before the last, by the dates of UTC."""
    season = Season.between(first_utc.date(), (last_utc - timedelta(microseconds=1)).date())
    day = timedelta(days=1)
    events = events_of(nodes_of(season.first - day, season.last + day), season, UTC)
    return [event for event in events if first_utc <= event.utc < last_utc]


def of_years(first: int, last: int, names: tuple[EventName, ...]) -> list[SkyEvent]:
    end = utc(last + 1) if last < 2053 else utc(2053, 10, 1)
    return [event for event in events_between(utc(first), end) if event.event in names]


def rise_set(
    lat_deg: float, lon_deg: float, first: date, n_days: int
) -> dict[tuple[LightLimit, bool], NDArray[np.float64]]:
    """POSIX seconds at which bodies pass a limit, up (True) or down, over some UTC days."""
    sky = sky_of(Place(lat_deg, lon_deg, "Etc/UTC"), Season(first, n_days))
    lists = {
        (LightLimit.SUN_RIM, True): sky.sun.rises,
        (LightLimit.SUN_RIM, False): sky.sun.sets,
        (LightLimit.GROUND_LIGHT, True): sky.ground_light.rises,
        (LightLimit.GROUND_LIGHT, False): sky.ground_light.sets,
        (LightLimit.CIVIL_LIGHT, True): sky.civil_light.rises,
        (LightLimit.CIVIL_LIGHT, False): sky.civil_light.sets,
        (LightLimit.MOON_RIM, True): sky.moon.rises,
        (LightLimit.MOON_RIM, False): sky.moon.sets,
    }
    return {
        kind: np.array([when.timestamp() for day in days for when in day])
        for kind, days in lists.items()
    }


def of_limits(
    found: dict[tuple[LightLimit, bool], NDArray[np.float64]], *limits: LightLimit
) -> list[tuple[float, LightLimit, bool]]:
    """The passages of some limits in order of time: POSIX seconds, limit, rising."""
    return sorted(
        (instant_s, limit, rising)
        for (limit, rising), instants_s in found.items()
        if limit in limits
        for instant_s in instants_s.tolist()
    )
