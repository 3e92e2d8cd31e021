"""Everything a grower's year needs from Sun and Moon, for one site and one run of civil days.

The search runs over continuous time and its finds are put into days afterwards, each by the
local date of its own instant, so that none is lost or doubled at a day's edge.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from scheduler.sky import clock
from scheduler.sky.civil import CivilDays, Times
from scheduler.sky.course import BodyState, Course
from scheduler.sky.curves import Bools, Floats
from scheduler.sky.daylight import passages
from scheduler.sky.ephemeris import NODES_PER_DAY, check_days, nodes_of, positions
from scheduler.sky.events import SkyEvent, events_of
from scheduler.sky.ground import Site
from scheduler.sky.longitudes import look_at, winter_months
from scheduler.terms import Level, Notice, Place, Season, frozen

FORECAST_FROM = date(2036, 1, 1)


@dataclass(frozen=True, eq=False)
class Sky:
    """Sun and Moon at one site; arrays have shape (n_days,) and are read-only.

    Lists of times hold one tuple a day, of none to two aware local datetimes (in the
    rarest case more): at high latitudes a body may rise twice on a day or not at all, and
    the Moon skips a rise and a set every month everywhere. A date that the clocks skip has
    no hours and no times; its noon is that of the clocks before the skip.

    Args:
        events: the instants common to all sites whose local date lies in the season.
        day_length_h: hours with the Sun above the skyline within the civil day.
        ground_light_h: hours with the Sun above -3 degrees: light for work on the ground.
        lit_fraction: lit part of the Moon's disc at local noon, 0 to 1.
        elongation_deg: Moon's ecliptic longitude less the Sun's at local noon, 0 to 360.
        waxing: whether the elongation is under 180 degrees.
        winter_months: the season clock at local noon, 0 to 12.
        sunrise: upper rim of the Sun comes over the skyline; ``sunset``: it goes below.
        ground_dawn: the Sun's centre comes above -3 degrees; ``ground_dusk``: it goes below.
        civil_dawn: the same at -6 degrees, light to walk and water by; ``civil_dusk``.
        moonrise: upper rim of the Moon comes over the flat horizon; ``moonset``: it goes below.
        sun_state: of each day, against the skyline.
        moon_state: of each day, against the flat horizon.
    """

    place: Place
    season: Season
    events: tuple[SkyEvent, ...]
    day_length_h: Floats
    ground_light_h: Floats
    lit_fraction: Floats
    elongation_deg: Floats
    waxing: Bools
    winter_months: Floats
    sunrise: Times
    sunset: Times
    ground_dawn: Times
    ground_dusk: Times
    civil_dawn: Times
    civil_dusk: Times
    moonrise: Times
    moonset: Times
    sun_state: tuple[BodyState, ...]
    moon_state: tuple[BodyState, ...]

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What the figures rest on where that is a forecast or a hair's breadth."""
        return tuple(_doubts(self))


def _doubts(sky: Sky) -> Iterator[Notice]:
    """Rise and set follow the measured Earth; other tables round, or foretell, otherwise."""
    if sky.season.last >= FORECAST_FROM:
        says = (
            f"Rise and set from {FORECAST_FROM.year} on rest on a forecast of the Earth's turning "
            "and may be some seconds off."
        )
        yield Notice("sky-forecast", Level.NOTE, "rise and set", says)
    for event in sky.events:
        if event.near_midnight:
            says = (
                f"This event falls at {event.local:%H:%M:%S} on {event.local:%Y-%m-%d}, within a "
                "minute of another date; other tables may print that one."
            )
            yield Notice("sky-date-edge", Level.NOTE, event.event.value, says)


def sky_of(place: Place, season: Season) -> Sky:
    """Sun and Moon at a site over civil days from 1900-01-01 to 2053-09-30.

    Raises:
        SkyRangeError: a day is outside the years of the ephemeris.
        zoneinfo.ZoneInfoNotFoundError: the place names no zone of the IANA database.
    """
    check_days(season.first, season.last)
    days = CivilDays.of(season, ZoneInfo(place.zone))
    first, last = season.first - timedelta(days=1), season.last + timedelta(days=1)
    nodes = nodes_of(first, last)
    bodies = positions(*nodes)
    courses = passages(Site.of(place), bodies, first, last)
    sun, ground, civil, moon = (Course(days, since_s, up) for since_s, up in courses)
    look = look_at(bodies, clock.tt_of_utc(days.noons_s) * NODES_PER_DAY - nodes[0])
    return Sky(
        place=place,
        season=season,
        events=events_of(nodes, season, days.zone),
        day_length_h=sun.hours_up(),
        ground_light_h=ground.hours_up(),
        lit_fraction=frozen(look.lit_fraction),
        elongation_deg=frozen(look.elongation_deg),
        waxing=frozen(look.elongation_deg < 180),
        winter_months=frozen(winter_months(look.sun_longitude_deg, southern=place.southern)),
        sunrise=sun.rises,
        sunset=sun.sets,
        ground_dawn=ground.rises,
        ground_dusk=ground.sets,
        civil_dawn=civil.rises,
        civil_dusk=civil.sets,
        moonrise=moon.rises,
        moonset=moon.sets,
        sun_state=sun.states(),
        moon_state=moon.states(),
    )
