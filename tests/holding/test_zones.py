"""Latitude and longitude against the place of the time zone."""

import math
from dataclasses import replace
from datetime import date, timedelta
from importlib import resources
from pathlib import Path

import pytest

from scheduler.files.fields import is_zone
from scheduler.holding import place_notices, read_holding, record_notices
from scheduler.holding.site import Site
from scheduler.holding.zones import distance_km, zone_place
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.terms import Level
from scheduler.weather import Record, read_record
from tests.sites import edit, new_site

# North and east positive, to a hundredth of a degree: gazetteers, from memory.
CITIES = {
    "Europe/Madrid": (40.42, -3.70),
    "Europe/Vienna": (48.21, 16.37),
    "Africa/Johannesburg": (-26.20, 28.04),
    "America/Santiago": (-33.45, -70.67),
    "Australia/Sydney": (-33.87, 151.21),
    "America/Los_Angeles": (34.05, -118.24),
    "Africa/Nairobi": (-1.29, 36.82),
    "Asia/Tokyo": (35.68, 139.69),
    "America/Indiana/Indianapolis": (39.77, -86.16),
}


def site(zone: str, lat_deg: float, lon_deg: float) -> Site:
    return Site(id="x", name="X", lat_deg=lat_deg, lon_deg=lon_deg, elev_m=1.0, zone=zone)


def codes(one: Site) -> list[str]:
    return [notice.code for notice in place_notices(one)]


@pytest.mark.parametrize("zone", CITIES)
def test_a_zone_lies_where_its_city_does(zone: str) -> None:
    found = zone_place(zone)
    assert found is not None
    assert found == pytest.approx(CITIES[zone], abs=0.1)


def test_every_row_of_the_table_is_read_with_its_sign() -> None:
    table = (resources.files("tzdata") / "zoneinfo" / "zone.tab").read_text(encoding="utf-8")
    rows = [line.split("\t") for line in table.splitlines() if line[:1] != "#"]
    assert len(rows) > 300
    for _, place, zone, *_ in rows:
        lat_deg, lon_deg = zone_place(zone) or (math.nan, math.nan)
        assert abs(lat_deg) <= 90
        assert abs(lon_deg) <= 180
        lat_text = place[: max(place.rfind("+"), place.rfind("-"))]
        assert math.copysign(1, lat_deg) == (1 if place[0] == "+" else -1)
        assert abs(lat_deg) == pytest.approx(int(lat_text[1:3]), abs=1)


def test_distances_are_those_of_the_handbooks() -> None:
    """A degree on a great circle is 111.2 km; Madrid to Vienna 1,810 km (from memory)."""
    assert distance_km((0, 0), (0, 1)) == pytest.approx(111.2, abs=0.1)
    assert distance_km((89, 0), (89, 180)) == pytest.approx(222.4, abs=0.1)
    assert distance_km(CITIES["Europe/Madrid"], CITIES["Europe/Vienna"]) == pytest.approx(
        1810, abs=15
    )


@pytest.mark.parametrize("zone", CITIES)
def test_a_place_as_it_should_be_is_not_doubted(zone: str) -> None:
    lat_deg, lon_deg = CITIES[zone]
    for north, east in ((0, 0), (8, 0), (-8, 0), (0, 12), (0, -12)):
        assert codes(site(zone, lat_deg + north, lon_deg + east)) == []


@pytest.mark.parametrize(
    "zone", ["Europe/Madrid", "Europe/Vienna", "Africa/Johannesburg", "America/Santiago",
             "Africa/Nairobi", "America/Indiana/Indianapolis"],
)  # fmt: skip
def test_the_other_order_is_told_with_file_and_fields(zone: str) -> None:
    lat_deg, lon_deg = CITIES[zone]
    (told,) = place_notices(site(zone, lon_deg, lat_deg))
    assert (told.level, told.about) == (Level.WARNING, "site.toml")
    assert f"lat_deg = {lon_deg:g} and lon_deg = {lat_deg:g}" in told.says
    assert "less than 100 km" in told.says


@pytest.mark.parametrize(
    ("signs", "field"), [((-1, 1), "lat_deg"), ((1, -1), "lon_deg"), ((-1, -1), "both")]
)
@pytest.mark.parametrize("zone", ["Europe/Vienna", "Africa/Johannesburg", "America/Santiago"])
def test_a_wrong_sign_is_told(zone: str, signs: tuple[int, int], field: str) -> None:
    lat_deg, lon_deg = CITIES[zone]
    (notice,) = place_notices(site(zone, signs[0] * lat_deg, signs[1] * lon_deg))
    assert f"as if {field} had the wrong sign" in notice.says


@pytest.mark.parametrize("zone", ["Factory", "localtime", "posixrules", "Europe/Atlantis", ""])
def test_what_no_clock_is_set_to_is_no_zone(zone: str) -> None:
    assert not is_zone(zone)
    assert is_zone("Europe/Madrid")


def record_of(*, south: bool) -> Record:
    """Four years of nights that are 8 degrees warmer in one half of the year."""
    days = [date(2020, 1, 1) + timedelta(days=n) for n in range(1461)]
    warm = (11, 12, 1, 2, 3, 4) if south else (5, 6, 7, 8, 9, 10)
    return Record.of("made.csv", {day: 10.0 if day.month in warm else 2.0 for day in days})


def test_a_record_of_the_other_half_of_the_earth_is_told() -> None:
    vienna, santiago = (site(z, *CITIES[z]) for z in ("Europe/Vienna", "America/Santiago"))
    for place, south in ((vienna, True), (santiago, False)):
        (notice,) = record_notices(place, record_of(south=south))
        assert (notice.code, notice.about) == ("station-seasons", "made.csv")
        assert list(record_notices(place, record_of(south=not south))) == []
    nairobi = site("Africa/Nairobi", *CITIES["Africa/Nairobi"])
    assert list(record_notices(nairobi, record_of(south=True))) == []


def test_a_station_far_from_the_site_is_told() -> None:
    """The columns of NOAA's access files of daily summaries, which hold the station's place."""
    head = "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,TMIN\n"
    rows = [f"X,{date(2020, 1, 1) + timedelta(days=n)},48.2,16.4,200,{n}" for n in range(300)]
    record, _ = read_record("far.csv", [head, *rows])
    assert record is not None
    (notice,) = record_notices(site("Europe/Madrid", 43.0, -7.0), record)
    assert (notice.code, notice.about) == ("station-far", "far.csv")
    assert "1,900 km" in notice.says
    assert list(record_notices(site("Europe/Vienna", 47.5, 16.0), record)) == []


def test_places_far_out_in_a_wide_zone_are_not_doubted() -> None:
    """Kashgar, Perth of a hand that left Sydney's zone, Murmansk, Manaus: far, and right."""
    for zone, lat_deg, lon_deg in (
        ("Asia/Shanghai", 39.47, 75.99),
        ("Australia/Sydney", -31.95, 115.86),
        ("Europe/Moscow", 68.97, 33.08),
        ("America/Sao_Paulo", -3.1, -60.0),
        ("Asia/Kolkata", 32.7, 74.9),
    ):
        assert codes(site(zone, lat_deg, lon_deg)) == []


def test_a_zone_without_a_place_says_nothing() -> None:
    assert codes(site("Etc/UTC", -3.7, 40.4)) == []
    assert codes(site("US/Pacific", 34.0, -89.0)) == []


def test_near_the_diagonal_the_two_orders_are_too_near_to_tell_apart() -> None:
    """Istanbul the other way round is 1,700 km away: within what a zone may reach."""
    assert distance_km((41.02, 28.97), (28.97, 41.02)) == pytest.approx(1730, abs=20)
    assert codes(site("Europe/Istanbul", 28.97, 41.02)) == []


def test_the_warning_stands_alone_and_goes_when_it_is_mended(tmp_path: Path) -> None:
    """New York the other way round: in the Antarctic, and its clock hours from the Sun."""
    told = {"zone": "America/New_York", "own_last": "10-10", "own_first": "04-20"}
    folder = new_site(tmp_path / "site", lat_deg=-74.0, lon_deg=40.7, **told)
    as_of = date(2026, 11, 25)
    doubts = {"place-doubtful", "zone-far-away"}
    plan = plan_season(read_holding(folder, as_of), as_of)
    assert doubts & {n.code for n in plan.notices} == {"place-doubtful"}
    edit(folder, "site.toml", "lat_deg = -74.0", "lat_deg = 40.7")
    edit(folder, "site.toml", "lon_deg = 40.7", "lon_deg = -74.0")
    edit(folder, "site.toml", 'own_last = "10-10"', 'own_last = "04-20"')
    edit(folder, "site.toml", 'own_first = "04-20"', 'own_first = "10-10"')
    plan = plan_season(read_holding(folder, as_of), as_of)
    assert not doubts & {n.code for n in plan.notices}


def test_the_demos_lie_in_their_zones(branasol: SeasonPlan, klipskadu: SeasonPlan) -> None:
    for plan in (branasol, klipskadu):
        here = plan.placed.holding.site
        assert codes(here) == []
        assert codes(replace(here, lat_deg=here.lon_deg, lon_deg=here.lat_deg)) == [
            "place-doubtful"
        ]
