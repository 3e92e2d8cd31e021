"""What must hold for phases and seasons in every year."""

from collections import Counter
from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.sky import SkyEvent
from scheduler.sky.events import EventName
from tests.sky.instants import PHASES, SEASONS, events_between, utc


@pytest.fixture(scope="module")
def century() -> list[SkyEvent]:
    """All events the ephemeris covers."""
    return events_between(utc(1900), utc(2053, 10, 1))


def test_every_phase_of_the_covered_years_keeps_its_order_and_its_distance(
    century: list[SkyEvent],
) -> None:
    phases = [event for event in century if event.event in PHASES]
    order = [PHASES.index(event.event) for event in phases]
    assert all((later - earlier) % 4 == 1 for earlier, later in pairwise(order))
    # Gaps between principal phases, measured on DE440 over 1600-2600: 6.58 to 8.24 days.
    gaps_d = [(b.utc - a.utc) / timedelta(days=1) for a, b in pairwise(phases)]
    assert 6.57 < min(gaps_d) < max(gaps_d) < 8.25
    # Lunations: NASA's phase page gives 29.26 to 29.80 d, which is a little too narrow.
    news = [event.utc for event in phases if event.event is EventName.NEW_MOON]
    months_d = [(b - a) / timedelta(days=1) for a, b in pairwise(news)]
    assert 29.26 < min(months_d) < max(months_d) < 29.84
    # Mean synodic month of Chapront-Touzé and Chapront (1988): 29.5305888531 d. A new moon
    # strays up to 14 hours from the mean one, at both ends of the 1901 months.
    assert abs(np.mean(months_d) - 29.530589) < 2 * 14 / 24 / len(months_d)


def test_years_have_49_or_50_phases_and_7570_stand_in_1900_to_2052(
    century: list[SkyEvent],
) -> None:
    # 7570 principal phases: US Naval Observatory API, 1900-2052.
    years = Counter(e.utc.year for e in century if e.event in PHASES and e.utc.year < 2053)
    assert set(years) == set(range(1900, 2053))
    assert set(years.values()) == {49, 50}
    assert sum(years.values()) == 7570


def test_counts_of_each_phase_in_recent_years(century: list[SkyEvent]) -> None:
    # [new, first quarter, full, last quarter] a year, from the same tables.
    published = {
        2024: [13, 12, 12, 13],
        2025: [12, 13, 12, 12],
        2026: [12, 12, 13, 13],
        2027: [13, 12, 12, 12],
        2028: [12, 13, 13, 12],
        2029: [12, 12, 12, 13],
        2030: [13, 13, 12, 12],
    }
    counts = Counter((event.utc.year, event.event) for event in century)
    assert {year: [counts[year, name] for name in PHASES] for year in published} == published


def test_months_with_two_full_moons_and_a_february_with_none(century: list[SkyEvent]) -> None:
    # By UTC months 2024-2037, from the Naval Observatory's phases.
    counts = Counter(
        (event.utc.year, event.utc.month)
        for event in century
        if event.event is EventName.FULL_MOON and 2024 <= event.utc.year <= 2037
    )
    twice = [month for month, count in sorted(counts.items()) if count == 2]
    assert twice == [(2026, 5), (2028, 12), (2031, 9), (2034, 7), (2037, 1), (2037, 3)]
    assert counts[2037, 2] == 0


def test_each_year_has_its_four_seasons_in_order(century: list[SkyEvent]) -> None:
    seasons = [event for event in century if event.event in SEASONS]
    assert [event.event for event in seasons] == list(SEASONS) * 153 + list(SEASONS[:3])
    assert {event.utc.month for event in seasons} == {3, 6, 9, 12}


@given(
    begin_s=st.integers(0, 86400 * 55700),
    days=st.floats(0.01, 420),
    cuts=st.lists(st.floats(0, 1), max_size=6),
)
@settings(max_examples=30, deadline=None)
def test_a_span_cut_in_pieces_gives_the_same_events(
    begin_s: int, days: float, cuts: list[float]
) -> None:
    first = utc(1900) + timedelta(seconds=begin_s)
    last = first + timedelta(days=days)
    ends = sorted({first, last, *(first + (last - first) * cut for cut in cuts)})
    pieces = [event for a, b in pairwise(ends) for event in events_between(a, b)]
    assert pieces == events_between(first, last)


def test_events_come_in_order_of_time(century: list[SkyEvent]) -> None:
    assert all(a.utc <= b.utc for a, b in pairwise(century))


def test_the_last_covered_days_have_their_events() -> None:
    # 2053-09-26 05:36 UT, September equinox of 2053 is 09-22; own figures, for the edge only.
    names = [event.event for event in events_between(utc(2053, 9, 1), utc(2053, 10, 1))]
    assert names.count(EventName.SEPTEMBER_EQUINOX) == 1
    assert set(PHASES) <= set(names)
