"""Standing stock in the state in which a night finds it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from scheduler.frost import climate_of
from scheduler.frost.forecast import ahead_of, lead_errors
from scheduler.frost.risk import risk_of
from scheduler.frost.tender import hard_nights, standing_at
from scheduler.holding import Plant, Stock
from scheduler.holding.frost_data import package_frost_data
from scheduler.terms import Season
from scheduler.weather import ForecastNight, default_cycle
from tests.frost.records import made

DATA = package_frost_data()
NORTH, SOUTH = default_cycle(southern=False), default_cycle(southern=True)


def _plant(plant_id: str, habit: str, rest_c: float | None, growth_c: float) -> Plant:
    return Plant(
        id=plant_id,
        name=plant_id,
        botanical="Planta ficta",
        group="none",
        habit=habit,  # type: ignore[arg-type]  # one of three
        rest_c=rest_c,
        growth_c=growth_c,
        source="made up for the test",
    )


PLANTS = {
    "citrus": _plant("citrus", "evergreen", -6.0, -1.0),
    "apple": _plant("apple", "deciduous", -30.0, -3.0),
    "canna": _plant("canna", "herb", -2.0, 0.0),
}


def _row(plant: str, **changes: object) -> Stock:
    told: dict[str, object] = {
        "plot": "p",
        "plant": plant,
        "stratum": "low",
        "role": "fruit",
        "cut_system": "retained",
        "count": 3,
        "stem_cm": 5.0,
        "height_m": 2.0,
        "crown_m": 2.0,
    }
    return Stock(**(told | changes))  # type: ignore[arg-type]  # columns by name


def _hurt_at(row: Stock, day: date, *, south: bool = False, **bloom: str) -> float | None:
    cycle = SOUTH if south else NORTH
    found = standing_at([row], PLANTS, DATA, day=day, cycle=cycle, bloom=bloom)
    return found[0].hurt_at_c if found else None


@pytest.mark.parametrize(
    ("day", "at_c"),
    [
        (date(2027, 1, 10), -6.0),  # hardened: what kills it at rest
        (date(2027, 10, 20), -2.0),  # at rest, not hardened: 4 K warmer
        (date(2027, 5, 1), -1.0),  # in flush
    ],
)
def test_an_evergreen_stands_most_in_the_heart_of_winter(day: date, at_c: float) -> None:
    """4 K between hardened and not: citrus of extension texts, see frost.toml."""
    assert _hurt_at(_row("citrus"), day) == at_c


def test_the_south_has_its_winter_in_july() -> None:
    assert _hurt_at(_row("citrus"), date(2027, 7, 10), south=True) == -6.0
    assert _hurt_at(_row("citrus"), date(2027, 1, 10), south=True) == -1.0


def test_an_evergreen_cut_in_the_last_eight_weeks_is_tender_even_in_winter() -> None:
    """8 weeks: common practice, no source."""
    night = date(2027, 1, 10)
    fresh = _row("citrus", last_cut=night - timedelta(days=56))
    older = _row("citrus", last_cut=night - timedelta(days=57))
    assert _hurt_at(fresh, night) == -1.0
    assert _hurt_at(older, night) == -6.0


def test_herbs_that_died_back_are_out_of_reach() -> None:
    assert _hurt_at(_row("canna"), date(2027, 1, 10)) is None
    assert _hurt_at(_row("canna"), date(2027, 9, 1)) == 0.0


def test_a_kind_in_bloom_is_taken_at_a_tenth_of_its_buds() -> None:
    """Apple at full bloom -2.2 C, silver tip -9.4 C: Penn State Extension, after WSU EB0419."""
    row = _row("apple")
    assert _hurt_at(row, date(2027, 4, 20), apple="full bloom") == -2.2
    assert _hurt_at(row, date(2027, 2, 20), apple="silver tip") == -9.4


def test_a_stage_that_was_never_taken_out_makes_nothing_safer_and_asks_for_nothing() -> None:
    row = _row("apple")
    assert _hurt_at(row, date(2027, 5, 5), apple="silver tip") == -3.0  # in leaf by now
    assert _hurt_at(row, date(2027, 11, 20), apple="full bloom") == _hurt_at(
        row, date(2027, 11, 20)
    )


def test_of_several_rows_of_a_kind_the_tenderest_counts() -> None:
    night = date(2027, 1, 10)
    rows = [_row("citrus"), _row("citrus", last_cut=date(2027, 1, 2))]
    found = standing_at(rows, PLANTS, DATA, day=night, cycle=NORTH, bloom={})
    assert [one.hurt_at_c for one in found] == [-1.0]


def test_a_night_is_hard_where_the_chance_of_damage_is_more_than_tolerated() -> None:
    """Normal errors: at the damage temperature itself the chance is one half."""
    as_of = date(2027, 1, 9)
    risk = risk_of(
        climate_of(made(1990, 20, seed=3)),
        threshold_c=0.0,
        offset_c=-1.0,
        tolerance=0.1,
        season=Season(as_of, 30),
        southern=False,
    )
    nights = tuple(
        ForecastNight(issued=as_of, date=as_of + timedelta(days=n), tmin_c=low_c)
        for n, low_c in enumerate((2.0, -5.0, 2.0), start=1)
    )
    outlook = ahead_of(risk, as_of, forecast=nights, errors=lead_errors((), None, as_of, DATA))
    standing = standing_at(
        [_row("citrus")], PLANTS, DATA, day=nights[0].date, cycle=NORTH, bloom={}
    )
    (hard,) = hard_nights(outlook, standing)
    assert hard.night.day == as_of + timedelta(days=2)
    assert hard.night.evening == as_of + timedelta(days=1)
    ((kind, chance),) = hard.hurt
    assert kind.plant == "citrus"
    assert chance == pytest.approx(0.5)  # -5 and the plot's -1: the -6 that kills it
    assert hard_nights(replace(outlook, nights=()), standing) == ()
