"""Quantiles, against numpy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.weather import FEW_SEASONS, quantile


@given(values=st.lists(st.integers(0, 365), min_size=1, max_size=40), share=st.floats(0, 1))
def test_few_values_are_read_by_hazen_and_many_as_numpy_does(
    values: list[int], share: float
) -> None:
    days = np.array(values, dtype=np.float64)
    method = "hazen" if len(values) < FEW_SEASONS else "linear"
    theirs = float(np.quantile(days, share, method=method))  # type: ignore[call-overload]
    assert quantile(days, share) == pytest.approx(theirs, abs=1e-6)


def test_fourteen_seasons_are_few_and_fifteen_are_not() -> None:
    assert quantile(np.arange(14.0), 0.1) == pytest.approx(0.9)
    assert quantile(np.arange(15.0), 0.1) == pytest.approx(1.4)
