"""The site's own evenings as the night model takes them."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.night import dew_point_c
from scheduler.terms import frozen
from scheduler.weather import Evening


def evening_rows(evenings: Iterable[Evening]) -> NDArray[np.float64]:
    """Evenings and the minima that followed.

    Args:
        evenings: nights of radiation, each with a dew point or a humidity.

    Returns:
        (n_nights, 3) temperature, dew point and minimum, degrees C, as
        ``fit_night_model`` takes them.
    """
    nights = [(one.temperature_c, _dew_point_c(one), one.tmin_c) for one in evenings]
    return frozen(np.array(nights, dtype=np.float64).reshape(-1, 3))


def _dew_point_c(evening: Evening) -> float:
    if evening.dew_point_c is not None:
        return evening.dew_point_c
    assert evening.humidity_pct is not None  # the reader has asked for one of the two
    return dew_point_c(evening.temperature_c, evening.humidity_pct)
