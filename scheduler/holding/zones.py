"""Doubts about the place: coordinates against the time zone, and against the record.

The table of zones in the package ``tzdata`` (``zone.tab`` of the IANA time zone database) gives
each zone the coordinates of its main city, in degrees, minutes and, for some, seconds (ISO 6709).
"""

import math
import re
from collections.abc import Iterator
from functools import lru_cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from scheduler.holding.site import Site
from scheduler.terms import Level, Notice
from scheduler.weather import Record

EARTH_KM = 6371.0  # mean radius
# A place so far from its zone's city is odd where the other order of the two is near; the widest
# zones reach further, so the distance alone says nothing.
FAR_KM = 2000.0
MIRRORED_KM = 1200.0  # a wrong sign is a slip by itself, so less distance makes it likely
STATION_KM = 200.0  # frosts of a plain go together so far at most: common practice, no source
NEARER = 0.5  # share of that distance, within which the other order has to bring it

# Within the tropics months say little; beyond, nights of summer and winter differ by more.
TROPIC_DEG, LEAST_K = 23.4, 2.0

# such as +4024-00341, or +404300-0740000 with seconds
_LAT, _LON = r"([+-])(\d\d)(\d\d)(\d\d)?", r"([+-])(\d{3})(\d\d)(\d\d)?"


def zone_place(zone: str) -> tuple[float, float] | None:
    """Latitude and longitude of a zone's main city, degrees; None where the table has none.

    >>> lat_deg, lon_deg = zone_place("Europe/Madrid") or (0, 0)
    >>> round(lat_deg, 2), round(lon_deg, 2)
    (40.4, -3.68)
    >>> zone_place("Etc/UTC") is None
    True
    """
    row = re.search(rf"\t{_LAT}{_LON}\t{re.escape(zone)}(?:\t|$)", _table(), re.MULTILINE)
    return None if row is None else (_degrees(*row.groups()[:4]), _degrees(*row.groups()[4:]))


@lru_cache(maxsize=1)
def _table() -> str:
    return (resources.files("tzdata") / "zoneinfo" / "zone.tab").read_text(encoding="utf-8")


def _degrees(sign: str, whole: str, minutes: str, seconds: str | None) -> float:
    size = int(whole) + int(minutes) / 60 + int(seconds or 0) / 3600
    return -size if sign == "-" else size


def distance_km(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Great-circle distance of two places given as latitude and longitude, degrees.

    The haversine formula on a sphere, good to half a per cent.
    """
    lat1, lon1, lat2, lon2 = map(math.radians, (*one, *other))
    half = math.sin((lat2 - lat1) / 2) ** 2
    half += math.cos(lat1) * math.cos(lat2) * math.sin((lon2 - lon1) / 2) ** 2
    return 2 * EARTH_KM * math.asin(min(1.0, math.sqrt(half)))


def place_notices(site: Site) -> Iterator[Notice]:
    """Latitude and longitude that look swapped, or as if one had the wrong sign."""
    city = zone_place(site.zone)
    if city is None:
        return
    lat, lon = site.lat_deg, site.lon_deg
    readings = (
        ("look swapped", lon, lat, FAR_KM),
        ("look as if lat_deg had the wrong sign", -lat, lon, MIRRORED_KM),
        ("look as if lon_deg had the wrong sign", lat, -lon, MIRRORED_KM),
        ("look as if both had the wrong sign", -lat, -lon, MIRRORED_KM),
    )
    here_km = distance_km((lat, lon), city)
    nearer = [
        (there_km, doubt)
        for doubt, other_lat, other_lon, far_km in readings
        # beyond 90 degrees it is no latitude, and cannot be meant as one
        if here_km > far_km and abs(other_lat) <= 90
        if (there_km := distance_km((other_lat, other_lon), city)) < min(FAR_KM, NEARER * here_km)
    ]
    if nearer:
        there_km, doubt = min(nearer)
        says = (
            f"Fields lat_deg = {lat:g} and lon_deg = {lon:g} {doubt}: as they are, the place is "
            f"{_rounded(here_km)} km from the city that {site.zone} is named for; the other way "
            f"{_rounded(there_km)} km. Frost seasons, daylight and every date rest on them."
        )
        yield Notice("place-doubtful", Level.WARNING, "site.toml", says)


def record_notices(site: Site, record: Record) -> Iterator[Notice]:
    """Stations far from the site, and a record whose warm months lie in its winter."""
    for name, lat_deg, lon_deg in record.places:
        away_km = distance_km((site.lat_deg, site.lon_deg), (lat_deg, lon_deg))
        if away_km > STATION_KM:
            says = (
                f"The station is at {lat_deg:g}, {lon_deg:g}, {_rounded(away_km)} km from the "
                "site: its frosts tell little of yours. Is it the right file, and are lat_deg and "
                "lon_deg in site.toml right?"
            )
            yield Notice("station-far", Level.WARNING, name, says)
    yield from _season_notices(site, record)


def _season_notices(site: Site, record: Record) -> Iterator[Notice]:
    """Whether the record is of the other hemisphere."""
    if abs(site.lat_deg) < TROPIC_DEG:
        return
    months = np.array([day.month for day in record.season])
    june = _mean(record.tmin_c[np.isin(months, (6, 7, 8))])
    december = _mean(record.tmin_c[np.isin(months, (12, 1, 2))])
    if (june - december) * (1 if site.lat_deg > 0 else -1) < -LEAST_K:
        says = (
            f"June to August are on average {june:.1f} °C at night and December to February "
            f"{december:.1f} °C, which is the other half of the Earth than lat_deg = "
            f"{site.lat_deg:g} in site.toml. Is it the record of another place, or a sign wrong?"
        )
        yield Notice("station-seasons", Level.WARNING, record.name, says)


def _mean(values: NDArray[np.float64]) -> float:
    """The mean of what was read; NaN where nothing was."""
    read = values[~np.isnan(values)]
    return float(read.mean()) if read.size else math.nan


def _rounded(km: float) -> str:
    return f"{round(km, -2):,.0f}" if km >= 100 else "less than 100"
