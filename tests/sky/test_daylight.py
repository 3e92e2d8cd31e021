"""Rise, set and twilight: what must hold, at the edges of day and night."""

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skyfield.toposlib import wgs84

from scheduler.sky import sky_of
from scheduler.sky.civil_sky import BodyState
from scheduler.sky.curves import AFTER, BEFORE, crossings, densified
from scheduler.sky.daylight import LightLimit, _margins, sun_limit_deg
from scheduler.sky.ephemeris import nodes_of, positions
from scheduler.sky.ground import SkySite, hour_of, hours_of
from scheduler.terms import Place, Season
from tests.sky.instants import of_limits, rise_set

YEAR_2027 = Season(date(2027, 1, 1), 365)


def year_at(lat_deg: float, year: int = 2027) -> Any:
    return sky_of(Place(lat_deg, 20.0, "Etc/GMT-1"), Season(date(year, 1, 1), 365))


@given(
    lat_deg=st.floats(-90, 90),
    lon_deg=st.floats(-180, 180),
    first=st.dates(date(1900, 1, 1), date(2053, 5, 1)),
)
@settings(max_examples=25, deadline=None)
def test_rises_and_sets_take_turns(lat_deg: float, lon_deg: float, first: date) -> None:
    found = rise_set(lat_deg, lon_deg, first, 150)
    for limit in LightLimit:
        passages = of_limits(found, limit)
        assert all(a[0] < b[0] and a[2] != b[2] for a, b in pairwise(passages))


@given(
    lat_deg=st.one_of(st.floats(58, 90), st.floats(-90, -58)),
    lon_deg=st.floats(-180, 180),
    year=st.integers(1900, 2052),
)
@settings(max_examples=20, deadline=None)
def test_no_passage_that_lasts_a_minute_is_lost(lat_deg: float, lon_deg: float, year: int) -> None:
    """Compared with a search at every single minute, which needs no test for grazing."""
    site = SkySite.of(Place(lat_deg, lon_deg, "Etc/UTC"))
    begin = hour_of(date(year, 1, 1))
    sky = positions(*nodes_of(date(year, 1, 1), date(year, 12, 31)))
    # One hour more than is searched, for the sample at the end of the last minute.
    margins = _margins(site, hours_of(sky, begin - BEFORE, begin + 365 * 24 + AFTER + 1))
    found = crossings(margins[:, :-1], 0.01)
    for limit in LightLimit:
        minutes = densified(margins[limit][:, None], 60)[: 365 * 24 * 60 + 1, 0]
        changes = np.flatnonzero(np.diff(minutes > 0))
        ours = found.row == limit
        minute = np.floor((found.sample[ours] - BEFORE + found.beyond[ours]) * 60)
        lone = np.unique(minute, return_counts=True)
        assert set(changes) == {int(m) for m, n in zip(*lone, strict=True) if n % 2}


@given(st.floats(-60, 60), st.floats(-170, 170), st.dates(date(1901, 1, 1), date(2052, 1, 1)))
@settings(max_examples=20, deadline=None)
def test_the_day_brightens_in_order(lat_deg: float, lon_deg: float, first: date) -> None:
    found = rise_set(lat_deg, lon_deg, first, 8)
    sun = of_limits(found, LightLimit.SUN_RIM, LightLimit.GROUND_LIGHT, LightLimit.CIVIL_LIGHT)
    kinds = [(limit, rising) for _, limit, rising in sun]
    order = [
        (LightLimit.CIVIL_LIGHT, True),
        (LightLimit.GROUND_LIGHT, True),
        (LightLimit.SUN_RIM, True),
        (LightLimit.SUN_RIM, False),
        (LightLimit.GROUND_LIGHT, False),
        (LightLimit.CIVIL_LIGHT, False),
    ]
    start = order.index(kinds[0])
    assert kinds == [order[(start + number) % 6] for number in range(len(kinds))]


def test_the_sun_comes_earlier_to_the_east() -> None:
    west, east = (
        rise_set(45.0, lon_deg, date(2027, 3, 1), 20)[LightLimit.SUN_RIM, True]
        for lon_deg in (0.0, 1.0)
    )
    # One degree is four minutes, less a second for the Sun's own way among the stars.
    assert west - east == pytest.approx(240, abs=2)


@pytest.mark.parametrize(
    ("lat_deg", "days_up"),
    # Days with the Sun's upper rim up all day in 2027 (measured with skyfield).
    [(65.0, 0), (66.0, 19), (66.56, 32), (69.65, 70)],
)
def test_midnight_sun(lat_deg: float, days_up: int) -> None:
    sky = year_at(lat_deg)
    assert sky.sun.states.count(BodyState.UP_ALL_DAY) == pytest.approx(days_up, abs=1)
    up = np.array([state is BodyState.UP_ALL_DAY for state in sky.sun.states])
    assert sky.sun.hours_up[up] == pytest.approx(24)
    assert sky.sun.hours_up[~up].max() < 24


def test_polar_night_ends_in_mid_january_and_does_not_reach_67_north() -> None:
    tromso = year_at(69.65)
    down = [day for day, s in enumerate(tromso.sun.states) if s is BodyState.DOWN_ALL_DAY]
    assert max(day for day in down if day < 180) == pytest.approx(14, abs=1)  # 15 January
    assert tromso.sun.hours_up[down].max() == 0
    assert all(tromso.civil_light.rises[day] for day in down)  # noon twilight to walk and water by
    for lat_deg in (66.0, 67.0):
        assert BodyState.DOWN_ALL_DAY not in year_at(lat_deg).sun.states


def test_seasons_of_polar_day_are_mirrored() -> None:
    north, south = year_at(75.0), year_at(-75.0)
    june, december = 171, 354
    assert north.sun.states[june] is south.sun.states[december] is BodyState.UP_ALL_DAY
    assert north.sun.states[december] is south.sun.states[june] is BodyState.DOWN_ALL_DAY


def test_ground_light_lasts_all_night_around_midsummer_beyond_63_6_north() -> None:
    # 90 - 23.44 - 3 = 63.56 degrees; civil twilight from 60.56 on.
    assert year_at(63.4).ground_light.hours_up.max() < 24
    assert year_at(63.8).ground_light.hours_up.max() == pytest.approx(24)
    assert all(year_at(60.4).civil_light.sets)
    assert not all(year_at(60.8).civil_light.sets)


@pytest.mark.parametrize(
    ("lat_deg", "no_rise"),
    # Days of 2027 without a moonrise (measured with skyfield).
    [(0.0, 12), (45.0, 12), (60.0, 12), (64.0, 77), (67.0, 140), (70.0, 177)],
)
def test_days_without_a_moonrise(lat_deg: float, no_rise: int) -> None:
    sky = year_at(lat_deg)
    assert sum(not day for day in sky.moon.rises) == pytest.approx(no_rise, abs=4)
    assert sum(not day for day in sky.moon.sets) == pytest.approx(no_rise, abs=4)


def test_some_days_have_two_moonrises_at_high_latitudes() -> None:
    twice = [day for day in year_at(67.0).moon.rises if len(day) == 2]
    assert twice
    assert all(first < second for first, second in twice)
    assert max(len(day) for day in year_at(45.0).moon.rises) == 1


def test_a_year_in_the_middle_latitudes() -> None:
    # 365 sunrises, 353 moonrises, 353 moonsets at 45 N in 2027 (measured with skyfield).
    sky = sky_of(Place(45.0, 7.0, "Etc/UTC"), YEAR_2027)
    lists = (sky.sun.rises, sky.sun.sets, sky.moon.rises, sky.moon.sets)
    assert [sum(map(len, days)) for days in lists] == [365, 365, 353, 353]


def test_a_skyline_of_no_height_is_the_open_horizon() -> None:
    assert sun_limit_deg(0.0) == pytest.approx(-50 / 60, abs=1e-12)


@given(st.floats(0, 44.9), st.floats(0.01, 0.1))
def test_a_higher_skyline_hides_the_sun_longer(horizon_deg: float, more_deg: float) -> None:
    lower, higher = sun_limit_deg(horizon_deg), sun_limit_deg(horizon_deg + more_deg)
    assert higher - lower > more_deg  # refraction shrinks with height on top of it


@pytest.mark.parametrize("horizon_deg", [1.0, 3.0, 5.0, 10.0, 30.0])
def test_the_rim_stands_on_the_skyline_by_another_refraction(
    horizon_deg: float, kernel: Any, skyfield_scale: Any
) -> None:
    """Skyfield's altitude with its refraction at 10 degrees C and 1010 mbar, plus 16'.

    It lifts the Sun's centre, which low down is lifted up to two minutes more than the rim.
    """
    place = Place(45.0, 0.0, "Etc/UTC", horizon_deg)
    sky = sky_of(place, Season(date(2027, 3, 20), 1))
    observer = kernel["earth"] + wgs84.latlon(45.0, 0.0)
    for when in (*sky.sun.rises[0], *sky.sun.sets[0]):
        seen = observer.at(skyfield_scale.from_datetime(when)).observe(kernel["sun"]).apparent()
        altitude_deg = seen.altaz(temperature_C=10.0, pressure_mbar=1010.0)[0].degrees
        assert altitude_deg + 16 / 60 == pytest.approx(horizon_deg, abs=0.04)


@pytest.mark.parametrize(
    ("horizon_deg", "latest_min"),
    # Upper bounds at 45 N at the equinox: the unrefracted centre of the Sun on the skyline
    # (measured with skyfield). The rim shows some minutes before the centre.
    [(1.0, 10.4), (3.0, 21.7), (5.0, 33.0), (10.0, 61.5)],
)
def test_a_ridge_delays_sunrise(horizon_deg: float, latest_min: float) -> None:
    day = Season(date(2027, 3, 20), 1)
    open_land = sky_of(Place(45.0, 0.0, "Etc/UTC"), day)
    valley = sky_of(Place(45.0, 0.0, "Etc/UTC", horizon_deg), day)
    late = (valley.sun.rises[0][0] - open_land.sun.rises[0][0]) / timedelta(minutes=1)
    early = (open_land.sun.sets[0][0] - valley.sun.sets[0][0]) / timedelta(minutes=1)
    assert latest_min - 4.5 < late < latest_min
    assert latest_min - 4.5 < early < latest_min
    assert open_land.sun.hours_up[0] - valley.sun.hours_up[0] == pytest.approx((late + early) / 60)


def test_a_skyline_moves_neither_twilight_nor_moon() -> None:
    season = Season(date(2027, 5, 1), 10)
    open_land = sky_of(Place(50.0, 8.0, "Europe/Berlin"), season)
    valley = sky_of(Place(50.0, 8.0, "Europe/Berlin", 20.0), season)
    assert valley.civil_light.rises == open_land.civil_light.rises
    assert valley.ground_light.sets == open_land.ground_light.sets
    assert valley.moon.rises == open_land.moon.rises
    assert valley.sun.rises != open_land.sun.rises


def test_a_deep_valley_has_no_sun_in_winter() -> None:
    sky = sky_of(Place(50.0, 8.0, "Europe/Berlin", 20.0), YEAR_2027)
    assert sky.sun.states[355] is BodyState.DOWN_ALL_DAY
    assert sky.sun.hours_up[355] == 0
    assert sky.sun.states[171] is BodyState.RISES_OR_SETS
