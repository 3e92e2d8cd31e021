"""Sun and Moon by civil day; the only room that sees UTC instants.

* :func:`sky_of`: everything for one site over a run of civil days
* :func:`events_between`: phases, equinoxes and solstices of a span
* :func:`rise_set_of_sites`: rise, set and twilight at many sites at once

How it is done is told where it is done, in this order: ``clock`` (time scales),
``curves`` (interpolation and zeros), ``ephemeris`` (the door to the JPL kernel),
``seasons`` and ``moon`` (longitudes, phase, light), ``events``, ``ground`` (altitudes at
sites), ``daylight`` (rise, set, twilight), ``civil`` and ``course`` (days on local
clocks), ``sky`` (all of it for one site), ``doubts`` (what to say beside the figures).
"""

from scheduler.sky.civil_sky import Sky, sky_of
from scheduler.sky.course import BodyState
from scheduler.sky.daylight import Limit, Passages, rise_set_of_sites
from scheduler.sky.ephemeris import SkyRangeError
from scheduler.sky.events import EventName, SkyEvent, events_between
from scheduler.sky.season_marks import SeasonName, astronomical_season, meteorological_season

__all__ = [
    "BodyState",
    "EventName",
    "Limit",
    "Passages",
    "SeasonName",
    "Sky",
    "SkyEvent",
    "SkyRangeError",
    "astronomical_season",
    "events_between",
    "meteorological_season",
    "rise_set_of_sites",
    "sky_of",
]
