"""Chances by day, the dates that are read off them, and their errors."""

import math
from datetime import date

import numpy as np
import pytest

from scheduler.frost import climate_of
from scheduler.frost.chance_curves import Curve, curves_of, smoothed_chance
from scheduler.terms import N_SLOTS
from scheduler.weather import Record
from tests.frost.records import ask, made, milwaukee, of_years, with_frosts

# Milwaukee, springs 1991-2020, chance of another freeze on or after: k of 30 computed
# beforehand from the GHCN-Daily record, and (k + 0.5) / 31.
CHANCES = [
    ("04-01", 29, 0.952),
    ("04-15", 22, 0.726),
    ("04-22", 16, 0.532),
    ("05-01", 5, 0.177),
    ("05-10", 2, 0.081),
    ("05-20", 0, 0.016),
]


@pytest.mark.parametrize(("day", "k", "chance"), CHANCES)
def test_milwaukee_chances_of_another_freeze(day: str, k: int, chance: float) -> None:
    climate = climate_of(milwaukee())
    dates = climate.seasons(0.0)
    slot = climate.cycle.slot_of_month_day(day)
    curve = curves_of(climate, dates)[0].chance
    assert int((dates.last.slot >= slot).sum()) == k
    assert float(curve[slot]) == pytest.approx(chance, abs=0.0005)
    assert float(curve[slot]) == (k + 0.5) / 31


def test_a_chance_is_never_nought_nor_one() -> None:
    k = np.array([0.0, 30.0])
    assert smoothed_chance(k, 30).tolist() == [0.5 / 31, 30.5 / 31]


def test_a_date_is_the_first_day_on_which_the_chance_is_no_more_than_asked() -> None:
    climate = climate_of(milwaukee())
    for curve, before in zip(curves_of(climate, climate.seasons(0.0)), (-1, 1), strict=True):
        for chance in (0.5, 0.1, 0.05):
            slot = curve.slot_at(chance)
            assert slot is not None
            assert curve.chance[slot] <= chance < curve.chance[slot + before]


def test_no_date_where_frosts_are_too_rare_or_too_sure() -> None:
    none = np.zeros((0, N_SLOTS), dtype=np.float32)
    for first in (False, True):
        assert Curve(np.full(N_SLOTS, 0.05), none, first).slot_at(0.1) is None
        assert Curve(np.full(N_SLOTS, 0.5), none, first).slot_at(0.1) is None


@pytest.mark.parametrize("first", [False, True])
@pytest.mark.parametrize("chance", [0.5, 0.1])
def test_the_exact_bootstrap_is_what_resampling_gives(chance: float, *, first: bool) -> None:
    climate = climate_of(milwaukee())
    curve = curves_of(climate, climate.seasons(0.0))[first]
    by_season = curve.by_season
    n = len(by_season)
    draws = np.random.default_rng(1).multinomial(n, np.full(n, 1 / n), size=20_000)
    k = np.einsum("ds,sy->dy", draws.astype(np.float32), by_season)
    chances = smoothed_chance(k.astype(np.float64), n)
    slots = [Curve(drawn, by_season, first).slot_at(chance) for drawn in chances]
    drawn = float(np.std([slot for slot in slots if slot is not None]))
    assert curve.error_days(chance) == pytest.approx(drawn, abs=0.11)


def test_errors_shrink_with_seasons() -> None:
    # 88 seasons of Milwaukee: error of the median 3.9 days with 10 seasons, 2.1 with 30
    long = made(1900, 122, seed=2, noise_c=4.0)
    error = {
        n: np.mean([_median_error(of_years(long, y, y + n)) for y in range(1900, 1990, 10)])
        for n in (10, 30)
    }
    assert error[30] == pytest.approx(error[10] / math.sqrt(3), rel=0.25)


def _median_error(record: Record) -> float:
    error = ask(record).last_frost.median_error_days
    assert error is not None
    return error


def test_the_error_is_not_told_where_most_seasons_have_no_frost() -> None:
    frosts = [date(year, 1, 20) for year in (1993, 1996, 1997, 1999)]
    risk = ask(with_frosts(frosts, date(1990, 8, 1), date(2000, 7, 1)))
    assert risk.last_frost.p50 is None
    assert risk.last_frost.median_error_days is None


def test_one_season_has_no_error() -> None:
    one = np.ones((1, N_SLOTS), dtype=np.float32)
    assert Curve.of(one, first=False).error_days(0.5) is None


def test_a_varying_difference_counts_every_night_with_its_chance() -> None:
    # one night at 1 degree, all others far above: with a spread of 2 degrees it is a frost
    # with the chance Phi(-1 / 2); ten seasons of it
    frosts = [date(year, 3, 1) for year in range(1991, 2001)]
    record = with_frosts(frosts, date(1990, 8, 1), date(2000, 7, 1), 1.0)
    climate = climate_of(record)
    last, _ = curves_of(climate, climate.seasons(0.0), 2.0)
    slot = climate.cycle.slot_of(date(1995, 3, 1))
    night = 0.5 * math.erfc(0.5 / math.sqrt(2))
    others = float(last.by_season[0, slot + 1])
    assert float(last.by_season[0, slot]) == pytest.approx(
        1 - (1 - night) * (1 - others), abs=0.002
    )


def test_a_varying_difference_agrees_with_drawing_it() -> None:
    climate = climate_of(milwaukee())
    dates = climate.seasons(0.0)
    curve = curves_of(climate, dates, 1.5)[0].chance
    rng = np.random.default_rng(7)
    nights = climate.careful[dates.last.rows].astype(np.float64)
    drawn = np.zeros((200, N_SLOTS))
    for draw in range(200):
        frost = nights + rng.normal(0, 150, nights.shape) <= 0
        later = np.logical_or.accumulate(frost[:, ::-1], axis=1)[:, ::-1]
        drawn[draw] = smoothed_chance(later.sum(axis=0).astype(np.float64), len(nights))
    assert np.abs(drawn.mean(axis=0) - curve).max() < 0.02


def test_a_spread_of_next_to_nothing_is_none() -> None:
    climate = climate_of(milwaukee())
    dates = climate.seasons(0.05)  # no minimum of this record lies at 0.05
    sharp, blurred = curves_of(climate, dates), curves_of(climate, dates, 0.001)
    for side in (0, 1):
        assert np.allclose(sharp[side].chance, blurred[side].chance, atol=1e-6)
