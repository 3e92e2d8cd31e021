"""Rise, set and twilight: what must hold, at the edges of day and night."""

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from skyfield.toposlib import wgs84

from scheduler.sky import BodyState, Limit, Passages, SkyRangeError, rise_set_of_sites, sky_of
from scheduler.sky.curves import AFTER, BEFORE, crossings, densified
from scheduler.sky.daylight import _margins, sun_limit_deg
from scheduler.sky.ephemeris import nodes_of, positions
from scheduler.sky.ground import Sites, hour_of, hours_of
from scheduler.terms import Place, Season

Floats = NDArray[np.float64]
YEAR_2027 = Season(date(2027, 1, 1), 365)


def at_site(found: Passages, site: int) -> list[tuple[float, int, bool]]:
    ours = found.site == site
    columns = (found.utc_s[ours], found.limit[ours], found.rising[ours])
    return sorted(zip(*(column.tolist() for column in columns), strict=True))


def year_at(lat_deg: float, year: int = 2027) -> Any:
    return sky_of(Place(lat_deg, 20.0, "Etc/GMT-1"), Season(date(year, 1, 1), 365))


def test_many_sites_are_each_site_alone() -> None:
    """Chunks of sites and the order of sites change nothing, to a microsecond."""
    lat_deg = np.linspace(-90, 90, 61)
    lon_deg = np.linspace(-180, 180, 61)
    first, n_days = date(2031, 3, 1), 40
    together = rise_set_of_sites(lat_deg, lon_deg, first, n_days)
    assert together.up_at_begin.shape == (61, 4)
    for site in (0, 7, 24, 25, 26, 49, 50, 60):
        one = slice(site, site + 1)
        alone = rise_set_of_sites(lat_deg[one], lon_deg[one], first, n_days)
        ours, theirs = at_site(together, site), at_site(alone, 0)
        assert [row[1:] for row in ours] == [row[1:] for row in theirs]
        assert [row[0] for row in ours] == pytest.approx([row[0] for row in theirs], abs=2e-6)
        assert (together.up_at_begin[site] == alone.up_at_begin[0]).all()


def test_the_state_at_the_begin_is_that_of_the_last_passage_before() -> None:
    """Also where that passage falls into the hour that is searched beyond the days."""
    strewn = np.random.default_rng(7)
    lat_deg, lon_deg = strewn.uniform(-80, 80, 300), strewn.uniform(-180, 180, 300)
    whole = rise_set_of_sites(lat_deg, lon_deg, date(2026, 2, 1), 20)
    later = rise_set_of_sites(lat_deg, lon_deg, date(2026, 2, 16), 2)
    early = whole.utc_s < later.begin_s
    assert (whole.utc_s[early] > later.begin_s - 3600).sum() > 20
    state = whole.up_at_begin.copy()
    for site, limit, up in zip(
        whole.site[early], whole.limit[early], whole.rising[early], strict=True
    ):
        state[site, limit] = up
    assert (later.up_at_begin == state).all()


def test_years_together_are_each_year_alone() -> None:
    """Long runs are worked in blocks of 400 days; no passage falls between them."""
    lat_deg, lon_deg = np.array([66.2, -75.0, 40.0]), np.array([20.0, 140.0, -100.0])
    together = rise_set_of_sites(lat_deg, lon_deg, date(2020, 1, 1), 366 + 365 + 365 + 365)
    years = [(2020, 366), (2021, 365), (2022, 365), (2023, 365)]
    alone = [rise_set_of_sites(lat_deg, lon_deg, date(year, 1, 1), days) for year, days in years]
    for site in range(3):
        pieces = [row for found in alone for row in at_site(found, site)]
        whole = at_site(together, site)
        assert [row[1:] for row in whole] == [row[1:] for row in pieces]
        assert [row[0] for row in whole] == pytest.approx([row[0] for row in pieces], abs=2e-6)


@given(
    lat_deg=st.floats(-90, 90),
    lon_deg=st.floats(-180, 180),
    first=st.dates(date(1900, 1, 1), date(2053, 5, 1)),
)
@settings(max_examples=25, deadline=None)
def test_rises_and_sets_take_turns(lat_deg: float, lon_deg: float, first: date) -> None:
    found = rise_set_of_sites(np.array([lat_deg]), np.array([lon_deg]), first, 150)
    begin_s = (first - date(1970, 1, 1)).days * 86400
    for limit in Limit:
        ours = found.limit == limit
        up = [bool(found.up_at_begin[0, limit]), *found.rising[ours].tolist()]
        assert all(a != b for a, b in pairwise(up))
        instants = [begin_s, *found.utc_s[ours].tolist(), begin_s + 150 * 86400]
        assert all(a < b for a, b in pairwise(instants))


@given(
    lat_deg=st.one_of(st.floats(58, 90), st.floats(-90, -58)),
    lon_deg=st.floats(-180, 180),
    year=st.integers(1900, 2052),
)
@settings(max_examples=20, deadline=None)
def test_no_passage_that_lasts_a_minute_is_lost(lat_deg: float, lon_deg: float, year: int) -> None:
    """Compared with a search at every single minute, which needs no test for grazing."""
    site = Sites.at(np.array([lat_deg]), np.array([lon_deg]), np.zeros(1))
    begin = hour_of(date(year, 1, 1))
    sky = positions(*nodes_of(date(year, 1, 1), date(year, 12, 31)))
    # One hour more than is searched, for the sample at the end of the last minute.
    margins = _margins(site, hours_of(sky, begin - BEFORE, begin + 365 * 24 + AFTER + 1))
    found = crossings(margins[:, :-1], 0.01)
    for limit in Limit:
        minutes = densified(margins[limit][:, None], 60)[: 365 * 24 * 60 + 1, 0]
        changes = np.flatnonzero(np.diff(minutes > 0))
        ours = found.row == limit
        minute = np.floor((found.sample[ours] - BEFORE + found.beyond[ours]) * 60)
        lone = np.unique(minute, return_counts=True)
        assert set(changes) == {int(m) for m, n in zip(*lone, strict=True) if n % 2}


@given(st.floats(-60, 60), st.floats(-170, 170), st.dates(date(1901, 1, 1), date(2052, 1, 1)))
@settings(max_examples=20, deadline=None)
def test_the_day_brightens_in_order(lat_deg: float, lon_deg: float, first: date) -> None:
    found = rise_set_of_sites(np.array([lat_deg]), np.array([lon_deg]), first, 8)
    sun = [row for row in at_site(found, 0) if row[1] != Limit.MOON_RIM]
    kinds = [(Limit(limit), rising) for _, limit, rising in sun]
    order = [
        (Limit.CIVIL_LIGHT, True),
        (Limit.GROUND_LIGHT, True),
        (Limit.SUN_RIM, True),
        (Limit.SUN_RIM, False),
        (Limit.GROUND_LIGHT, False),
        (Limit.CIVIL_LIGHT, False),
    ]
    start = order.index(kinds[0])
    assert kinds == [order[(start + number) % 6] for number in range(len(kinds))]


def test_the_sun_comes_earlier_to_the_east() -> None:
    lon_deg = np.array([0.0, 1.0])
    found = rise_set_of_sites(np.full(2, 45.0), lon_deg, date(2027, 3, 1), 20)
    rises = (found.limit == Limit.SUN_RIM) & found.rising
    west, east = found.utc_s[rises & (found.site == 0)], found.utc_s[rises & (found.site == 1)]
    # One degree is four minutes, less a second for the Sun's own way among the stars.
    assert west - east == pytest.approx(240, abs=2)


@pytest.mark.parametrize(
    ("lat_deg", "days_up"),
    # Days with the Sun's upper rim up all day in 2027 (measured with skyfield).
    [(65.0, 0), (66.0, 19), (66.56, 32), (69.65, 70)],
)
def test_midnight_sun(lat_deg: float, days_up: int) -> None:
    sky = year_at(lat_deg)
    assert sky.sun_state.count(BodyState.UP_ALL_DAY) == pytest.approx(days_up, abs=1)
    up = np.array([state is BodyState.UP_ALL_DAY for state in sky.sun_state])
    assert sky.day_length_h[up] == pytest.approx(24)
    assert sky.day_length_h[~up].max() < 24


def test_polar_night_ends_in_mid_january_and_does_not_reach_67_north() -> None:
    tromso = year_at(69.65)
    down = [day for day, s in enumerate(tromso.sun_state) if s is BodyState.DOWN_ALL_DAY]
    assert max(day for day in down if day < 180) == pytest.approx(14, abs=1)  # 15 January
    assert tromso.day_length_h[down].max() == 0
    assert tromso.civil_light_h[down].min() > 3  # noon twilight to walk and water by
    for lat_deg in (66.0, 67.0):
        assert BodyState.DOWN_ALL_DAY not in year_at(lat_deg).sun_state


def test_seasons_of_polar_day_are_mirrored() -> None:
    north, south = year_at(75.0), year_at(-75.0)
    june, december = 171, 354
    assert north.sun_state[june] is south.sun_state[december] is BodyState.UP_ALL_DAY
    assert north.sun_state[december] is south.sun_state[june] is BodyState.DOWN_ALL_DAY


def test_civil_twilight_lasts_all_night_around_midsummer_beyond_60_6_north() -> None:
    # 90 - 23.44 - 6 = 60.56 degrees.
    assert year_at(60.4).civil_light_h.max() < 24
    assert year_at(60.8).civil_light_h.max() == pytest.approx(24)
    assert year_at(60.8).day_length_h.max() < 19.5


@pytest.mark.parametrize(
    ("lat_deg", "no_rise"),
    # Days of 2027 without a moonrise (measured with skyfield).
    [(0.0, 12), (45.0, 12), (60.0, 12), (64.0, 77), (67.0, 140), (70.0, 177)],
)
def test_days_without_a_moonrise(lat_deg: float, no_rise: int) -> None:
    sky = year_at(lat_deg)
    assert sum(not day for day in sky.moonrise) == pytest.approx(no_rise, abs=4)
    assert sum(not day for day in sky.moonset) == pytest.approx(no_rise, abs=4)


def test_some_days_have_two_moonrises_at_high_latitudes() -> None:
    twice = [day for day in year_at(67.0).moonrise if len(day) == 2]
    assert twice
    assert all(first < second for first, second in twice)
    assert max(len(day) for day in year_at(45.0).moonrise) == 1


def test_a_year_in_the_middle_latitudes() -> None:
    # 365 sunrises, 353 moonrises, 353 moonsets at 45 N in 2027 (measured with skyfield).
    sky = sky_of(Place(45.0, 7.0, "Etc/UTC"), YEAR_2027)
    lists = (sky.sunrise, sky.sunset, sky.moonrise, sky.moonset)
    assert [sum(map(len, days)) for days in lists] == [365, 365, 353, 353]


def test_a_skyline_of_no_height_is_the_open_horizon() -> None:
    assert sun_limit_deg(np.array([0.0]))[0] == pytest.approx(-50 / 60, abs=1e-12)


@given(st.floats(0, 44.9), st.floats(0.01, 0.1))
def test_a_higher_skyline_hides_the_sun_longer(horizon_deg: float, more_deg: float) -> None:
    lower, higher = sun_limit_deg(np.array([horizon_deg, horizon_deg + more_deg]))
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
    for when in (*sky.sunrise[0], *sky.sunset[0]):
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
    late = (valley.sunrise[0][0] - open_land.sunrise[0][0]) / timedelta(minutes=1)
    early = (open_land.sunset[0][0] - valley.sunset[0][0]) / timedelta(minutes=1)
    assert latest_min - 4.5 < late < latest_min
    assert latest_min - 4.5 < early < latest_min
    assert open_land.day_length_h[0] - valley.day_length_h[0] == pytest.approx((late + early) / 60)


def test_a_skyline_moves_neither_twilight_nor_moon() -> None:
    season = Season(date(2027, 5, 1), 10)
    open_land = sky_of(Place(50.0, 8.0, "Europe/Berlin"), season)
    valley = sky_of(Place(50.0, 8.0, "Europe/Berlin", 20.0), season)
    assert valley.civil_dawn == open_land.civil_dawn
    assert valley.ground_dusk == open_land.ground_dusk
    assert valley.moonrise == open_land.moonrise
    assert valley.sunrise != open_land.sunrise


def test_a_deep_valley_has_no_sun_in_winter() -> None:
    sky = sky_of(Place(50.0, 8.0, "Europe/Berlin", 20.0), YEAR_2027)
    assert sky.sun_state[355] is BodyState.DOWN_ALL_DAY
    assert sky.day_length_h[355] == 0
    assert sky.sun_state[171] is BodyState.RISES_OR_SETS


@pytest.mark.parametrize(
    ("first", "n_days"),
    [(date(1899, 12, 31), 5), (date(2053, 9, 30), 2), (date(2060, 1, 1), 1)],
)
def test_days_beyond_the_ephemeris_are_refused(first: date, n_days: int) -> None:
    with pytest.raises(SkyRangeError, match="outside the years of the ephemeris"):
        rise_set_of_sites(np.zeros(1), np.zeros(1), first, n_days)


def test_the_first_and_the_last_day_are_served() -> None:
    for first in (date(1900, 1, 1), date(2053, 9, 30)):
        found = rise_set_of_sites(np.zeros(1), np.zeros(1), first, 1)
        assert np.count_nonzero(found.limit == Limit.SUN_RIM) == 2
