"""Last and first frost of each season, against dated records."""

from datetime import date

import numpy as np
import pytest

from scheduler.frost import climate_of
from scheduler.frost.seasons import SideDates
from scheduler.frost.station_report import quantile
from tests.frost.records import made, milwaukee, seattle, shifted, warmer, with_frosts, without

# Last spring and first autumn frosts of Seattle by year, threshold and test: computed from
# vega-datasets seattle-weather.csv, 1,461 days without gaps; no published dates found.
SEATTLE = {
    ("last", 0.0): ["2012-03-19", "2013-03-04", "2014-02-09", "2015-03-04"],
    ("last", -0.01): ["2012-03-19", "2013-01-22", "2014-02-08", "2015-03-04"],
    ("first", 0.0): ["2012-11-10", "2013-11-21", "2014-11-12", "2015-11-23"],
    ("first", -0.01): ["2012-11-10", "2013-11-21", "2014-11-14", "2015-11-26"],
}


@pytest.mark.parametrize(("side", "threshold_c"), list(SEATTLE))
def test_seattle_frosts_are_at_or_below_the_threshold(side: str, threshold_c: float) -> None:
    # a hundredth below 0 makes "colder than 0" of "at or below 0": the dates differ
    dates = climate_of(seattle()).seasons(threshold_c)
    found = dates.last if side == "last" else dates.first
    assert [str(day) for day in found.dates] == SEATTLE[side, threshold_c]
    assert found.labels == ("2012", "2013", "2014", "2015")


# HHM (California Data Exchange Center), last spring and first autumn days below 32 F by
# day of the year, and the reference output for them, of the R package sharpshootR.
HHM_YEARS = (2000, 2001, 2002, 2005, 2009, 2010)
HHM_SPRING = (162, 165, 161, 170, 165, 168)
HHM_AUTUMN = (249, 238, 271, 253, 219, 241)


def _day(year: int, day_of_year: int) -> date:
    return date.fromordinal(date(year, 1, 1).toordinal() + day_of_year - 1)


def test_hhm_frost_free_days_are_those_of_the_reference_output() -> None:
    springs = [_day(y, d) for y, d in zip(HHM_YEARS, HHM_SPRING, strict=True)]
    autumns = [_day(y, d) for y, d in zip(HHM_YEARS, HHM_AUTUMN, strict=True)]
    whole = with_frosts(springs + autumns, date(1999, 11, 1), date(2011, 3, 1))
    other_years = np.array([day.year not in (*HHM_YEARS, 1999, 2011) for day in whole.season])
    dates = climate_of(without(whole, other_years)).seasons(0.0)
    assert [str(year) for year in HHM_YEARS] == list(dates.last.labels) == list(dates.first.labels)
    springs_found = [day.timetuple().tm_yday for day in dates.last.dates if day]
    autumns_found = [day.timetuple().tm_yday for day in dates.first.dates if day]
    # type 7 quantiles, rounded half to even; free days are the difference of both dates
    spring = np.quantile(springs_found, (0.5, 0.8, 0.9)).tolist()
    autumn = np.quantile(autumns_found, (0.5, 0.2, 0.1)).tolist()
    assert [round(day) for day in spring] == [165, 168, 169]
    assert [round(day) for day in autumn] == [245, 238, 228]
    assert [round(b - a) for a, b in zip(spring, autumn, strict=True)] == [80, 70, 60]


def test_milwaukee_first_freeze_comes_on_22_october_on_average() -> None:
    # average first freeze 22 October (WITI Fox6 Milwaukee, November 2024)
    dates = climate_of(milwaukee()).seasons(0.0).first.dates
    days = [day.timetuple().tm_yday for day in dates if day]
    assert len(days) == 30
    assert float(np.mean(days)) == pytest.approx(295.8, abs=0.05)


def test_milwaukee_last_freeze_has_the_computed_mean_and_spread() -> None:
    # springs 1991-2020: mean 22 April, standard deviation 11.0 days, computed beforehand
    side = climate_of(milwaukee()).seasons(0.0).last
    assert (side.labels[0], side.labels[-1], len(side.labels)) == ("1991", "2020", 30)
    mean = climate_of(milwaukee()).cycle.month_day(round(float(side.slot.mean())))
    assert mean == "04-22"
    assert float(side.slot.std(ddof=1)) == pytest.approx(11.0, abs=0.05)


# NOAA/NCEI 1981-2010 normals of Milwaukee USW00014839 at 32 F, and how many days the raw
# record lies off them: published values are homogenised and smoothed.
NORMALS = [
    ("last", 0.5, "04-22", 0.5),
    ("last", 0.9, "04-08", 1.0),
    ("first", 0.5, "10-23", -4.5),
    ("first", 0.9, "11-06", -1.4),
]


@pytest.mark.parametrize(("side", "chance", "published", "off"), NORMALS)
def test_milwaukee_agrees_with_the_ncei_normals_within_five_days(
    side: str, chance: float, published: str, off: float
) -> None:
    climate = climate_of(milwaukee(date(2010, 12, 31)))
    dates = climate.seasons(0.0)
    assert dates.period == ("1981", "2010")
    last, first = quantile(dates.last.slot, 1 - chance), quantile(dates.first.slot, chance)
    slot = last if side == "last" else first
    assert slot - climate.cycle.slot_of_month_day(published) == pytest.approx(off, abs=0.06)


def test_a_record_that_is_shifted_has_shifted_dates() -> None:
    record = made(1991, 8, seed=4)
    dates, later = climate_of(record).seasons(0.0), climate_of(shifted(record, 10)).seasons(0.0)
    for side, moved in ((dates.last, later.last), (dates.first, later.first)):
        days = [(b - a).days for a, b in zip(side.dates, moved.dates, strict=True) if a and b]
        assert set(days) == {10}


def test_six_months_and_a_hemisphere_later_the_seasons_are_the_same() -> None:
    north = made(1991, 8, seed=5)
    south = shifted(north, 184)  # 24 July to 24 January
    one = climate_of(north).seasons(0.0)
    other = climate_of(south).seasons(0.0)
    assert one.n_seasons == other.n_seasons
    for side, moved in ((one.last, other.last), (one.first, other.first)):
        days = [(b - a).days for a, b in zip(side.dates, moved.dates, strict=True) if a and b]
        assert set(days) == {184}
    assert other.last.labels[0] == f"{one.last.labels[0]}-{int(one.last.labels[0][2:]) + 1}"


def _n_without(side: SideDates) -> int:
    return sum(day is None for day in side.dates)


def test_seasons_without_frost_count_and_have_no_date() -> None:
    record = with_frosts(
        [date(1995, 2, 1), date(1998, 1, 15)], date(1990, 8, 1), date(2000, 6, 30)
    )
    dates = climate_of(record).seasons(0.0)
    assert len(dates.last.labels) == 10
    assert _n_without(dates.last) == 8
    assert dates.last.dates[4] == date(1995, 2, 1)
    assert dates.first.dates[4] == date(1995, 2, 1)  # the first since July 1994
    assert np.isneginf(dates.last.slot[0])
    assert np.isposinf(dates.first.slot[0])


def test_frosts_across_the_new_year_belong_to_one_season() -> None:
    frosts = [date(1994, 12, 30), date(1995, 1, 2)]
    dates = climate_of(with_frosts(frosts, date(1990, 8, 1), date(1999, 6, 30))).seasons(0.0)
    assert date(1995, 1, 2) in dates.last.dates
    assert date(1994, 12, 30) in dates.first.dates
    assert _n_without(dates.last) == len(dates.last.labels) - 1


def test_sums_that_miss_the_threshold_by_float_noise_still_meet_it() -> None:
    # 0.1 + 0.2 is not 0.3 in binary: the comparison is in whole hundredths
    record = with_frosts([date(1995, 2, 1)], date(1990, 8, 1), date(1999, 6, 30), -0.3)
    noisy = warmer(warmer(record, 0.1), 0.2)
    assert noisy.tmin_c[record.season.day_of(date(1995, 2, 1))] != 0.0
    assert _n_without(climate_of(noisy).seasons(0.0).last) == 8
    assert _n_without(climate_of(noisy).seasons(-0.0).last) == 8
    # 100 * 0.29 is less than 29
    record = with_frosts([date(1995, 2, 1)], date(1990, 8, 1), date(1999, 6, 30), 0.29)
    assert _n_without(climate_of(record).seasons(0.29).last) == 8


def test_a_period_takes_the_latest_seasons() -> None:
    dates = climate_of(made(1990, 12), period_seasons=5).seasons(0.0)
    assert dates.n_seasons == 5
    assert dates.period == ("1997", "2001")


def test_seasons_are_the_same_for_every_threshold() -> None:
    climate = climate_of(made(1990, 12, seed=9))
    labels = {climate.seasons(t).last.labels for t in (-8.0, -2.0, 0.0, 3.0)}
    assert len(labels) == 1
