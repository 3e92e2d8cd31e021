"""The library's own slow search as an oracle: dense sampling, exact vectors, no shortcuts."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from skyfield.almanac import moon_phases, seasons
from skyfield.nutationlib import iau2000b_radians
from skyfield.searchlib import find_discrete
from skyfield.toposlib import wgs84

from scheduler.sky.daylight import LightLimit
from tests.sky.instants import PHASES, SEASONS, events_between, of_limits, rise_set

Floats = NDArray[np.float64]
STEP_D = 0.01
SUN_LIMITS = (LightLimit.SUN_RIM, LightLimit.GROUND_LIGHT, LightLimit.CIVIL_LIGHT)
LATITUDES = (-85.0, -66.5, -23.4, 30.0, 69.65, 85.0)


@pytest.fixture(scope="module")
def search(skyfield_scale: Any) -> Callable[[Any, datetime, datetime], Floats]:
    """Run the library's search and return POSIX seconds."""

    def run(function: Any, first: datetime, last: datetime) -> Floats:
        ends = (skyfield_scale.from_datetime(when) for when in (first, last))
        found, _ = find_discrete(*ends, function)
        return np.array([when.timestamp() for when in found.utc_datetime()])

    return run


def sun_level(observer: Any, kernel: Any) -> Any:
    """How many of the three limits the Sun stands above."""

    def level(t: Any) -> Any:
        t._nutation_angles_radians = iau2000b_radians(t)
        altitude = observer.at(t).observe(kernel["sun"]).apparent().altaz()[0].degrees
        return (altitude > -50 / 60).astype(int) + (altitude > -3) + (altitude > -6)

    level.step_days = STEP_D  # type: ignore[attr-defined]  # the library reads it from there
    return level


def moon_up(observer: Any, kernel: Any) -> Any:
    """Whether the Moon's upper rim, lifted by refraction, is above the horizon."""

    def up(t: Any) -> Any:
        t._nutation_angles_radians = iau2000b_radians(t)
        altitude, _, distance = observer.at(t).observe(kernel["moon"]).apparent().altaz()
        return altitude.degrees > -34 / 60 - np.degrees(np.arcsin(1737.4 / distance.km))

    up.step_days = STEP_D  # type: ignore[attr-defined]  # the library reads it from there
    return up


def assert_same(ours: Floats, theirs: Floats, within_s: float) -> None:
    """Equal counts and instants; arcs shorter than the library's step may be ours alone."""
    if len(ours) != len(theirs):
        ours = without_short_arcs(ours, theirs)
    assert len(ours) == len(theirs)
    assert np.abs(ours - theirs).max(initial=0) < within_s


def without_short_arcs(ours: Floats, theirs: Floats) -> Floats:
    """Leave out pairs of passages under one step of the search apart that it stepped over."""
    lone = np.flatnonzero(np.abs(ours[:, None] - theirs[None, :]).min(axis=1) > 30)
    assert len(lone) % 2 == 0
    for first, second in lone.reshape(-1, 2):
        assert ours[second] - ours[first] < STEP_D * 86400
    return np.delete(ours, lone)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("lat_deg", "year"),
    # From pole to pole in 2027 (PyEphem has 0, 34 S and 59 N); in other years where bodies graze
    # their limits. (Over 1976-2048 at 85 S, 69.65, 78.2 and 85 N, 76 site-years: Sun 0.0015 s,
    # Moon 0.04 s, none lost.)
    [*((lat_deg, 2027) for lat_deg in LATITUDES), *((-85.0, 1980), (69.65, 2040), (85.0, 2048))],
)
def test_rise_set_and_twilight(lat_deg: float, year: int, kernel: Any, search: Any) -> None:
    """Sun within 0.004 s, Moon within 0.1 s, over half a year each."""
    first, n_days = date(year, 1 if year % 2 else 7, 1), 184
    begin = datetime(first.year, first.month, 1, tzinfo=UTC)
    lon_deg = 7.0
    observer = kernel["earth"] + wgs84.latlon(lat_deg, lon_deg)
    found = rise_set(lat_deg, lon_deg, first, n_days)
    span = begin, begin + timedelta(days=n_days)
    sun, moon = (
        np.array([instant_s for instant_s, _, _ in of_limits(found, *limits)])
        for limits in (SUN_LIMITS, (LightLimit.MOON_RIM,))
    )
    assert_same(sun, search(sun_level(observer, kernel), *span), 0.004)
    assert_same(moon, search(moon_up(observer, kernel), *span), 0.1)


@pytest.mark.parametrize(
    ("year", "lat_deg", "lon_deg"),
    # Arcs that the search above steps over, for its step is 14.4 minutes: of the Moon at
    # 66.5 N, of the Sun at 69.65 N.
    [(2027, 66.5, 7.0), (2000, 69.65, 20.0)],
)
def test_arcs_too_short_for_the_search_are_real(
    year: int, lat_deg: float, lon_deg: float, kernel: Any, skyfield_scale: Any
) -> None:
    """The library's altitude is across the limit within the arc, and only there."""
    found = rise_set(lat_deg, lon_deg, date(year, 1, 1), 366)
    observer = kernel["earth"] + wgs84.latlon(lat_deg, lon_deg)
    seen = 0
    for limit in LightLimit:
        level = (moon_up if limit is LightLimit.MOON_RIM else sun_level)(observer, kernel)
        for (begin_s, _, rising), (end_s, _, _) in pairwise(of_limits(found, limit)):
            if end_s - begin_s >= 600:
                continue
            around = [begin_s - 1, begin_s + 1, (begin_s + end_s) / 2, end_s - 1, end_s + 1]
            when = skyfield_scale.from_datetimes([datetime.fromtimestamp(s, UTC) for s in around])
            before, *within, after = level(when).tolist()
            assert before == after
            assert set(within) == {before + (1 if rising else -1)}
            seen += 1
    assert seen


@pytest.mark.slow
@pytest.mark.parametrize("year", [1975, 2027, 2049])
def test_phases_and_seasons(year: int, kernel: Any, search: Any) -> None:
    span = datetime(year, 1, 1, tzinfo=UTC), datetime(year + 1, 1, 1, tzinfo=UTC)
    events = events_between(*span)
    for names, function in ((PHASES, moon_phases(kernel)), (SEASONS, seasons(kernel))):
        ours = np.array([event.utc.timestamp() for event in events if event.event in names])
        assert_same(ours, search(function, *span), 0.01)
