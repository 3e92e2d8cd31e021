"""Heat and vibration limits, against the published formulas' own values."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.stand.hazards import (
    air_at_wbgt_c,
    alert_limit_c,
    exposure_limit_c,
    vibration_hours,
    wbgt_shade_c,
)


@pytest.mark.parametrize(
    ("effort_w", "alert_c", "exposure_c"),
    [(180, 28.10, 30.76), (300, 24.97, 28.21), (415, 22.99, 26.59), (520, 21.60, 25.47)],
)
def test_heat_limits_follow_niosh(effort_w: float, alert_c: float, exposure_c: float) -> None:
    """NIOSH 2016-106, Criteria for a recommended standard: heat and hot environments."""
    assert alert_limit_c(effort_w) == pytest.approx(alert_c, abs=0.0051)
    assert exposure_limit_c(effort_w) == pytest.approx(exposure_c, abs=0.0051)


@pytest.mark.parametrize(
    ("air_c", "humidity_pct", "wbgt_c"),
    [(20, 60, 20.78), (24, 60, 24.56), (28, 50, 27.22), (28, 70, 30.18), (32, 40, 29.53),
     (35, 30, 30.39)],
)  # fmt: skip
def test_the_simplified_wbgt_has_its_known_values(
    air_c: float, humidity_pct: float, wbgt_c: float
) -> None:
    """0.567 T + 0.393 e + 3.94, values computed independently; the saturation formula used for
    e differs in its constants by up to 0.03 K."""
    assert wbgt_shade_c(air_c, humidity_pct) == pytest.approx(wbgt_c, abs=0.04)


@given(st.floats(15, 35), st.floats(10, 100))
def test_the_air_temperature_of_a_limit_leads_back_to_it(wbgt_c: float, humidity: float) -> None:
    assert wbgt_shade_c(air_at_wbgt_c(wbgt_c, humidity), humidity) == pytest.approx(wbgt_c)


@pytest.mark.parametrize(
    ("vibration", "action_h", "limit_h"),
    [(3, 5.56, 22.22), (4, 3.12, 12.5), (5, 2.0, 8.0), (6, 1.39, 5.56), (7, 1.02, 4.08)],
)
def test_hours_to_the_vibration_values_follow_hse(
    vibration: float, action_h: float, limit_h: float
) -> None:
    """HSE, hand-arm vibration: action value 2.5, limit value 5 m/s2 A(8)."""
    assert vibration_hours(vibration, 2.5) == pytest.approx(action_h, abs=0.0051)
    assert vibration_hours(vibration, 5.0) == pytest.approx(limit_h, abs=0.0051)
