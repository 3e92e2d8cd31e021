"""Chill and heat models, against published tables and worked values."""

import math

import numpy as np
import pytest

from scheduler.frost.warmth import (
    chill_hours,
    chill_portions,
    degree_days,
    degree_days_modified,
    degree_days_single_sine,
    growing_degree_hours,
    utah_units,
)


# Hours at a constant temperature until the first portion of the dynamic model is fixed,
# computed with the code of the R package chillR; at 14 degrees never.
@pytest.mark.parametrize(
    ("temperature_c", "hours"), [(2, 32), (6, 30), (8, 30), (10, 32), (12, 40)]
)
def test_the_first_portion_comes_after_the_computed_hours(
    temperature_c: float, hours: int
) -> None:
    steady = np.full(hours, float(temperature_c))
    assert chill_portions(steady[:-1]) == 0
    assert chill_portions(steady) > 0


def test_a_warm_winter_fixes_no_portion() -> None:
    assert chill_portions(np.full(2000, 14.0)) == 0


def test_warmth_undoes_what_is_not_yet_fixed() -> None:
    steady = np.full(120, 6.0)
    broken = np.concatenate([np.full(25, 6.0), np.full(6, 25.0)] * 5)
    assert chill_portions(broken) < chill_portions(steady)


# Richardson et al. 1974: units of an hour by temperature.
@pytest.mark.parametrize(
    ("temperature_c", "units"),
    [
        (-3, 0),
        (1.4, 0),
        (2, 0.5),
        (2.4, 0.5),
        (6, 1),
        (9.1, 1),
        (12, 0.5),
        (15, 0),
        (17, -0.5),
        (20, -1),
    ],
)
def test_utah_units(temperature_c: float, units: float) -> None:
    assert utah_units(np.array([float(temperature_c)])) == units


def test_chill_hours_count_both_limits() -> None:
    assert chill_hours(np.array([-0.1, 0.0, 3.0, 7.2, 7.3])) == 3


# Anderson et al. 1986: none at the base of 4 and at 36, 21 at 25, half of that at 14.5.
@pytest.mark.parametrize(
    ("temperature_c", "hours"),
    [(3.9, 0), (4, 0), (14.5, 10.5), (25, 21), (36, 0), (36.1, 0)],
)
def test_growing_degree_hours(temperature_c: float, hours: float) -> None:
    assert growing_degree_hours(np.array([float(temperature_c)])) == pytest.approx(hours)


# Worked: 4 to 20 degrees, base 10.
def test_degree_days_by_three_methods() -> None:
    assert degree_days(4, 20, 10) == 2.0
    assert degree_days_modified(4, 20, 10) == 5.0
    assert degree_days_single_sine(4, 20, 10) == pytest.approx(3.6265, abs=5e-5)


def test_the_sine_agrees_with_adding_up_a_day() -> None:
    hours = np.linspace(0, 2 * math.pi, 100_001)
    for tmin_c, tmax_c in ((4, 20), (-5, 12), (9.9, 30)):
        day = (tmax_c + tmin_c) / 2 + (tmax_c - tmin_c) / 2 * np.sin(hours)
        summed = float(np.maximum(day - 10, 0).mean())
        assert degree_days_single_sine(tmin_c, tmax_c, 10) == pytest.approx(summed, abs=0.001)


def test_days_wholly_above_or_below_the_base() -> None:
    assert degree_days_single_sine(12, 20, 10) == degree_days(12, 20, 10) == 6
    assert degree_days_single_sine(0, 10, 10) == 0
    assert degree_days(-5, 5, 10) == degree_days_modified(-5, 5, 10) == 0
