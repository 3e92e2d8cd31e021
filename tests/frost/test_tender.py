"""The tenderest thing exposed sets the threshold, and is named."""

import csv
from dataclasses import replace
from typing import Literal

import pytest

from scheduler.frost.tender import hurt_at, hurt_in_bloom, tenderest_first
from scheduler.holding import Plant, RuleBook
from scheduler.holding.frost_data import package_frost_data
from scheduler.holding.site_files import package_rules
from tests.frost.records import TABLES

DATA = package_frost_data()
PLANTS = RuleBook.of(package_rules()).plants


def _plant(rest_c: float | None, growth_c: float) -> Plant:
    return Plant(
        id="made",
        name="Made",
        botanical="Made up",
        group="made",
        habit="evergreen",
        rest_c=rest_c,
        growth_c=growth_c,
        source="made up",
    )


def test_the_tenderest_of_a_mixed_plot_is_the_banana() -> None:
    kinds = ("apple", "lemon", "banana", "olive")
    exposed = tenderest_first(hurt_at(PLANTS[kind], "rest", DATA) for kind in kinds)
    assert (exposed[0].plant, exposed[0].hurt_at_c) == ("banana", 1.0)
    assert "EcoCrop 2483" in exposed[0].source


def test_of_equals_the_first_by_name_goes_first() -> None:
    exposed = tenderest_first(hurt_at(PLANTS[k], "growth", DATA) for k in ("orange", "avocado"))
    assert [one.plant for one in exposed] == ["avocado", "orange"]


def test_new_growth_is_hurt_sooner_than_the_plant_at_rest() -> None:
    for plant in PLANTS.values():
        rest = hurt_at(plant, "rest", DATA, hardened=True).hurt_at_c
        soft = hurt_at(plant, "rest", DATA, hardened=False).hurt_at_c
        growth = hurt_at(plant, "growth", DATA).hurt_at_c
        young = hurt_at(plant, "seedling", DATA, hardened=True).hurt_at_c
        assert rest <= soft <= max(growth, rest)
        assert young > rest


def test_an_unhardened_plant_is_hurt_four_degrees_earlier_but_not_before_its_new_growth() -> None:
    assert hurt_at(_plant(-10, -1), "rest", DATA).hurt_at_c == -6
    assert hurt_at(_plant(-3, -1), "rest", DATA).hurt_at_c == -1
    assert hurt_at(_plant(1, 1), "rest", DATA).hurt_at_c == 1


def test_a_value_at_rest_that_is_not_known_is_that_of_new_growth() -> None:
    found = hurt_at(_plant(None, -1), "rest", DATA, hardened=True)
    assert found.hurt_at_c == -1


# Common practice, no source: just planted stock is hurt 2 K earlier than the grown plant,
# tender kinds at 0, and what is planted in leaf no later than its new growth.
@pytest.mark.parametrize(
    ("rest_c", "habit", "hurt_c"),
    [
        (-30, "deciduous", -26),
        (-10, "deciduous", -6),
        (-4, "deciduous", 0),
        (-10, "evergreen", -1),
        (-1, "evergreen", 1),
        (1, "herb", 3),
        (None, "evergreen", 1),
    ],
)
def test_just_planted_stock_is_hurt_earlier_still(
    rest_c: float | None, habit: Literal["evergreen", "deciduous", "herb"], hurt_c: float
) -> None:
    kind = replace(_plant(rest_c, -1), habit=habit)
    assert hurt_at(kind, "seedling", DATA).hurt_at_c == hurt_c


def test_tagasaste_seedlings_die_below_0_where_grown_trees_stand_9_degrees() -> None:
    # rangeviewseeds: seedlings killed below 0, grown trees to -9 (a grower's page)
    assert hurt_at(PLANTS["tagasaste"], "seedling", DATA, hardened=True).hurt_at_c == 0


def test_bloom_has_its_own_table() -> None:
    apple = hurt_in_bloom(PLANTS["apple"], "full bloom", DATA)
    assert apple is not None
    assert (apple.hurt_at_c, apple.detail) == (-2.2, "full bloom, 10 % bud kill")
    assert hurt_in_bloom(PLANTS["apple"], "no such stage", DATA) is None
    assert hurt_in_bloom(PLANTS["lemon"], "full bloom", DATA) is None


# Penn State Extension after WSU EB0419, and Michigan State University Extension, full
# bloom: temperatures that kill 10 and 90 %, degrees F.
FULL_BLOOM_F = {
    "apple": (28, 25),
    "pear": (28, 24),
    "peach": (27, 24),
    "sweet-cherry": (28, 25),
    "apricot": (27, 22),
    "plum": (28, 23),
}


@pytest.mark.parametrize("plant", list(FULL_BLOOM_F))
def test_bloom_tables_have_the_published_full_bloom(plant: str) -> None:
    bloom = package_frost_data().bloom_of(plant)
    assert bloom is not None
    stage = next(stage for stage in bloom.stage if stage.id == "full bloom")
    ten, ninety = ((f - 32) / 1.8 for f in FULL_BLOOM_F[plant])
    assert stage.kill10_c == pytest.approx(ten, abs=0.06)
    assert stage.kill90_c == pytest.approx(ninety, abs=0.06)


def test_buds_grow_tenderer_from_stage_to_stage() -> None:
    blooms = package_frost_data().bloom
    assert any(len(bloom.stage) > 1 for bloom in blooms)
    for bloom in blooms:
        tens = [stage.kill10_c for stage in bloom.stage]
        assert tens == sorted(tens), bloom.plant
        for stage in bloom.stage:
            assert stage.kill90_c is None or stage.kill90_c < stage.kill10_c


# FAO EcoCrop, killing temperature at rest and in early growth, by code (ecocrop.fao.org).
ECOCROP = {
    "cherimoya": (2194, -1, 0),
    "guava": (1804, -5, -1),
    "feijoa": (1068, -10, -1),
    "olive": (1553, -10, 0),
    "tagasaste": (5175, -9, 0),
    "banana": (2483, 1, 1),
    "fig": (1071, -12, -1),
}


@pytest.mark.parametrize("plant", list(ECOCROP))
def test_damage_temperatures_are_those_of_ecocrop(plant: str) -> None:
    code, rest_c, growth_c = ECOCROP[plant]
    kind = PLANTS[plant]
    assert str(code) in kind.source
    assert hurt_at(kind, "rest", DATA, hardened=True).hurt_at_c == rest_c
    assert hurt_at(kind, "growth", DATA).hurt_at_c == growth_c


def test_every_kind_that_names_its_ecocrop_page_alone_has_its_values() -> None:
    table = TABLES.parents[1] / "ecocrop_frost_subset.csv"
    if not table.exists():
        pytest.skip("the EcoCrop subset is not at hand")
    with table.open(newline="", encoding="utf-8") as lines:
        rows = {row["ecocrop_code"]: row for row in csv.DictReader(lines)}
    checked = 0
    for plant in PLANTS.values():
        code = plant.source.removeprefix("FAO EcoCrop ")
        if code in rows:
            row = rows[code]
            assert plant.rest_c == float(row["kill_temp_rest_C"]), plant.id
            assert plant.growth_c == float(row["kill_temp_early_growth_C"]), plant.id
            checked += 1
    assert checked > 20


def test_the_data_file_says_where_everything_comes_from() -> None:
    sources = [DATA.growth.source, DATA.hardening.source, DATA.seedling.source]
    sources += [DATA.transfer.source, DATA.forecast.source, DATA.night.source]
    sources += [entry.source for entry in DATA.site_adjustment]
    sources += [entry.source for entry in DATA.bloom]
    assert all(len(source) > 10 for source in sources)
    assert DATA.growth.tender_weeks == 8
    assert "common practice" in DATA.growth.source
    assert DATA.site_adjustment
    for adjustment in DATA.site_adjustment:
        assert adjustment.low_c < adjustment.high_c
