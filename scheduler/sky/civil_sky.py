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

import numpy as np

from scheduler.sky import clock
from scheduler.sky import season_marks as seasons
from scheduler.sky.civil import CivilDays, Times
from scheduler.sky.course import BodyState, Course
from scheduler.sky.curves import Bools, Floats
from scheduler.sky.daylight import Limit, passages
from scheduler.sky.doubts import doubts_about
from scheduler.sky.ephemeris import NODES_PER_DAY, check_days, nodes_of, positions
from scheduler.sky.events import SkyEvent, events_of
from scheduler.sky.ground import Sites
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
        civil_light_h: hours with the Sun above -6 degrees: light to walk and water by.
        lit_fraction: lit part of the Moon's disc at local noon, 0 to 1.
        elongation_deg: Moon's ecliptic longitude less the Sun's at local noon, 0 to 360.
        waxing: whether the elongation is under 180 degrees.
        winter_months: months of solar longitude after the local winter solstice at local
            noon, 0 to 12.
        sunrise: upper rim of the Sun comes over the skyline.
        sunset: it goes below.
        ground_dawn: the Sun's centre comes above -3 degrees.
        ground_dusk: it goes below.
        civil_dawn: the Sun's centre comes above -6 degrees.
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
    civil_light_h: Floats
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

    def astronomical_season(self, day: int) -> seasons.SeasonName:
        """The season by solstice and equinox in which local noon of a day number lies."""
        return seasons.astronomical_season(float(self.winter_months[day]))

    def meteorological_season(self, day: int) -> seasons.SeasonName:
        """The season by whole calendar months of a day number."""
        return seasons.meteorological_season(
            self.season.date_of(day), southern=self.place.southern
        )


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
    site = Sites.at(*np.array([[place.lat_deg], [place.lon_deg], [place.horizon_deg]]))
    found = passages(site, bodies, first, last)
    sun, ground, civil, moon = (Course.of(found, limit, days) for limit in Limit)
    at_noon = clock.tt_of_utc(days.noons_s) * NODES_PER_DAY - nodes[0]
    look = moon_at(bodies, at_noon)
    longitude_deg = seasons.sun_longitude_deg(bodies, at_noon)
    return Sky(
        place=place,
        season=season,
        events=_events(days, nodes),
        day_length_h=sun.hours_up(),
        ground_light_h=ground.hours_up(),
        civil_light_h=civil.hours_up(),
        lit_fraction=frozen(look.lit_fraction),
        elongation_deg=frozen(look.elongation_deg),
        waxing=frozen(look.elongation_deg < 180),
        winter_months=frozen(seasons.winter_months(longitude_deg, southern=place.southern)),
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


def _events(days: CivilDays, nodes: tuple[int, int]) -> tuple[SkyEvent, ...]:
    """The events whose local date lies in the season."""
    around_s = (days.starts_s[0] - clock.DAY_S, days.starts_s[-1] + clock.DAY_S)
    found = events_of(nodes, around_s, days.zone)
    return tuple(event for event in found if event.local.date() in days.season)
