"""Sun and Moon by civil day; the only room that sees UTC instants. See ``civil_sky``."""

from scheduler.sky.civil_sky import Sky, sky_of
from scheduler.sky.ephemeris import SkyRangeError
from scheduler.sky.events import SkyEvent
