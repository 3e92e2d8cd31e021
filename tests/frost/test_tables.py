"""Frost nights and lengths, against counting by hand."""

from datetime import date

import numpy as np
import pytest

from scheduler.frost import climate_of
from scheduler.frost.station_report import free_season, frost_nights, quantile
from tests.frost.records import milwaukee, with_frosts


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
