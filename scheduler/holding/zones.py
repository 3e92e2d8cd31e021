"""Where the time zones lie: a check on the coordinates that the grower types.

The table of zones in the package ``tzdata`` (``zone.tab`` of the IANA time zone database) gives
each zone the coordinates of its main city, in degrees, minutes and, for some, seconds (ISO 6709).
"""

import math
import re
from collections.abc import Iterator
from functools import lru_cache
from importlib import resources

from scheduler.holding.site import Site
from scheduler.terms import Level, Notice

EARTH_KM = 6371.0  # mean radius
# A place so far from its zone's city is odd where the other order of the two is near; the widest
# zones reach further, so the distance alone says nothing.
FAR_KM = 2000.0
NEARER = 0.5  # share of that distance, within which the other order has to bring it

_ROW = r"^[A-Z]{{2}}\t([+-]\d+)([+-]\d+)\t{zone}(?:\t|$)"


def zone_place(zone: str) -> tuple[float, float] | None:
    """Latitude and longitude of a zone's main city, degrees; None where the table has none.

    >>> lat_deg, lon_deg = zone_place("Europe/Madrid") or (0, 0)
    >>> round(lat_deg, 2), round(lon_deg, 2)
    (40.4, -3.68)
    >>> zone_place("Etc/UTC") is None
    True
    """
    found = re.search(_ROW.format(zone=re.escape(zone)), _table(), re.MULTILINE)
    return None if found is None else (_degrees(found[1]), _degrees(found[2]))


@lru_cache(maxsize=1)
def _table() -> str:
    return (resources.files("tzdata") / "zoneinfo" / "zone.tab").read_text(encoding="utf-8")


def _degrees(text: str) -> float:
    """Degrees from ``+4024`` or ``-0034120``: two digits of minutes, and of seconds if any."""
    sign, digits = (-1 if text[0] == "-" else 1), text[1:]
    n_whole = len(digits) % 2 + 2  # three digits of degrees make the number of digits odd
    whole, minutes, seconds = (
        digits[:n_whole],
        digits[n_whole : n_whole + 2],
        digits[n_whole + 2 :],
    )
    return sign * (int(whole) + int(minutes) / 60 + int(seconds or 0) / 3600)


def distance_km(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Great-circle distance of two places given as latitude and longitude, degrees.

    The haversine formula on a sphere, good to half a per cent.
    """
    lat1, lon1, lat2, lon2 = map(math.radians, (*one, *other))
    half = math.sin((lat2 - lat1) / 2) ** 2
    half += math.cos(lat1) * math.cos(lat2) * math.sin((lon2 - lon1) / 2) ** 2
    return 2 * EARTH_KM * math.asin(min(1.0, math.sqrt(half)))


def swapped_notices(site: Site) -> Iterator[Notice]:
    """Latitude and longitude that look as if each stood in the other's place."""
    city = zone_place(site.zone)
    if city is None or abs(site.lon_deg) > 90:  # no latitude: it cannot be meant as one
        return
    here_km = distance_km((site.lat_deg, site.lon_deg), city)
    there_km = distance_km((site.lon_deg, site.lat_deg), city)
    if here_km > FAR_KM and there_km < min(FAR_KM, NEARER * here_km):
        says = (
            f"Fields lat_deg = {site.lat_deg:g} and lon_deg = {site.lon_deg:g} look swapped: as "
            f"they stand, the place is {_rounded(here_km)} km from the city that {site.zone} is "
            f"named for; the other way round {_rounded(there_km)} km. Frost seasons, daylight and "
            "every date rest on them."
        )
        yield Notice("place-swapped", Level.WARNING, "site.toml", says)


def _rounded(km: float) -> str:
    return f"{round(km, -2):,.0f}" if km >= 100 else "less than 100"
