"""The year from warmest day to warmest day."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.terms import N_SLOTS, Season
from scheduler.weather import Cycle, default_cycle, warmest_day_cycle
from tests.frost.records import made, milwaukee

DAYS = st.dates(date(1900, 1, 1), date(2100, 12, 31))
SPLITS = st.sampled_from(["07-24", "01-24", "02-29", "12-31", "01-01", "03-01"])


@given(DAYS, SPLITS)
def test_a_slot_and_its_season_lead_back_to_the_day(day: date, split: str) -> None:
    cycle = Cycle(split)
    assert cycle.date_of(cycle.start_year_of(day), cycle.slot_of(day)) == day
    assert cycle.month_day(cycle.slot_of(day)) == f"{day:%m-%d}"
    assert cycle.slot_of_month_day(f"{day:%m-%d}") == cycle.slot_of(day)


@given(DAYS, SPLITS)
def test_days_one_by_one_and_as_an_array_are_the_same(first: date, split: str) -> None:
    cycle, season = Cycle(split), Season(first, 500)
    slots, years = cycle.slots_of(season)
    assert slots.tolist() == [cycle.slot_of(day) for day in season]
    assert years.tolist() == [cycle.start_year_of(day) for day in season]


@given(DAYS, SPLITS)
def test_slots_rise_by_one_and_pass_over_29_february_in_common_years_only(
    day: date, split: str
) -> None:
    cycle = Cycle(split)
    after = day + timedelta(days=1)
    step = (cycle.slot_of(after) - cycle.slot_of(day)) % N_SLOTS
    skips = (day.month, day.day, after.month) == (2, 28, 3)
    assert step == (2 if skips else 1)


def test_the_29_february_of_a_common_year_is_told_as_1_march() -> None:
    cycle = Cycle("07-24")
    assert cycle.date_of(2026, cycle.slot_of_month_day("02-29")) == date(2027, 3, 1)
    assert cycle.date_of(2027, cycle.slot_of_month_day("02-29")) == date(2028, 2, 29)


def test_a_growing_season_bears_the_years_it_touches() -> None:
    assert Cycle("07-26").label(1991) == "1991"
    assert Cycle("01-22").label(2011) == "2010-11"
    assert Cycle("01-24").label(2000) == "1999-2000"


def test_milwaukee_is_split_at_the_end_of_july() -> None:
    # 26 July: first harmonic of the whole GHCN-Daily record of Milwaukee, computed
    record = milwaukee()
    cycle = warmest_day_cycle(record.season, record.tmin_c, southern=False)
    assert abs(cycle.slot_of(date(2027, 7, 26))) in (0, 1, N_SLOTS - 1)


@pytest.mark.parametrize(("southern", "warmest"), [(False, "07-24"), (True, "01-24")])
def test_the_split_follows_the_record_and_not_the_hemisphere_it_is_told(
    *, southern: bool, warmest: str
) -> None:
    record = made(southern=southern, noise_c=1.0)
    cycle = warmest_day_cycle(record.season, record.tmin_c, southern=not southern)
    away = cycle.slot_of_month_day(warmest)
    assert min(away, N_SLOTS - away) <= 3


@pytest.mark.parametrize("southern", [False, True])
def test_a_record_of_half_a_year_takes_the_published_day(*, southern: bool) -> None:
    season = Season(date(2027, 1, 1), 180)
    cycle = warmest_day_cycle(season, np.full(180, 5.0), southern=southern)
    assert cycle == default_cycle(southern=southern)


def test_a_year_without_a_warm_part_takes_the_published_day() -> None:
    season = Season(date(2025, 1, 1), 730)
    cycle = warmest_day_cycle(season, np.full(730, 21.0), southern=True)
    assert cycle.split == "01-24"
