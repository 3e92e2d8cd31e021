"""Civil days through every trick the clocks play."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.sky import sky_of
from scheduler.sky.civil_sky import CivilDays, first_instant
from scheduler.sky.clock import datetime_of
from scheduler.terms import Place, Season

ZONES = [
    "Europe/Paris", "America/New_York", "Australia/Lord_Howe", "Africa/Cairo",
    "America/Santiago", "Asia/Beirut", "America/Asuncion", "Pacific/Apia",
    "Pacific/Kiritimati", "America/St_Johns", "America/Havana", "Atlantic/Azores",
    "Asia/Kolkata", "Asia/Kathmandu", "Africa/Casablanca", "Antarctica/Troll",
    "Asia/Gaza", "America/Toronto", "Etc/GMT+12", "Europe/Dublin", "Asia/Manila",
]  # fmt: skip


def starts(zone: str, day: date) -> datetime:
    """The first instant of a date, on its own clock."""
    return datetime_of(first_instant(day, ZoneInfo(zone)), ZoneInfo(zone))


def hours(zone: str, day: date) -> float:
    """Length of a civil day."""
    days = CivilDays.of(Season(day, 1), ZoneInfo(zone))
    return float(np.diff(days.starts_s)[0] / 3600)


@pytest.mark.parametrize(
    ("zone", "day", "clock"),
    [
        # IANA time zone database: midnight does not exist on these dates.
        ("Africa/Cairo", date(2026, 4, 24), time(1)),
        ("America/Santiago", date(2026, 9, 6), time(1)),
        ("Asia/Beirut", date(2026, 3, 29), time(1)),
        ("America/Asuncion", date(2024, 10, 6), time(1)),
        # Clocks went from 23:30 to 0:30: the date began half an hour late on the dial.
        ("America/Toronto", date(1919, 3, 31), time(0, 30)),
        # And ordinary dates.
        ("Europe/Paris", date(2026, 3, 29), time(0)),
        ("Asia/Kolkata", date(2026, 3, 29), time(0)),
        # Havana repeats the first hour of the date: the first of both counts.
        ("America/Havana", date(2026, 11, 1), time(0)),
    ],
)
def test_a_date_begins_with_its_first_instant(zone: str, day: date, clock: time) -> None:
    begin = starts(zone, day)
    assert (begin.date(), begin.time()) == (day, clock)
    assert (begin.astimezone(UTC) - timedelta(seconds=1)).astimezone(ZoneInfo(zone)).date() < day


@pytest.mark.parametrize(
    ("zone", "day", "length_h"),
    [
        ("Europe/Paris", date(2026, 3, 29), 23),
        ("Europe/Paris", date(2026, 10, 25), 25),
        ("Europe/Paris", date(2026, 6, 1), 24),
        ("Australia/Lord_Howe", date(2026, 10, 4), 23.5),
        ("Australia/Lord_Howe", date(2026, 4, 5), 24.5),
        ("Africa/Cairo", date(2026, 4, 24), 23),
        ("America/Santiago", date(2026, 9, 6), 23),
        ("America/Santiago", date(2026, 4, 4), 25),
        ("America/Havana", date(2026, 11, 1), 25),
        # The western date line moved: no 30 December 2011 in Apia, no 31 December 1994 in
        # Kiritimati.
        ("Pacific/Apia", date(2011, 12, 29), 24),
        ("Pacific/Apia", date(2011, 12, 30), 0),
        ("Pacific/Apia", date(2011, 12, 31), 24),
        ("Pacific/Kiritimati", date(1994, 12, 31), 0),
    ],
)
def test_the_length_of_a_civil_day(zone: str, day: date, length_h: float) -> None:
    assert hours(zone, day) == length_h


@given(zone=st.sampled_from(ZONES), day=st.dates(date(1900, 1, 1), date(2053, 8, 1)))
@settings(max_examples=300, deadline=None)
def test_days_follow_one_another_without_gaps(zone: str, day: date) -> None:
    clocks = ZoneInfo(zone)
    days = CivilDays.of(Season(day, 3), clocks)
    lengths_h = np.diff(days.starts_s) / 3600
    assert ((lengths_h >= 0) & (lengths_h <= 28)).all()
    for begin_s, length_h, when in zip(days.starts_s, lengths_h, days.season, strict=False):
        if length_h:
            assert datetime_of(begin_s, clocks).date() == when
        assert datetime_of(begin_s - 1, clocks).date() < when


def test_every_rise_and_set_stands_under_its_own_date() -> None:
    """Also in the hour that St John's used to repeat from one minute after midnight."""
    season = Season(date(2006, 10, 20), 20)
    sky = sky_of(Place(47.56, -52.71, "America/St_Johns"), season)
    lists = (
        sky.sun.rises,
        sky.sun.sets,
        sky.moon.rises,
        sky.moon.sets,
        sky.civil_light.rises,
        sky.ground_light.sets,
    )
    for days in lists:
        assert len(days) == season.n_days
        assert any(days)
        for number, instants in enumerate(days):
            assert all(when.date() == season.date_of(number) for when in instants)
            assert list(instants) == sorted(instants)


@pytest.mark.parametrize(
    "zone", ["Pacific/Apia", "Africa/Cairo", "Europe/Paris", "Asia/Kathmandu"]
)
def test_no_passage_is_lost_or_doubled_by_the_calendar(zone: str) -> None:
    """The same instants come out of any zone, whatever days they fall into."""
    site = (-13.8, -171.8)
    local = sky_of(Place(*site, zone), Season(date(2011, 12, 20), 20))
    plain = sky_of(Place(*site, "Etc/UTC"), Season(date(2011, 12, 18), 24))
    for ours, theirs in ((local.moon.rises, plain.moon.rises), (local.sun.sets, plain.sun.sets)):
        instants = [when for day in ours for when in day]
        begin = starts(zone, date(2011, 12, 20))
        end = starts(zone, date(2012, 1, 9))
        known = [when for day in theirs for when in day if begin <= when < end]
        assert [when.timestamp() for when in instants] == pytest.approx(
            [when.timestamp() for when in known], abs=1e-5
        )


def test_the_skipped_day_of_apia_is_empty() -> None:
    sky = sky_of(Place(-13.8, -171.8, "Pacific/Apia"), Season(date(2011, 12, 28), 5))
    assert sky.sun.hours_up[2] == sky.ground_light.hours_up[2] == 0
    assert sky.sun.rises[2] == sky.sun.sets[2] == sky.moon.rises[2] == sky.moon.sets[2] == ()
    assert all(len(day) == 1 for number, day in enumerate(sky.sun.rises) if number != 2)
    assert np.isfinite(sky.lit_fraction).all()


def test_light_is_counted_within_the_civil_day_through_the_change_of_clocks() -> None:
    """All the light of a polar summer day, be it of 23 hours or 25."""
    spring = sky_of(Place(85.0, 10.0, "Europe/Oslo"), Season(date(2027, 3, 27), 3))
    assert spring.ground_light.hours_up.tolist() == pytest.approx([24, 23, 24])
    autumn = sky_of(Place(-85.0, 10.0, "Europe/Oslo"), Season(date(2027, 10, 30), 3))
    assert autumn.sun.hours_up.tolist() == pytest.approx([24, 25, 24])


@given(zone=st.sampled_from(ZONES), first=st.dates(date(1900, 1, 1), date(2053, 8, 1)))
@settings(max_examples=30, deadline=None)
def test_hours_of_light_add_up_over_the_days(zone: str, first: date) -> None:
    """Days share out the light between them: a season has what its two halves have."""
    place = Place(63.0, 25.0, zone)
    whole = sky_of(place, Season(first, 12)).sun.hours_up
    halves = [sky_of(place, Season(first + timedelta(days=d), 6)).sun.hours_up for d in (0, 6)]
    assert whole == pytest.approx(np.concatenate(halves), abs=1e-8)
    assert all(a >= 0 for a in whole)


def test_midnights_of_a_zone_are_in_order() -> None:
    days = CivilDays.of(Season(date(1900, 1, 1), 56155), ZoneInfo("America/St_Johns"))
    assert all(a < b for a, b in pairwise(days.starts_s.tolist()))
