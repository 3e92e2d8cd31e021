"""Sun and Moon by civil day; the only room that sees UTC instants.

* :func:`sky_of`: everything for one site over a run of civil days

How it is done is told where it is done, in this order: ``clock`` (time scales),
``curves`` (interpolation and zeros), ``ephemeris`` (the door to the JPL kernel),
``season_marks`` and ``moon`` (longitudes, phase, light), ``events``, ``ground`` (altitude at
a site), ``daylight`` (rise, set, twilight), ``civil`` and ``course`` (days on local
clocks), ``civil_sky`` (all of it for one site), ``doubts`` (what to say beside the figures).
"""

from scheduler.sky.civil_sky import Sky, sky_of
from scheduler.sky.ephemeris import SkyRangeError
from scheduler.sky.events import SkyEvent

__all__ = ["Sky", "SkyEvent", "SkyRangeError", "sky_of"]
