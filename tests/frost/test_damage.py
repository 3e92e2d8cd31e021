"""Bud kill, against worked values and the published tables."""

from datetime import date

import pytest

from scheduler.frost import bud_kill, critical_temperatures, season_kill
from scheduler.holding.frost_data import BloomStage, package_frost_data

# DEST of FAO Frost protection vol. 2 (2005) as coded in the R package fruclimadapt;
# worked with peach at full bloom, -2.6 and -4.0 (Miranda et al. 2005, HortScience 40:357).
KILLS = [(-2.6, 0.10), (-4.0, 0.90), (-3.0, 0.3286), (-2.8, 0.2143), (-2.425, 0.0), (-4.175, 1.0)]


@pytest.mark.parametrize(("tmin_c", "share"), KILLS)
def test_bud_kill_gives_the_worked_values(tmin_c: float, share: float) -> None:
    assert bud_kill(tmin_c, -2.6, -4.0) == pytest.approx(share, abs=0.00005)


def test_no_more_than_all_and_no_less_than_none_are_killed() -> None:
    assert bud_kill(5, -2.6, -4.0) == 0
    assert bud_kill(-20, -2.6, -4.0) == 1


def test_two_nights_take_47_24_percent() -> None:
    nights = [bud_kill(tmin_c, -2.6, -4.0) for tmin_c in (-3.0, -2.8)]
    assert season_kill(nights) == pytest.approx(0.4724, abs=0.00005)


def test_critical_temperatures_the_wrong_way_round_are_refused() -> None:
    with pytest.raises(ValueError, match="not below"):
        bud_kill(-3, -4.0, -2.6)


def test_critical_temperatures_run_straight_between_stages() -> None:
    dated = [
        (date(2027, 4, 11), BloomStage(id="full bloom", kill10_c=-2.0, kill90_c=-4.0)),
        (date(2027, 4, 1), BloomStage(id="first pink", kill10_c=-4.0, kill90_c=-8.0)),
    ]
    assert critical_temperatures(dated, date(2027, 4, 6)) == (-3.0, -6.0)
    assert critical_temperatures(dated, date(2027, 4, 11)) == (-2.0, -4.0)
    assert critical_temperatures(dated, date(2027, 4, 12)) is None
    assert critical_temperatures(dated, date(2027, 3, 31)) is None


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
    stage = bloom.stage_named("full bloom")
    assert stage is not None
    ten, ninety = ((f - 32) / 1.8 for f in FULL_BLOOM_F[plant])
    assert stage.kill10_c == pytest.approx(ten, abs=0.06)
    assert stage.kill90_c == pytest.approx(ninety, abs=0.06)


def test_buds_grow_tenderer_from_stage_to_stage() -> None:
    for bloom in package_frost_data().bloom:
        tens = [stage.kill10_c for stage in bloom.stage]
        assert tens == sorted(tens), bloom.plant
        for stage in bloom.stage:
            assert stage.kill90_c is None or stage.kill90_c < stage.kill10_c
