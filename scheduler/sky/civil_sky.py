"""Everything a grower's year needs from Sun and Moon, for one site and one run of civil days.

The search runs over continuous time and its finds are put into days afterwards, each by the
local date of its own instant, so that none is lost or doubled at a day's edge.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from scheduler.sky import clock
from scheduler.sky.civil import CivilDays, Course
from scheduler.sky.curves import Bools, Floats
from scheduler.sky.daylight import passages
from scheduler.sky.ephemeris import NODES_PER_DAY, check_days, nodes_of, positions
from scheduler.sky.events import SkyEvent, events_of, look_at, winter_months
from scheduler.sky.ground import SkySite
from scheduler.terms import Level, Notice, Place, Season, frozen

FORECAST_FROM = date(2036, 1, 1)


@dataclass(frozen=True, eq=False)
class Sky:
    """Sun and Moon at one site; arrays have shape (n_days,) and are read-only.

    A date that the clocks skip has no hours and no times; its noon is that of the clocks before
    the skip.

    Args:
        events: the instants common to all sites whose local date lies in the season.
        sun: the upper rim of the Sun above the skyline.
        ground_light: the Sun's centre above -3 degrees: light for work on the ground.
        civil_light: the same above -6 degrees: light to walk and water by.
        moon: the upper rim of the Moon above the flat horizon.
        lit_fraction: lit part of the Moon's disc at local noon, 0 to 1.
        elongation_deg: Moon's ecliptic longitude less the Sun's at local noon, 0 to 360.
        winter_months: the season clock at local noon, 0 to 12.
    """

    place: Place
    season: Season
    events: tuple[SkyEvent, ...]
    sun: Course
    ground_light: Course
    civil_light: Course
    moon: Course
    lit_fraction: Floats
    elongation_deg: Floats
    winter_months: Floats

    @property
    def waxing(self) -> Bools:
        """(n_days,) whether the elongation is under 180 degrees."""
        return self.elongation_deg < 180

    @property
    def notices(self) -> Iterator[Notice]:
        """What the figures rest on where that is a forecast or a hair's breadth.

        Rise and set follow the measured Earth; other tables round, or foretell, otherwise.
        """
        if self.season.last >= FORECAST_FROM:
            says = (
                f"Rise and set from {FORECAST_FROM.year} on rest on a forecast of the Earth's "
                "turning and may be some seconds off."
            )
            yield Notice("sky-forecast", Level.NOTE, "rise and set", says)
        for event in self.events:
            if event.near_midnight:
                says = (
                    f"This event falls at {event.local:%H:%M:%S} on {event.local:%Y-%m-%d}, "
                    "within a minute of another date; other tables may print that one."
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
    courses = passages(SkySite.of(place), bodies, first, last)
    sun, ground, civil, moon = (Course(days, since_s, up) for since_s, up in courses)
    look = look_at(bodies, clock.tt_of_utc(days.noons_s) * NODES_PER_DAY - nodes[0])
    return Sky(
        place,
        season,
        events_of(nodes, season, days.zone),
        sun,
        ground,
        civil,
        moon,
        lit_fraction=frozen(look.lit_fraction),
        elongation_deg=frozen(look.elongation_deg),
        winter_months=frozen(winter_months(look.sun_longitude_deg, southern=place.southern)),
    )
