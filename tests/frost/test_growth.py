"""What new growth has to live through after a cut."""

from datetime import date

import numpy as np
import pytest
from numpy.typing import NDArray

from scheduler.frost import climate_of
from scheduler.frost.chance_curves import chance_within, smoothed_chance
from scheduler.frost.risk import risk_of
from scheduler.terms import Season
from tests.frost.records import YEAR, ask, made, milwaukee, with_frosts

FROSTS = [date(year, 5, 1) for year in range(1991, 2001)]


def _at(day: date, array: NDArray[np.float64], season: Season = YEAR) -> float:
    return float(array[season.day_of(day)])


def test_a_frost_within_the_weeks_counts_and_one_after_them_does_not() -> None:
    risk = ask(with_frosts(FROSTS, date(1990, 8, 1), date(2000, 8, 1)))
    always, never = 10.5 / 11, 0.5 / 11
    chance = risk.chance_within(56)
    assert _at(date(2027, 3, 6), chance) == pytest.approx(never)
    assert _at(date(2027, 3, 7), chance) == pytest.approx(always)  # 56 days with 1 May
    assert _at(date(2027, 5, 1), chance) == pytest.approx(always)
    assert _at(date(2027, 5, 2), chance) == pytest.approx(never)


def test_the_run_goes_on_past_the_warmest_day_into_autumn() -> None:
    frosts = [date(year, 9, 1) for year in range(1990, 2001)]
    risk = ask(with_frosts(frosts, date(1990, 8, 1), date(2000, 12, 31)))
    chance = risk.chance_within(56)
    assert _at(date(2027, 7, 7), chance) < 0.1
    assert _at(date(2027, 7, 9), chance) > 0.9
    assert _at(date(2027, 8, 31), chance) > 0.9


def test_milwaukee_growth_of_eight_weeks_counted_year_by_year() -> None:
    record = milwaukee()
    season = Season.between(date(2027, 1, 1), date(2027, 12, 31))
    risk = ask(record, season=season)
    for month, day in ((3, 1), (5, 1), (8, 20), (12, 10)):
        k = n = 0
        for year in range(1981, 2021):
            start = record.season.day_of(date(year, month, day))
            run = record.tmin_c[start : start + 56]
            if run.size == 56:
                n, k = n + 1, k + bool((run <= 0).any())
        latest = ask(record, season=season, period_seasons=n).chance_within(56)
        assert _at(date(2027, month, day), latest, season) == pytest.approx(
            float(smoothed_chance(np.array([float(k)]), n)[0])
        )
    assert risk.chance_within(56).shape == (365,)


def test_growth_may_meet_a_frost_where_the_day_of_the_cut_is_closed() -> None:
    risk = ask(milwaukee())
    day = YEAR.day_of(date(2027, 9, 1))
    assert not risk.open[day]
    assert risk.open_within(56)[day]
    assert not risk.open_within(14)[day]


def test_by_own_dates_growth_is_open_where_it_touches_an_open_day() -> None:
    risk = risk_of(
        None,
        threshold_c=0.0,
        offset_c=0.0,
        tolerance=0.1,
        season=YEAR,
        southern=False,
        own_last="05-10",
        own_first="10-05",
    )
    open_ = risk.open_within(56)
    assert not open_[YEAR.day_of(date(2027, 8, 10))]
    assert open_[YEAR.day_of(date(2027, 8, 11))]
    assert open_[YEAR.day_of(date(2027, 5, 10))]
    assert not open_[YEAR.day_of(date(2027, 5, 11))]


def test_a_spread_makes_no_run_safer() -> None:
    climate = climate_of(made(1985, 20, seed=6))
    # without a frost in the run, a spread adds to the chance
    sharp = chance_within(climate, -800, 0.0, 30)
    blurred = chance_within(climate, -800, 1.5, 30)
    none_seen = sharp == sharp.min()
    assert none_seen.any()
    assert (blurred[none_seen] >= sharp[none_seen]).all()


def test_the_spread_of_a_plot_goes_into_the_chance_of_its_growth() -> None:
    record = milwaukee()
    day = YEAR.day_of(date(2027, 5, 15))
    sharp = ask(record, offset_c=1.0).chance_within(30)[day]
    blurred = ask(record, offset_c=1.0, spread_c=1.5).chance_within(30)[day]
    assert sharp == pytest.approx(0.5 / (ask(record).n_seasons + 1), abs=0.002)
    assert blurred > sharp + 0.02


def test_a_run_of_days_that_no_year_knows_has_no_chance() -> None:
    climate = climate_of(made(2020, 1))
    chance = chance_within(climate, 0, 0.0, 300)
    assert np.isnan(chance).any()
    unknown = np.isnan(chance)[climate.cycle.slots_of(YEAR)[0]]
    assert ask(made(2020, 1)).open_within(300)[unknown].all()  # what is not known is open
