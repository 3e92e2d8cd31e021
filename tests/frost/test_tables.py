"""Severity, frost nights and lengths, against counting by hand."""

from datetime import date

import numpy as np
import pytest

from scheduler.frost import climate_of
from scheduler.frost.station_report import free_season, frost_nights, quantile, severity
from tests.frost.records import made, milwaukee, with_frosts, without


def test_the_coldest_nights_of_half_months_are_those_of_the_record() -> None:
    record = milwaukee()
    rows = {(row.month, row.half): row for row in severity(climate_of(record))}
    assert len(rows) == 24
    lows = []
    for year in range(1991, 2021):
        start = record.season.day_of(date(year, 4, 16))
        lows.append(float(record.tmin_c[start : start + 15].min()))
    row = rows[4, 2]
    assert row.n_years == 30
    assert row.lowest_c == min(lows)
    assert row.lowest_on == date(2014, 4, 16)
    assert row.p50_c == pytest.approx(float(np.quantile(lows, 0.5)), abs=0.006)
    assert row.p10_c == pytest.approx(float(np.quantile(lows, 0.1)), abs=0.006)


def test_the_half_month_that_the_split_cuts_holds_both_its_parts() -> None:
    rows = {(row.month, row.half): row for row in severity(climate_of(milwaukee()))}
    record = milwaukee()
    row = rows[7, 2]
    assert record.tmin_c[record.season.day_of(row.lowest_on)] == row.lowest_c


def test_a_half_month_with_gaps_is_not_used() -> None:
    record = made(1990, 6)
    gone = np.zeros(record.tmin_c.size, dtype=np.bool_)
    start = record.season.day_of(date(1992, 3, 1))
    gone[start : start + 3] = True
    whole = {(r.month, r.half): r.n_years for r in severity(climate_of(record))}
    some = {(r.month, r.half): r.n_years for r in severity(climate_of(without(record, gone)))}
    assert some[3, 1] == whole[3, 1] - 1
    assert {k: v for k, v in some.items() if k != (3, 1)} == {
        k: v for k, v in whole.items() if k != (3, 1)
    }


def test_frost_nights_are_counted_by_cold_season() -> None:
    record = milwaukee()
    climate = climate_of(record)
    counts = dict(frost_nights(climate, 0.0))
    split = climate.cycle.date_of(2013, 0)
    start = record.season.day_of(split)
    nights = record.tmin_c[start : record.season.day_of(climate.cycle.date_of(2014, 0))]
    assert counts["2013"] == int((nights <= 0).sum())
    assert len(counts) == 30


def test_the_season_without_frost_runs_from_last_to_first() -> None:
    frosts = [date(year, 5, 1) for year in range(1991, 2001)]
    frosts += [date(year, 10, 1) for year in range(1991, 2001)]
    record = with_frosts(frosts, date(1990, 8, 1), date(2001, 7, 1))
    length = free_season(climate_of(record).seasons(0.0))
    assert length is not None
    assert (length.p50_days, length.p90_days, length.shortest_days) == (153, 153, 153)


def test_a_year_without_frost_is_365_days_long() -> None:
    record = with_frosts([date(1995, 1, 1)], date(1990, 8, 1), date(2000, 7, 1))
    length = free_season(climate_of(record).seasons(0.0))
    assert length is not None
    assert length.p50_days == 365


def test_no_length_without_seasons() -> None:
    assert free_season(climate_of(milwaukee(date(1980, 9, 1))).seasons(0.0)) is None


def test_fourteen_seasons_are_few_and_fifteen_are_not() -> None:
    assert quantile(np.arange(14.0), 0.1) == pytest.approx(0.9)
    assert quantile(np.arange(15.0), 0.1) == pytest.approx(1.4)
