"""Everything a grower's year needs from Sun and Moon, for one site and one run of civil days.

:func:`sky_of` puts the room together: the civil days of the site
(:mod:`scheduler.sky.civil`), the instants common to all sites
(:mod:`scheduler.sky.events`), rise, set and twilight (:mod:`scheduler.sky.daylight`), the
Moon at local noon (:mod:`scheduler.sky.moon`) and the season clock
(:mod:`scheduler.sky.season_marks`). The search runs over continuous time and its finds are
put into days afterwards, each by the local date of its own instant, so that none
is lost or doubled at a day's edge. Hours of light are the time above a limit between
the first instant of a date and that of the next.
"""

from dataclasses import dataclass
from datetime import timedelta
from zoneinfo import ZoneInfo

from scheduler.sky import clock, season_marks
from scheduler.sky.civil import CivilDays, Times
from scheduler.sky.course import BodyState, Course
from scheduler.sky.curves import Bools, Floats
from scheduler.sky.daylight import Limit, passages
from scheduler.sky.doubts import doubts_about
from scheduler.sky.ephemeris import NODES_PER_DAY, check_days, nodes_of, positions
from scheduler.sky.events import SkyEvent, events_of
from scheduler.sky.ground import Site
from scheduler.sky.moon import moon_at
from scheduler.terms import Notice, Place, Season, frozen


@dataclass(frozen=True, eq=False)
class Sky:
    """Sun and Moon at one site; arrays have shape (n_days,) and are read-only.

    Lists of times hold one tuple a day, of none to two aware local datetimes (in the
    rarest case more): at high latitudes a body may rise twice on a day or not at all, and
    the Moon skips a rise and a set every month everywhere. A date that the clocks skip has
    no hours and no times; its noon is that of the clocks before the skip.

    Args:
        place: the site.
        season: its civil days.
        events: the instants common to all sites whose local date lies in the season.
        day_length_h: hours with the Sun above the skyline within the civil day.
        ground_light_h: hours with the Sun above -3 degrees: light for work on the ground.
        lit_fraction: lit part of the Moon's disc at local noon, 0 to 1.
        elongation_deg: Moon's ecliptic longitude less the Sun's at local noon, 0 to 360.
        waxing: whether the elongation is under 180 degrees.
        winter_months: months of solar longitude after the local winter solstice at local
            noon, 0 to 12.
        sunrise: upper rim of the Sun comes over the skyline.
        sunset: it goes below.
        ground_dawn: the Sun's centre comes above -3 degrees.
        ground_dusk: it goes below.
        civil_dawn: the Sun's centre comes above -6 degrees: light to walk and water by.
        civil_dusk: it goes below.
        moonrise: upper rim of the Moon comes over the flat horizon.
        moonset: it goes below.
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
        return doubts_about(self.events, self.season.last)


def sky_of(place: Place, season: Season) -> Sky:
    """Sun and Moon at a site over a run of civil days.

    Args:
        place: the site; its ``horizon_deg`` is applied to sunrise and sunset.
        season: civil days, from 1900-01-01 to 2053-09-30.

    Raises:
        SkyRangeError: a day is outside the years of the ephemeris.
        zoneinfo.ZoneInfoNotFoundError: the place names no zone of the IANA database.
    """
    check_days(season.first, season.last)
    days = CivilDays.of(season, ZoneInfo(place.zone))
    first, last = season.first - timedelta(days=1), season.last + timedelta(days=1)
    nodes = nodes_of(first, last)
    bodies = positions(*nodes)
    found = passages(Site.of(place), bodies, first, last)
    sun, ground, civil, moon = (Course.of(found, limit, days) for limit in Limit)
    at_noon = clock.tt_of_utc(days.noons_s) * NODES_PER_DAY - nodes[0]
    look = moon_at(bodies, at_noon)
    longitude_deg = season_marks.sun_longitude_deg(bodies, at_noon)
    return Sky(
        place=place,
        season=season,
        events=events_of(nodes, season, days.zone),
        day_length_h=sun.hours_up(),
        ground_light_h=ground.hours_up(),
        lit_fraction=frozen(look.lit_fraction),
        elongation_deg=frozen(look.elongation_deg),
        waxing=frozen(look.elongation_deg < 180),
        winter_months=frozen(season_marks.winter_months(longitude_deg, southern=place.southern)),
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
