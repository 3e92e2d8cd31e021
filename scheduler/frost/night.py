"""The evening estimate of a night's minimum, and the hours of that night.

For nights of radiation only: clear, wind below 2 m/s, no fog, no rain. Wind or cloud
before dawn makes the estimate too cold, dry cold air that moves in makes it too warm.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import FrostData
from scheduler.terms import frozen
from scheduler.weather import Evening

START_H = 2.0  # hours after sunset at which temperature and dew point are read
_N_COEFFICIENTS = 3


@dataclass(frozen=True, slots=True)
class NightModel:
    """Two-step regression of the night's minimum on temperature and dew point of the evening."""

    on_temperature: float  # slope on the temperature
    on_dew_point: float  # slope of the residual on the dew point
    intercept_c: float  # sum of both intercepts, degrees C
    rmse_c: float  # root mean square of the residuals of the fit, degrees C
    r2: float  # squared correlation of estimate and minimum
    n_nights: int  # nights it was fitted on

    def minimum_c(self, temperature_c: float, dew_point_c: float) -> float:
        """Expected minimum from both readings two hours after sunset, degrees C."""
        return (
            self.on_temperature * temperature_c
            + self.on_dew_point * dew_point_c
            + self.intercept_c
        )

    @property
    def error_c(self) -> float:
        """Standard error on a new night: the residuals, three coefficients allowed for."""
        spare = self.n_nights - _N_COEFFICIENTS
        return self.rmse_c * math.sqrt(self.n_nights / spare) if spare > 0 else self.rmse_c


def evening_rows(evenings: Iterable[Evening]) -> NDArray[np.float64]:
    """(n, 3) temperature and dew point of evenings, and the minimum that followed, degrees C."""
    rows = []
    for evening in evenings:
        dew_c = evening.dew_point_c
        if dew_c is None:
            assert evening.humidity_pct is not None  # the reader has asked for one of the two
            dew_c = dew_point_c(evening.temperature_c, evening.humidity_pct)
        rows.append((evening.temperature_c, dew_c, evening.tmin_c))
    return frozen(np.array(rows, dtype=np.float64).reshape(-1, 3))


def fit_night_model(rows: NDArray[np.float64], data: FrostData) -> NightModel:
    """Fit the two-step regression of FAO (2005) on the site's own nights.

    First the minimum on the temperature two hours after sunset, then what is left on the
    dew point (Snyder and de Melo-Abreu 2005, FAO Frost protection vol. 1, ch. 5). It is
    not the multiple regression on both, which gives other values. The rows are those of
    ``evening_rows``.

    Raises:
        ValueError: too few nights, or no variation.
    """
    n_nights, least = len(rows), data.night.min_nights
    if n_nights < least:
        raise ValueError(f"{n_nights} complete nights; at least {least} are needed")
    if np.ptp(rows[:, 2]) == 0:
        raise ValueError("all minima are alike: nothing can be fitted")
    temperature_c, dew_point_c, minimum_c = rows.T
    slope, start = _line(temperature_c, minimum_c)
    residual = minimum_c - (slope * temperature_c + start)
    dew_slope, dew_start = _line(dew_point_c, residual)
    left = residual - (dew_slope * dew_point_c + dew_start)
    r = np.corrcoef(minimum_c - left, minimum_c)[0, 1]
    return NightModel(
        slope,
        dew_slope,
        start + dew_start,
        math.sqrt(float((left**2).mean())),
        float(r**2),
        n_nights,
    )


def _line(x: NDArray[np.float64], y: NDArray[np.float64]) -> tuple[float, float]:
    """Slope and intercept of the least-squares line."""
    around = x - x.mean()
    square = float((around**2).sum())
    if square == 0:
        raise ValueError("all evenings are alike: no line can be fitted")
    slope = float((around * y).sum()) / square
    return slope, float(y.mean()) - slope * float(x.mean())


def hour_at_or_below(
    threshold_c: float, temperature_c: float, minimum_c: float, night_length_h: float
) -> float | None:
    """Hours after sunset at which a night gets down to a threshold; None if it does not.

    From two hours after sunset on by the square root of time of FAO (2005, vol. 1, ch. 5): the
    minimum is reached at sunrise. The night, from sunset to sunrise, is longer than 3 hours.
    """
    if minimum_c > threshold_c:
        return None
    if temperature_c <= threshold_c:
        return START_H
    part = (temperature_c - threshold_c) / (temperature_c - minimum_c)
    return START_H + part**2 * (night_length_h - START_H)


def dew_point_c(temperature_c: float, humidity_pct: float) -> float:
    """Dew point from temperature and relative humidity, by the Magnus formula.

    Constants 17.625 and 243.04 degrees C (Alduchov and Eskridge 1996), over water, good to
    0.4 degrees between -40 and 50. The humidity is above 0 and at most 100 %.

    >>> round(dew_point_c(25, 54), 2)
    15.05
    """
    gamma = math.log(humidity_pct / 100) + 17.625 * temperature_c / (243.04 + temperature_c)
    return 243.04 * gamma / (17.625 - gamma)
