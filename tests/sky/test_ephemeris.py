"""Positions of Moon and Sun against printed places, and the limits of the kernel."""

import socket
import subprocess
import sys
import warnings
from collections.abc import Callable
from datetime import date, datetime, timedelta

import numpy as np
import pytest
from numpy.typing import NDArray

from scheduler.sky import ephemeris
from scheduler.sky.clock import delta_t_s, tt_of_utc
from scheduler.sky.curves import values_at
from scheduler.sky.ephemeris import (
    NODES_PER_DAY,
    Positions,
    ecliptic_of,
    nodes_of,
    positions,
    turn_rad,
)
from scheduler.sky.ground import HOURS_PER_NODE, SkySite, hours_of, sine_altitudes
from scheduler.terms import Place

Rows = list[dict[str, str]]
Floats = NDArray[np.float64]
AU_KM = 149597870.7


def at_tt(when: datetime) -> tuple[Positions, Floats]:
    """Positions around an instant of TT, and its place between the nodes."""
    sky = positions(*nodes_of(when.date(), when.date()))
    days = (when - datetime(2000, 1, 1, 12)) / timedelta(days=1)  # noqa: DTZ001  TT has no zone
    return sky, np.array([days * NODES_PER_DAY - sky.first_node])


def seen(when: datetime, body: str) -> Floats:
    sky, at = at_tt(when)
    vector: Floats = values_at(sky.moon_km if body == "moon" else sky.sun_km, at)[0]
    return vector


def ra_dec_deg(vector: Floats) -> tuple[float, float]:
    x, y, z = vector
    return float(np.degrees(np.arctan2(y, x)) % 360), float(
        np.degrees(np.arctan2(z, np.hypot(x, y)))
    )


def test_apparent_places_agree_with_the_naval_observatory(table: Callable[[str], Rows]) -> None:
    # US Naval Observatory tables of 2007-2008, geocentric apparent places of date in UT1.
    rows = [row for row in table("apparent_positions_usno.csv") if row["kind"] == "geocentric"]
    assert len(rows) == 24
    assert rows
    for row in rows:
        ut1 = datetime.fromisoformat(row["instant_ut1"]).replace(tzinfo=None)
        days = (ut1 - datetime(2000, 1, 1, 12)) / timedelta(days=1)  # noqa: DTZ001  TT
        when = ut1 + timedelta(seconds=float(delta_t_s(np.array([days]))[0]))
        ra_deg, dec_deg = ra_dec_deg(seen(when, row["body"]))
        assert ra_deg == pytest.approx(float(row["ra_deg_of_date"]), abs=0.5 / 3600)
        assert dec_deg == pytest.approx(float(row["dec_deg_of_date"]), abs=0.5 / 3600)


def test_topocentric_distances_agree_with_the_naval_observatory(
    table: Callable[[str], Rows],
) -> None:
    """Atlanta, 33.76 N 84.41 W, 322 m: parallax takes up to 6400 km off the distance."""
    rows = [
        row
        for row in table("apparent_positions_usno.csv")
        if row["kind"].startswith("topocentric") and row["body"] == "moon"
    ]
    site = SkySite.of(Place(33.76, -84.41, "Etc/UTC"))
    assert rows
    for row in rows:
        day = date.fromisoformat(row["instant_ut1"][:10])
        sky = positions(*nodes_of(day, day))
        hour = (day - date(2000, 1, 1)).days * 24 - 12
        hours = hours_of(sky, hour, hour + 1)
        _, range_km = sine_altitudes(site, hours.moon, hours.moon_km)
        # Their distance is geometric, ours seen: 36 km apart; TT is 65 s from UT1; 0.3 km up.
        assert range_km[0] == pytest.approx(float(row["distance"]), abs=100)


def test_the_moon_of_meeus_example_47() -> None:
    # Meeus, Astronomical Algorithms, 2nd ed., example 47.a, 1992 April 12, 0 h TD.
    when = datetime(1992, 4, 12)  # noqa: DTZ001  TT has no zone
    sky, at = at_tt(when)
    moon = values_at(np.column_stack((sky.moon_km, sky.obliquity_rad, sky.light_range_km)), at)
    x, y, z = ecliptic_of(moon[:, :3], moon[:, 3])[0]
    assert np.degrees(np.arctan2(y, x)) % 360 == pytest.approx(133.167264, abs=10 / 3600)
    assert np.degrees(np.arctan2(z, np.hypot(x, y))) == pytest.approx(-3.229126, abs=4 / 3600)
    ra_deg, dec_deg = ra_dec_deg(moon[0, :3])
    assert ra_deg == pytest.approx(134.688469, abs=10 / 3600)
    assert dec_deg == pytest.approx(13.768367, abs=4 / 3600)
    # The book's distance is the geometric one; ours is that of the light, some 30 km off.
    assert moon[0, 4] == pytest.approx(368409.7, abs=40)


@pytest.mark.parametrize(
    ("instant", "km"),
    [
        # JPL Horizons, 2022: the distance at which the Moon is seen, light time included.
        ("2022-01-01T22:48:58Z", 358025.25),
        ("2022-01-14T09:16:37Z", 405830.764),
        ("2022-01-30T07:03:34Z", 362235.554),
        ("2022-02-11T02:32:46Z", 404932.548),
        ("2022-02-26T22:16:07Z", 367760.875),
        ("2022-03-10T23:02:41Z", 404308.041),
    ],
)
def test_the_moon_is_seen_as_far_away_as_horizons_says(instant: str, km: float) -> None:
    when = datetime.fromisoformat(instant)
    sky = positions(*nodes_of(when.date(), when.date()))
    at = tt_of_utc(np.array([when.timestamp()])) * NODES_PER_DAY - sky.first_node
    assert values_at(sky.light_range_km[:, None], at)[0, 0] == pytest.approx(km, abs=0.01)


def test_the_sun_of_meeus_example_25() -> None:
    # Example 25.a, 1992 October 13, 0 h TD; the book calls the method good to 0.01 degrees.
    ra_deg, dec_deg = ra_dec_deg(seen(datetime(1992, 10, 13), "sun"))  # noqa: DTZ001  TT
    assert ra_deg == pytest.approx(198.38083, abs=0.01)
    assert dec_deg == pytest.approx(-7.78507, abs=0.01)
    sun_km = np.linalg.norm(seen(datetime(1992, 10, 13), "sun"))  # noqa: DTZ001  TT
    assert sun_km / AU_KM == pytest.approx(0.99766, abs=2e-4)


def test_the_obliquity_of_meeus_example_22() -> None:
    # Example 22.a, 1987 April 10, 0 h TD: true obliquity 23 degrees 26' 36.850".
    sky, at = at_tt(datetime(1987, 4, 10))  # noqa: DTZ001  TT has no zone
    obliquity_deg = np.degrees(values_at(sky.obliquity_rad[:, None], at)[0, 0])
    assert obliquity_deg == pytest.approx(23 + 26 / 60 + 36.850 / 3600, abs=0.1 / 3600)


def test_sidereal_time_of_meeus_example_12() -> None:
    # Example 12.a, 1987 April 10, 0 h UT: apparent sidereal time 13h 10m 46.1351s (the
    # figure is from memory of the book; the almanac's own, there quoted, is the same).
    ut_days = (date(1987, 4, 10) - date(2000, 1, 1)).days - 0.5
    tt_days = ut_days + delta_t_s(np.array([ut_days])) / 86400
    sky = positions(*nodes_of(date(1987, 4, 10), date(1987, 4, 10)))
    rest = values_at(sky.sidereal_rad[:, None], tt_days * NODES_PER_DAY - sky.first_node)[0, 0]
    hours = (turn_rad(tt_days)[0] + rest) * 12 / np.pi % 24
    assert hours == pytest.approx(13 + 10 / 60 + 46.1351 / 3600, abs=0.005 / 3600)


def test_arrays_are_read_only_and_shared() -> None:
    nodes = nodes_of(date(2026, 5, 1), date(2026, 5, 3))
    sky = positions(*nodes)
    assert positions(*nodes) is sky
    with pytest.raises(ValueError, match="read-only"):
        sky.moon_km[0, 0] = 0


def test_positions_do_not_depend_on_the_run_they_are_read_in() -> None:
    long, short = positions(20000, 29000), positions(20007, 20300)
    assert (long.moon_km[7:301] == short.moon_km).all()
    assert (long.sun_km[7:301] == short.sun_km).all()
    assert (long.sidereal_rad[7:301] == short.sidereal_rad).all()


def test_the_door_needs_no_network_and_leaves_nothing_open(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise AssertionError("a socket was asked for")

    monkeypatch.setattr(socket, "socket", refused)
    ephemeris.positions.cache_clear()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        positions(*nodes_of(date(2026, 5, 1), date(2026, 5, 3)))


def test_the_room_imports_no_more_of_the_library_than_it_needs() -> None:
    show = "import sys, scheduler.sky; print('skyfield.almanac' in sys.modules, len(sys.modules))"
    done = subprocess.run([sys.executable, "-c", show], capture_output=True, text=True, check=True)
    assert done.stdout.startswith("False")


def test_hours_stand_between_the_nodes() -> None:
    """An hour that is also a node has the node's vector, turned by sidereal time."""
    sky = positions(*nodes_of(date(2026, 5, 1), date(2026, 5, 9)))
    node = sky.first_node + 10
    hours = hours_of(sky, node * HOURS_PER_NODE, node * HOURS_PER_NODE + 1)
    length_km = np.linalg.norm(sky.moon_km[10])
    assert hours.moon_km[0] == pytest.approx(length_km, rel=1e-12)
    angle = turn_rad(np.array([node / NODES_PER_DAY]))[0] + sky.sidereal_rad[10]
    x, y, z = sky.moon_km[10] / length_km
    turned = [np.cos(angle) * x + np.sin(angle) * y, np.cos(angle) * y - np.sin(angle) * x, z]
    assert hours.moon[:, 0] == pytest.approx(turned, abs=1e-10)
