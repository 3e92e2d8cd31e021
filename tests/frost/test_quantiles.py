"""Named quantiles and the mixed distribution, against numpy and published levels."""

import math
from datetime import date
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.frost.quantiles import (
    QuantileMethod,
    mixed_normal_last_day,
    quantile,
    risk_over_years,
    usual_method,
)
from tests.frost.records import table_lines

NUMPY_NAME: dict[QuantileMethod, str] = {
    "weibull": "weibull",
    "hazen": "hazen",
    "linear": "linear",
    "median-unbiased": "median_unbiased",
}


@pytest.mark.parametrize("method", list(NUMPY_NAME))
@given(
    values=st.lists(st.integers(0, 365), min_size=1, max_size=40),
    share=st.floats(0, 1),
)
def test_quantiles_are_those_of_numpy(
    method: QuantileMethod, values: list[int], share: float
) -> None:
    theirs = float(np.quantile(values, share, method=NUMPY_NAME[method]))  # type: ignore[call-overload]
    assert quantile([float(v) for v in values], share, method) == pytest.approx(theirs, abs=1e-6)


def test_a_season_without_frost_takes_its_place_among_the_others() -> None:
    last = [-math.inf, 200.0, 210.0, 220.0, 230.0]
    assert quantile(last, 0.5, "linear") == 210
    assert quantile(last, 0.0, "linear") == -math.inf
    assert quantile(last, 0.1, "linear") == 200
    assert quantile([200.0, math.inf], 1.0, "hazen") == math.inf


@pytest.mark.parametrize(("values", "share"), [([], 0.5), ([1.0], -0.1), ([1.0], 1.1)])
def test_no_quantile_of_nothing_or_beyond_the_ends(values: list[float], share: float) -> None:
    with pytest.raises(ValueError, match="no quantile"):
        quantile(values, share, "hazen")


def test_few_seasons_are_read_by_hazen() -> None:
    assert usual_method(14) == "hazen"
    assert usual_method(15) == "linear"


# Worked with p = 0.8, mean day 60, standard deviation 12, formula of Thom and Shaw (1958).
@pytest.mark.parametrize(
    ("chance", "day"), [(0.10, 73.80), (0.50, 56.18), (0.70, 46.20), (0.80, None), (0.90, None)]
)
def test_the_mixed_distribution_gives_the_worked_dates(chance: float, day: float | None) -> None:
    found = mixed_normal_last_day(0.8, 60, 12, chance)
    assert (found is None) == (day is None)
    if found is not None:
        assert found == pytest.approx(day, abs=0.005)


# Haan 1979 (in FAO Frost protection vol. 2, ch. 1), formula from memory, worked by hand.
@pytest.mark.parametrize(("chance", "years", "risk"), [(0.1, 10, 0.651), (0.2, 5, 0.672)])
def test_risk_over_years(chance: float, years: int, risk: float) -> None:
    assert risk_over_years(chance, years) == pytest.approx(risk, abs=0.0005)


@pytest.mark.parametrize("threshold_f", [16, 20, 24, 28, 32, 36])
@pytest.mark.parametrize("period", ["1981-2010", "1991-2020"])
def test_published_last_freezes_lie_on_a_normal_that_the_mixed_formula_reads_back(
    period: str, threshold_f: int
) -> None:
    # NOAA/NCEI freeze normals of Lebanon, New Hampshire (USW00094765): every season freezes;
    # P10 is late, P90 early
    lines = table_lines("us_lebanon_nh_USW00094765_freeze_normals.csv")
    wanted = [period, "LST", str(threshold_f)]
    rows = [row for row in (line.split(",") for line in lines) if row[:3] == wanted]
    days = {int(row[3]) / 100: _day_of_year(row[4]) for row in rows}
    assert len(days) == 9
    assert sorted(days.values(), reverse=True) == [days[p] for p in sorted(days)]
    scores = [NormalDist().inv_cdf(1 - chance) for chance in days]
    sd, mean = np.polyfit(scores, list(days.values()), 1)
    for chance, day in days.items():
        found = mixed_normal_last_day(1.0, float(mean), float(sd), chance)
        assert found == pytest.approx(day, abs=2.0)


def _day_of_year(month_day: str) -> int:
    month, day = (int(part) for part in month_day.split("/"))
    return date(2001, month, day).timetuple().tm_yday
