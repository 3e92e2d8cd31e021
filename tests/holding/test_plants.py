"""The kinds of plants of the rule book: names, cold, months of picking, where they run wild."""

from collections import Counter

import pytest

from scheduler.holding import Plant, RuleBook
from scheduler.holding.site_files import package_rules

BOOK = RuleBook.of(package_rules())
PLANTS = BOOK.plants
NO_SOURCE = "common practice, no source"


def names_of(plant: Plant) -> set[str]:
    return {name.casefold() for name in (plant.name, *plant.names.every)}


def test_a_grower_of_any_climate_finds_enough_kinds() -> None:
    assert len(PLANTS) >= 135


@pytest.mark.parametrize("plant", PLANTS.values(), ids=lambda plant: plant.id)
def test_a_kind_is_told_in_full(plant: Plant) -> None:
    for names in (plant.names.es, plant.names.pt, plant.names.fr):
        assert names
    further = plant.names.every
    assert all(name == name.casefold() for name in further)
    assert plant.rest_c is not None
    assert plant.young_c is None or plant.young_c >= plant.rest_c
    assert plant.picked is None or plant.picked.first != plant.picked.last
    assert not plant.invasive or plant.invasive.endswith("check local rules.")
    assert "wild" not in plant.caution
    assert "invasive" not in plant.caution.lower()
    told = (plant.source, plant.picked.source if plant.picked else "")
    assert not any("memory" in source for source in told)
    assert NO_SOURCE in plant.source or "EcoCrop" in plant.source


def test_a_name_leads_to_one_kind_only() -> None:
    botanical = Counter(plant.botanical.casefold() for plant in PLANTS.values())
    assert not [name for name, times in botanical.items() if times > 1]
    kinds = Counter(name for plant in PLANTS.values() for name in names_of(plant))
    assert not [name for name, times in kinds.items() if times > 1]
    for plant in PLANTS.values():  # nor to another kind's id
        slugs = {name.replace(" ", "-") for name in names_of(plant)}
        assert (slugs & PLANTS.keys()) <= {plant.id}


def test_what_is_picked_has_a_harvest_and_what_has_a_harvest_is_picked() -> None:
    assert {plant.id for plant in PLANTS.values() if plant.picked} == set(BOOK.harvests)
    assert not any("memory" in bears.source for bears in BOOK.harvests.values())


def test_citrus_stand_cold_in_the_order_growers_know() -> None:
    order = ["yuzu", "kumquat", "mandarin", "orange", "lemon", "lime"]
    rest = [PLANTS[name].rest_c or 0 for name in order]
    assert rest == sorted(set(rest))
    young = [PLANTS[name].young_c or 0 for name in order]
    assert young == sorted(set(young))


# What an expert reading found wrong (trade-corrections.md, section 5): kind, cold that kills it
# at rest, degrees C, and what its source says of that figure.
CORRECTED = [
    ("paulownia", -18, NO_SOURCE),
    ("hazel", -25, NO_SOURCE),
    ("myrtle", -8, NO_SOURCE),
    ("mandarin", -7, NO_SOURCE),
    ("orange", -5, NO_SOURCE),
    ("lemon", -3.5, NO_SOURCE),
    ("pear", -27, NO_SOURCE),
    ("silky-oak", -8, NO_SOURCE),
    ("japanese-plum", -25, NO_SOURCE),
    ("chestnut", -22, NO_SOURCE),
    ("elder", -30, NO_SOURCE),
    ("loquat", -10, "FAO EcoCrop 1002"),
]


@pytest.mark.parametrize(("kind", "rest_c", "source"), CORRECTED)
def test_cold_that_was_wrong_is_mended(kind: str, rest_c: float, source: str) -> None:
    plant = PLANTS[kind]
    assert plant.rest_c == rest_c
    assert source in plant.source


def test_what_growers_know_of_the_cold_holds() -> None:
    hardier = [("apple", "pear"), ("plum", "peach"), ("hazel", "almond"), ("persimmon", "fig")]
    for one, other in hardier:
        assert (PLANTS[one].rest_c or 0) < (PLANTS[other].rest_c or 0)
    assert "fruitlets are killed at -3 to -4" in PLANTS["loquat"].caution
    assert "catkins" in PLANTS["hazel"].source


INVASIVE = [
    "robinia",
    "paulownia",
    "eucalypt",
    "tagasaste",
    "silky-oak",
    "she-oak",
    "guava",
    "white-mulberry",
    "black-wattle",
    "blackwood",
    "leucaena",
    "tithonia",
]


@pytest.mark.parametrize("kind", INVASIVE)
def test_a_kind_that_runs_wild_says_where(kind: str) -> None:
    assert PLANTS[kind].invasive.startswith("Runs wild")


# Section 5: the kinds that were missing.
MISSING = [
    "pawpaw",
    "sour-cherry",
    "asian-pear",
    "gooseberry",
    "goumi",
    "autumn-olive",
    "sea-buckthorn",
    "cornelian-cherry",
    "serviceberry",
    "honey-locust",
    "siberian-pea-shrub",
    "jujube",
    "carob",
    "prickly-pear",
    "lime",
    "papaya",
    "mango",
    "lychee",
    "coffee",
    "cacao",
    "taro",
    "cassava",
    "sweet-potato",
    "moringa",
    "gliricidia",
    "calliandra",
    "elephant-grass",
    "vetiver",
    "moso-bamboo",
    "tithonia",
    "sugar-cane",
    "yacon",
    "monstera",
    "cherimoya",
    "lucuma",
    "japanese-raisin-tree",
    "andean-alder",
    "naranjilla",
    "cape-gooseberry",
    "enset",
    "capuli",
]


def test_no_kind_that_was_missing_is_missing() -> None:
    assert not set(MISSING) - PLANTS.keys()
    assert "mexican sunflower" in PLANTS["tithonia"].names.en


# North: mid-September is 8.8, 1 November 10.4; the same months south come half a year later.
@pytest.mark.parametrize(
    ("kind", "first", "last"),
    [
        ("persimmon", 10.1, 11.3),
        ("kiwifruit", 10.1, 11.3),
        ("chestnut", 9.3, 11.3),
        ("walnut", 8.3, 10.4),
        ("blueberry", 5.3, 8.3),
        ("quince", 8.3, 10.4),
        ("plum", 6.3, 8.3),
        ("sweet-cherry", 4.3, 6.3),
        ("feijoa", 9.3, 11.3),
        ("almond", 7.3, 9.3),
        ("olive", 9.3, 12),
    ],
)
def test_months_of_picking_lie_within_those_of_practice(
    kind: str, first: float, last: float
) -> None:
    picked = PLANTS[kind].picked
    assert picked is not None
    assert first <= picked.first < picked.last <= last
