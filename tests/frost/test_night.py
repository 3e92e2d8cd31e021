"""The evening estimate of FAO (2005), against the worked example of the book."""

import numpy as np
import pytest
from numpy.typing import NDArray

from scheduler.frost import NightModel, dew_point_c, fit_night_model, hour_at_or_below
from scheduler.holding.frost_data import package_frost_data

# "Example from FAO book" (Snyder and de Melo-Abreu 2005, vol. 1, ch. 5), as data set of the
# R package frost: temperature and dew point two hours after sunset, and the minimum.
T0 = np.array([3.2, 0.8, 0.2, 2.6, 4.4, 5.2, 2.7, 1.2, 4.5, 5.6])
TD = np.array([-4.2, -8.8, -6.5, -6.2, -6.1, 2.6, -0.7, -1.7, -1.2, 0.1])
TN = np.array([-3.1, -5.0, -6.3, -5.4, -4.0, -2.5, -4.8, -5.0, -4.4, -3.3])


def _fit(*columns: NDArray[np.float64]) -> NightModel:
    return fit_night_model(np.column_stack(columns), package_frost_data())


def _model() -> NightModel:
    return _fit(T0, TD, TN)


def test_the_two_steps_give_the_coefficients_of_the_book() -> None:
    model = _model()
    assert model.on_temperature == pytest.approx(0.502812, abs=5e-7)
    assert model.on_dew_point == pytest.approx(0.026472, abs=5e-7)
    assert model.intercept_c == pytest.approx(-5.821987, abs=5e-7)
    assert model.r2 == pytest.approx(0.675, abs=0.0005)
    assert model.rmse_c == pytest.approx(0.63, abs=0.005)
    assert model.n_nights == 10


def test_the_estimate_is_the_published_output_and_not_that_of_multiple_regression() -> None:
    assert _model().minimum_c(10, 2) == pytest.approx(-0.7409219, abs=5e-8)
    both = np.column_stack((np.ones(10), T0, TD))
    coefficients = np.linalg.lstsq(both, TN)[0]
    assert float(coefficients @ [1, 10, 2]) == pytest.approx(-1.029, abs=0.0005)


def test_the_hour_of_frost_lies_on_the_published_curve() -> None:
    # getTrend of the R package frost: from 0.95 down to -5.45 in a night of 15 hours
    for hour, there_c in ((3.0, -0.8250444), (8.0, -3.3979)):
        assert hour_at_or_below(there_c, 0.95, -5.45, 15) == pytest.approx(hour, abs=0.001)
    assert hour_at_or_below(-6, 0.95, -5.45, 15) is None
    assert hour_at_or_below(1, 0.95, -5.45, 15) == 2.0
    assert hour_at_or_below(-5.45, 0.95, -5.45, 15) == pytest.approx(15)


def test_the_error_of_a_new_night_allows_for_three_coefficients() -> None:
    model = _model()
    assert model.error_c == pytest.approx(model.rmse_c * (10 / 7) ** 0.5)


def test_too_few_nights_or_nights_all_alike_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 10"):
        _fit(T0[:9], TD[:9], TN[:9])
    with pytest.raises(ValueError, match="alike"):
        _fit(np.full(10, 3.0), TD, TN)
    with pytest.raises(ValueError, match="alike"):
        _fit(T0, TD, np.full(10, -3.0))


# 25 degrees and 54 %: 15.05 by the Magnus formula, 14.99 by another (tests of the R
# package frost); a saturated parcel is at its dew point.
@pytest.mark.parametrize(
    ("temperature_c", "humidity_pct", "dew_c"), [(25, 54, 15.05), (10, 100, 10.0), (-5, 100, -5.0)]
)
def test_dew_point(temperature_c: float, humidity_pct: float, dew_c: float) -> None:
    assert dew_point_c(temperature_c, humidity_pct) == pytest.approx(dew_c, abs=0.005)
