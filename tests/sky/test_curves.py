"""Interpolation and zeros, on curves whose zeros are known."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.sky.curves import AFTER, BEFORE, Floats, crossings, densified, values_at

STEP = 2 * np.pi / 24  # the daily turn at hourly samples


def daily(hours: Floats, limit: float, phase: float = 0.0) -> Floats:
    return np.cos(STEP * hours - phase) - limit


def places(curve: Floats, reach: float = 0.0) -> tuple[Floats, list[bool]]:
    found = crossings(curve[None, :], reach)
    return found.sample + found.beyond, found.rising.tolist()


def test_zeros_of_a_cosine_lie_where_they_should() -> None:
    at, rising = places(daily(np.arange(100.0), 0.3))
    known = np.sort(
        [24 * day + sign * np.arccos(0.3) / STEP for day in range(5) for sign in (-1, 1)]
    )
    known = known[(known > BEFORE) & (known < 100 - AFTER)]
    assert np.abs(at - known).max() < 2e-8  # steps: under a tenth of a millisecond
    assert rising == [not falling for falling in (np.sin(STEP * known) > 0)]


@given(limit=st.floats(-0.9999, 0.9999), phase=st.floats(0, 6.3))
def test_every_zero_is_found_at_any_height_and_phase(limit: float, phase: float) -> None:
    at, rising = places(daily(np.arange(300.0), limit, phase), reach=0.01)
    known = np.sort(
        [
            (phase + sign * np.arccos(limit) + 2 * np.pi * turn) / STEP
            for turn in range(-2, 15)
            for sign in (-1, 1)
        ]
    )
    edge = 1e-3  # a zero this near to the ends may fall on either side of them
    inner = known[(known > BEFORE + edge) & (known < 300 - AFTER - edge)]
    ours = at[(at > BEFORE + edge) & (at < 300 - AFTER - edge)]
    assert len(ours) == len(inner)
    steep = np.sqrt(1 - limit**2)
    assert np.abs(ours - inner).max(initial=0) < 1e-8 / steep
    assert all(a != b for a, b in pairwise(rising))


def test_a_pair_that_hides_between_two_samples_is_found() -> None:
    """The top of the curve stands a hair above zero, between two samples below it."""
    limit = np.cos(STEP * 0.05)  # up for six minutes, around 24.5 h, 48.5 h ...
    curve = daily(np.arange(60.0), limit, phase=STEP * 24.5)
    assert (curve < 0).all()
    at, rising = places(curve, reach=0.01)
    assert at == pytest.approx([24.45, 24.55, 48.45, 48.55], abs=1e-6)
    assert rising == [True, False, True, False]
    assert places(curve)[0].size == 0  # without the test for grazing it is lost


def test_a_pair_that_dips_between_two_samples_is_found() -> None:
    curve = -daily(np.arange(60.0), np.cos(STEP * 0.05), phase=STEP * 24.5)
    at, rising = places(curve, reach=0.01)
    assert at == pytest.approx([24.45, 24.55, 48.45, 48.55], abs=1e-6)
    assert rising == [False, True, False, True]


def test_a_curve_that_turns_back_before_zero_has_no_zeros() -> None:
    curve = daily(np.arange(60.0), 1 + 1e-9, phase=STEP * 24.5)
    assert places(curve, reach=0.01)[0].size == 0


@pytest.mark.parametrize("cut", range(12, 50))
def test_runs_that_overlap_share_out_the_zeros(cut: int) -> None:
    """No zero is lost or doubled at a seam, grazing pairs included."""
    curve = daily(np.arange(80.0), np.cos(STEP * 0.05), phase=STEP * 24.5)
    whole = crossings(curve[None, :], 0.01)
    first = crossings(curve[None, : cut + AFTER], 0.01)
    second = crossings(curve[None, cut - BEFORE :], 0.01)
    samples = [*first.sample, *(second.sample + cut - BEFORE)]
    assert samples == whole.sample.tolist()
    assert [*first.beyond, *second.beyond] == pytest.approx(whole.beyond.tolist(), abs=1e-12)


def test_rows_do_not_mix() -> None:
    hours = np.arange(60.0)
    rows = np.stack([daily(hours, 2.0), daily(hours, 0.0), daily(hours, -2.0), daily(hours, 0.5)])
    found = crossings(rows, 0.01)
    assert found.row.tolist() == sorted(found.row.tolist())
    assert set(found.row.tolist()) == {1, 3}
    for row in (1, 3):
        alone = crossings(rows[row : row + 1], 0.01)
        assert found.beyond[found.row == row] == pytest.approx(alone.beyond, abs=1e-12)


def test_zeros_are_the_same_to_the_last_bit_in_any_company() -> None:
    curve = daily(np.arange(90.0), 0.3)
    alone = crossings(curve[None, :])
    for rows in (2, 3, 5, 40):
        together = crossings(np.tile(curve, (rows, 1)))
        assert (together.beyond.reshape(rows, -1) == alone.beyond).all()


def test_a_zero_on_a_sample_is_counted_once() -> None:
    curve = np.arange(-10.0, 11.0)
    at, rising = places(curve, reach=0.01)
    assert at == pytest.approx([10.0], abs=1e-12)
    assert rising == [True]


def test_values_between_the_samples() -> None:
    hours = np.arange(60.0)
    curves = np.column_stack((np.sin(STEP * hours), hours**3))
    at = np.array([4.0, 11.37, 30.5, 53.9])
    values = values_at(curves, at)
    assert values[:, 0] == pytest.approx(np.sin(STEP * at), abs=1e-9)
    assert values[:, 1] == pytest.approx(at**3, rel=1e-12)


def test_a_denser_curve_begins_at_the_fifth_sample() -> None:
    hours = np.arange(40.0)
    dense = densified(np.sin(STEP * hours)[:, None], 4)[:, 0]
    assert dense == pytest.approx(np.sin(STEP * (BEFORE + np.arange(dense.size) / 4)), abs=1e-9)
