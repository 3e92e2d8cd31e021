"""Cautions by the day: nests and fire by the months, heat and cold by the record of such days."""

from datetime import date
from pathlib import Path

import pytest

from scheduler.reasons import SeasonPlan
from scheduler.stand import cautions_of
from scheduler.windows import Facts, cautions_on
from tests.sites import edit, new_site
from tests.windows.test_weather import facts, task_of, with_record


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def on(told: Facts, kind: str, month_day: str) -> set[str]:
    """Ids of what is told of a kind of work on a day of 2027."""
    day = told.season.day_of(date.fromisoformat(f"2027-{month_day}"))
    return {caution.id for caution in cautions_on(task_of(told, kind), day, told)}


def days_of(told: Facts, kind: str, caution: str, *month_days: str) -> list[bool]:
    return [caution in on(told, kind, month_day) for month_day in month_days]


def test_nests_are_looked_for_in_the_months_in_which_birds_breed(
    site: Path, klipskadu: SeasonPlan
) -> None:
    """About March to August in the north: UK guidance; half a year later in the south."""
    days = ("02-10", "03-20", "04-15", "08-15", "10-15")
    north = [False, True, True, True, False]
    assert days_of(facts(site), "cut-medium", "nest-check", *days) == north
    seen = klipskadu.placed.outlook
    south = Facts(klipskadu.placed.holding, seen.season, seen.sky, seen.frost, seen.as_of)
    days = ("08-10", "09-20", "10-15", "02-15", "04-15")
    assert days_of(south, "cut-medium", "nest-check", *days) == north


def test_fire_is_told_of_in_the_high_summer(site: Path) -> None:
    """July and August in the north: common practice, no source."""
    days = ("06-10", "07-15", "08-15", "09-20")
    told = days_of(facts(site), "cut-stone-fruit", "fire-season", *days)
    assert told == [False, True, True, False]


def test_heat_is_told_of_where_such_days_are_often_hot(site: Path) -> None:
    """25 C and more on over a tenth of the days, and the warm half of the year where nobody
    has measured: common practice, no source."""
    days = ("03-15", "04-25", "07-15")
    assert days_of(facts(site), "weed-lines", "heat", *days) == [False, True, True]
    with_record(site)
    assert days_of(facts(site), "weed-lines", "heat", *days) == [False, False, True]


def test_cold_is_told_of_by_the_nights_at_the_plot(site: Path) -> None:
    """No pruning below 25 F (-4 C): greenyplace.com, weak."""
    days = ("01-20", "04-20", "11-15")
    cold = ("cut-dormant-tall", "brittle-wood", *days)
    assert days_of(facts(site), *cold) == [True] * 3, "nobody knows"
    with_record(site)
    assert days_of(facts(site), *cold) == [True, False, False]
    edit(site, "plots.toml", "frost_offset_c = 0.0", "frost_offset_c = 6.0")
    assert days_of(facts(site), *cold) == [False] * 3, "the slope is warmer"


def test_what_hangs_on_no_day_is_told_on_each(site: Path) -> None:
    told = facts(with_record(site))
    kind = task_of(told, "cut-dormant-tall")
    every = cautions_of(kind.type, kind.stock, kind.plot, told.holding.rules)
    hangs = ((c.id, (c.on_days_of, c.above_c, c.below_c)) for c in every)
    always = {name for name, days in hangs if days == (None, None, None)}
    assert {"two-tree-lengths", "climber", "saw-work", "weather-stop"} <= always
    assert on(told, "cut-dormant-tall", "07-01") == always | {"nest-check"}
    assert on(told, "cut-dormant-tall", "01-20") == always | {"brittle-wood"}
