"""Stated chances against what happened in seasons they do not come from."""

from datetime import date

import numpy as np
import pytest

from scheduler.frost import climate_of
from scheduler.frost.station_report import SIDES, calibration_of
from tests.frost.records import made, milwaukee, with_frosts


def test_chances_beat_knowing_nothing_and_repeating_last_year() -> None:
    climate = climate_of(milwaukee(), period_seasons=100)
    found = calibration_of(climate, 0.0, "last", 10)
    assert found is not None
    assert found.seasons == ("2011", "2020")
    assert (found.n_trained, found.n_tested) == (30, 10)
    assert found.brier_even == 0.25
    assert found.brier < found.brier_previous
    assert found.brier < 0.6 * found.brier_even


def test_milwaukee_springs_have_become_earlier_than_their_record() -> None:
    # trained on 1981-2010, chances after 20 April were too high in the years after:
    # stated 0.30 on 29 April and 0.17 on 4 May, seen 0.12 and 0.06 (2011-2026, computed)
    climate = climate_of(milwaukee(), period_seasons=100)
    found = calibration_of(climate, 0.0, "last", 10)
    assert found is not None
    assert all(one.observed < one.stated for one in found.bins)


def test_the_brier_score_is_the_mean_squared_error() -> None:
    # trained on one date in every season, tested on a season with the frost 10 days later
    frosts = [date(year, 4, 10) for year in range(1991, 2000)]
    frosts += [date(1991, 4, 1), date(1992, 4, 20), date(2000, 4, 20)]
    climate = climate_of(with_frosts(frosts, date(1990, 8, 1), date(2000, 8, 1)))
    found = calibration_of(climate, 0.0, "last", 1)
    assert found is not None
    # asked about 10, 15 and 20 April; k of 9 is 9, 1, 1; a frost came after all three
    stated = (np.array([9, 1, 1]) + 0.5) / 10
    assert found.brier == pytest.approx(float(((stated - 1) ** 2).mean()))
    assert found.brier_previous == pytest.approx(2 / 3)


def test_on_a_steady_climate_stated_and_observed_agree() -> None:
    climate = climate_of(made(1900, 120, seed=3), period_seasons=200)
    for side in SIDES:
        found = calibration_of(climate, 0.0, side, 60)
        assert found is not None
        assert len(found.bins) == 5
        for one in found.bins:
            assert one.observed == pytest.approx(one.stated, abs=0.12)


def test_too_few_seasons_to_train_on_give_no_result() -> None:
    climate = climate_of(made(1990, 12), period_seasons=100)
    assert calibration_of(climate, 0.0, "last", 8) is None
    assert calibration_of(climate, 0.0, "last", 0) is None


def test_a_threshold_that_is_never_met_can_be_asked_about() -> None:
    climate = climate_of(made(1985, 25, mean_c=22.0, swing_c=4.0, noise_c=1.0), period_seasons=99)
    found = calibration_of(climate, 0.0, "last", 5)
    assert found is not None
    assert found.brier < 0.01
