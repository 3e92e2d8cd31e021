"""The frost window of a plot: what must hold whatever the record."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scheduler.frost import FrostRisk, climate_of
from scheduler.frost.risk import risk_of
from scheduler.frost.station_report import free_season
from scheduler.terms import DaySpan, Season
from scheduler.weather import Record
from tests.frost.records import ask, made, milwaukee, shifted, warmer, with_frosts

TWO_YEARS = Season.between(date(2026, 7, 1), date(2028, 6, 30))


def _records(*swings_c: float) -> st.SearchStrategy[Record]:
    return st.builds(
        made,
        first_year=st.just(1990),
        n_years=st.integers(5, 12),
        seed=st.integers(0, 10_000),
        mean_c=st.sampled_from([-2.0, 3.0, 6.0, 10.0]),
        swing_c=st.sampled_from(swings_c),
    )


RECORDS = _records(4.0, 9.0, 13.0)
few = settings(max_examples=25, deadline=None)


def _at_least_as_careful(careful: FrostRisk, bold: FrostRisk) -> None:
    assert (careful.after_by_slot >= bold.after_by_slot).all()
    assert (careful.before_by_slot >= bold.before_by_slot).all()
    assert (careful.open_by_slot >= bold.open_by_slot).all()


@few
@given(RECORDS, st.floats(0, 6), st.sampled_from([0.0, 1.3]))
def test_a_colder_plot_never_closes_earlier(
    record: Record, colder_c: float, spread_c: float
) -> None:
    climate = climate_of(record)
    risks = [
        risk_of(
            climate,
            threshold_c=0.0,
            offset_c=offset_c,
            offset_spread_c=spread_c,
            tolerance=0.1,
            season=TWO_YEARS,
            southern=False,
        )
        for offset_c in (-colder_c, 0.0)
    ]
    _at_least_as_careful(*risks)


@few
@given(RECORDS, st.floats(0, 3))
def test_a_colder_record_never_closes_earlier(record: Record, colder_c: float) -> None:
    _at_least_as_careful(ask(warmer(record, -round(colder_c, 1))), ask(record))


@few
@given(RECORDS, st.floats(-2, 3), st.floats(-5, 5))
def test_an_offset_is_the_same_as_a_threshold_the_other_way(
    record: Record, threshold_c: float, offset_c: float
) -> None:
    threshold_c, offset_c = round(threshold_c, 2), round(offset_c, 2)
    one = ask(record, threshold_c=threshold_c, offset_c=offset_c)
    other = ask(record, threshold_c=round(threshold_c - offset_c, 2))
    assert (one.after_by_slot == other.after_by_slot).all()
    assert one.last_frost == other.last_frost


@few
@given(RECORDS, st.floats(0.01, 0.5))
def test_chances_run_one_way_and_stay_between_nought_and_one(
    record: Record, tolerance: float
) -> None:
    risk = ask(record, tolerance=tolerance)
    assert (np.diff(risk.after_by_slot) <= 0).all()
    assert (np.diff(risk.before_by_slot) >= 0).all()
    for chances in (risk.after_by_slot, risk.before_by_slot):
        assert ((chances > 0) & (chances < 1)).all()


@few
@given(RECORDS, st.floats(0.02, 0.5))
def test_more_tolerance_never_opens_a_day(record: Record, tolerance: float) -> None:
    strict, easy = ask(record, tolerance=tolerance / 2), ask(record, tolerance=tolerance)
    assert (strict.open_by_slot >= easy.open_by_slot).all()


@few
@given(_records(13.0, 16.0))  # in a weaker cycle the noise of a few years moves the split by weeks
def test_six_months_and_a_hemisphere_later_the_risk_is_the_same(record: Record) -> None:
    # 184 days: from 24 July to 24 January. 29 February has its slot at another place of the
    # cycle, and the split may fall a day beside: the curves lie within two days
    north, south = ask(record), ask(shifted(record, 184), southern=True)
    assume(north.ever_closed)  # with frosts at midsummer a day of the split counts for much
    assert north.n_seasons == south.n_seasons
    for one, other in (
        (north.after_by_slot, south.after_by_slot),
        (south.before_by_slot, north.before_by_slot),
    ):
        falls = one[0] >= one[-1]
        early, late = (one[:-4], one[4:]) if falls else (one[4:], one[:-4])
        assert (early >= other[2:-2]).all()
        assert (late <= other[2:-2]).all()


@few
@given(RECORDS, st.dates(date(2026, 1, 1), date(2030, 12, 31)))
def test_the_spell_that_holds_a_day_ends_where_the_window_closes(
    record: Record, day: date
) -> None:
    risk = ask(record)
    end = risk.closes_after(day)
    if end is None:
        assert not risk.is_open(day) or not risk.ever_closed
        return
    spell = [day + timedelta(days=n) for n in range((end - day).days + 1)]
    assert all(risk.is_open(one) for one in spell)
    assert not risk.is_open(end + timedelta(days=1))


def test_the_date_and_the_printed_chance_agree() -> None:
    risk = ask(milwaukee(), season=TWO_YEARS)
    end = risk.closes_after(date(2027, 4, 1))
    assert end == date(2027, 5, 9)
    assert risk.last_frost.p10 == "05-10"  # from that day on the chance is at most 10 %
    at = TWO_YEARS.day_of(end)
    assert risk.chance_on_or_after[at] > 0.1 >= risk.chance_on_or_after[at + 1]
    begin = risk.opens_on(date(2027, 8, 1))
    assert begin == date(2027, 10, 5)
    assert risk.first_frost.p10 == "10-04"
    slot = risk.cycle.slot_of(begin)
    assert risk.before_by_slot[slot] > 0.1 >= risk.before_by_slot[slot - 1]


def test_the_window_runs_over_the_new_year_and_leap_years_do_not_move_it() -> None:
    season = Season.between(date(2027, 7, 1), date(2029, 6, 30))  # 2028 is a leap year
    windows = ask(milwaukee(), season=season).windows
    assert windows == (
        DaySpan(date(2027, 10, 5), date(2028, 5, 9)),
        DaySpan(date(2028, 10, 5), date(2029, 5, 9)),
    )


def test_milwaukee_dates_lie_within_five_days_of_the_published_normals() -> None:
    # NOAA/NCEI 1981-2010, 32 F: last P50 22 April, first P50 23 October, season P90 161 d
    record = milwaukee(date(2010, 12, 31))
    risk, free = ask(record), free_season(climate_of(record).seasons(0.0))
    cycle = risk.cycle
    assert risk.period == ("1981", "2010")
    for found, published in ((risk.last_frost.p50, "04-22"), (risk.first_frost.p50, "10-23")):
        assert found is not None
        assert abs(cycle.slot_of_month_day(found) - cycle.slot_of_month_day(published)) <= 5
    assert free is not None
    assert free.p90_days == pytest.approx(161, abs=5)
    # P50 of the season is published as 182 d; that of the raw record is 175.5, computed
    # beforehand, since published first freezes are adjusted by 4.5 days
    assert free.p50_days == 175.5


def test_the_latest_frost_seen_is_told_with_its_year() -> None:
    risk = ask(milwaukee())
    assert risk.last_frost.latest == date(1997, 5, 16)
    assert risk.first_frost.earliest == date(1995, 9, 23)


def test_an_alpine_record_has_no_reliable_season_without_frost() -> None:
    # frosts in July and August of most years; around the warmest day itself each is rare
    risk = ask(made(1990, 30, mean_c=-1.0, swing_c=6.0))
    assert risk.before_by_slot[0] < 0.1
    assert risk.after_by_slot[-1] < 0.1
    assert not risk.ever_closed
    assert risk.open.all()
    assert risk.closes_after(date(2027, 7, 1)) is None


def test_a_record_without_frost_never_opens() -> None:
    risk = ask(made(1985, 25, mean_c=22.0, swing_c=4.0, noise_c=1.0))
    assert not risk.ever_open
    assert risk.opens_on(date(2027, 1, 1)) is None
    assert risk.windows == ()
    assert risk.last_frost.p50 is None
    assert risk.last_frost.latest is None


def test_rare_frosts_after_the_coldest_day_still_open_the_window() -> None:
    # a frost in February in 4 of 30 years: by the chance of the first alone no day opens
    frosts = [date(1992, 2, 1), date(1998, 2, 10), date(2005, 2, 20), date(2011, 2, 25)]
    record = with_frosts(frosts, date(1985, 8, 1), date(2015, 7, 1))
    risk = ask(record)
    assert risk.n_seasons == 30
    assert risk.is_open(date(2027, 2, 5))
    assert risk.closes_after(date(2027, 2, 5)) == date(2027, 2, 10)


def test_own_dates_open_the_window_from_first_to_last() -> None:
    risk = _without_record(own_last="05-10", own_first="10-05")
    assert risk.basis == "own dates"
    assert risk.windows == (
        DaySpan(date(2026, 10, 5), date(2027, 5, 10)),
        DaySpan(date(2027, 10, 5), date(2028, 5, 10)),
    )
    assert np.isnan(risk.chance_on_or_after).all()
    assert np.isnan(risk.chance_within(56)).all()
    assert risk.closes_after(date(2027, 3, 1)) == date(2027, 5, 10)
    assert risk.n_seasons == 0


def test_the_doubt_of_own_dates_widens_the_window_on_both_sides() -> None:
    risk = _without_record(own_last="05-10", own_first="10-05", own_doubt_days=14)
    assert risk.windows[0] == DaySpan(date(2026, 9, 21), date(2027, 5, 24))
    assert risk.doubt_days == 14
    south = _without_record(own_last="10-01", own_first="05-01", own_doubt_days=14, southern=True)
    assert south.closes_after(date(2027, 7, 1)) == date(2027, 10, 15)
    assert south.opens_on(date(2027, 3, 1)) == date(2027, 4, 17)


def test_a_doubt_that_leaves_no_month_without_frost_leaves_no_safe_day() -> None:
    assert _without_record(own_last="06-25", own_first="08-25", own_doubt_days=10).ever_closed
    assert not _without_record(own_last="06-25", own_first="08-25", own_doubt_days=20).ever_closed


def test_own_dates_of_the_south() -> None:
    risk = _without_record(own_last="10-01", own_first="05-01", southern=True)
    assert not risk.is_open(date(2027, 1, 15))
    assert risk.is_open(date(2027, 7, 1))
    assert risk.closes_after(date(2027, 7, 1)) == date(2027, 10, 1)


def test_with_one_own_date_the_other_side_is_open_to_midsummer() -> None:
    risk = _without_record(own_last="05-10")
    assert not risk.is_open(date(2027, 5, 11))
    assert not risk.is_open(date(2027, 7, 23))
    assert risk.is_open(date(2027, 7, 24))
    risk = _without_record(own_first="10-05")
    assert risk.is_open(date(2027, 7, 23))
    assert not risk.is_open(date(2027, 7, 24))
    assert risk.is_open(date(2027, 10, 5))


def test_with_nothing_known_every_day_is_open() -> None:
    risk = _without_record()
    assert risk.basis == "unknown"
    assert risk.open.all()
    assert risk.open_within(56).all()


def test_own_dates_the_wrong_way_round_leave_no_safe_day() -> None:
    assert _without_record(own_last="10-05", own_first="05-10").open.all()


def _without_record(
    own_last: str | None = None,
    own_first: str | None = None,
    *,
    own_doubt_days: int = 0,
    southern: bool = False,
) -> FrostRisk:
    return risk_of(
        None,
        threshold_c=0.0,
        offset_c=0.0,
        tolerance=0.1,
        season=TWO_YEARS,
        southern=southern,
        own_last=own_last,
        own_first=own_first,
        own_doubt_days=own_doubt_days,
    )


def test_arrays_cannot_be_changed() -> None:
    risk = ask(made(1990, 6))
    for array in (risk.open, risk.chance_on_or_after, risk.chance_within(30), risk.open_by_slot):
        assert not array.flags.writeable
