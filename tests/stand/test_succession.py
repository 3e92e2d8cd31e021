"""Support trees that make way, and what the plants will bear."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.files import FaultyFilesError
from scheduler.holding import Plot, RuleBook, read_holding
from scheduler.holding.site_files import package_rules
from scheduler.reasons import SeasonPlan
from scheduler.stand import harvests_of, removals_of
from tests.sites import AS_OF, new_site
from tests.stand.test_growth import row

BOOK = RuleBook.of(package_rules())
PLOT = Plot(id="low", name="Low", area_m2=500.0, planted=2015)


def test_support_makes_way_only_for_a_successor_that_is_ready_in_its_line() -> None:
    """Half the height of what it follows: common practice, no source."""
    support = row(plant="black-wattle", height_m=10.0, line="A", count=3)
    ready = row(plant="chestnut", role="successor", height_m=5.0, line="A", count=3)
    for successor, proposed in (
        (ready, 1),
        (row(plant="chestnut", role="successor", height_m=4.9, line="A", count=3), 0),
        (row(plant="chestnut", role="successor", height_m=5.0, line="B", count=3), 0),
        (row(plant="chestnut", role="fruit", height_m=5.0, line="A", count=3), 0),
    ):
        assert len(removals_of(PLOT, [support, successor], BOOK, 2027)) == proposed


def test_removal_is_spread_over_seasons() -> None:
    support = row(plant="black-wattle", height_m=8.0, count=9)
    successor = row(plant="chestnut", role="successor", height_m=6.0, count=9)
    (removal,) = removals_of(PLOT, [support, successor], BOOK, 2027)
    assert removal.by_year == ((2027, 3), (2028, 3), (2029, 3))
    assert not removal.asked


@given(st.integers(1, 40), st.integers(1, 40))
def test_never_more_goes_than_stands_or_than_follows(standing: int, following: int) -> None:
    support = row(plant="black-wattle", height_m=8.0, count=standing)
    successor = row(plant="chestnut", role="successor", height_m=6.0, count=following)
    (removal,) = removals_of(PLOT, [support, successor], BOOK, 2027)
    assert sum(count for _, count in removal.by_year) == min(standing, following)
    assert all(0 < count <= max(1, 0.34 * standing) for _, count in removal.by_year)


def test_what_the_grower_marked_comes_first(branasol: SeasonPlan) -> None:
    holding = branasol.placed.holding
    terrace = next(plot for plot in holding.plots if plot.id == "socalco")
    removals = removals_of(terrace, holding.stock, holding.rules, 2027)
    assert [(r.support.plant, r.successor.plant, r.asked) for r in removals] == [
        ("black-wattle", "chestnut", True)
    ]


def test_harvest_rises_from_the_first_crop_to_full_bearing() -> None:
    """Apple: first worth picking in year 3, full from year 8: common practice, no source."""
    apples = row(plant="apple", role="fruit", cut_system="retained", count=10)
    told = harvests_of(PLOT, [apples], BOOK, range(2016, 2026))
    assert [h.year for h in told] == list(range(2018, 2026))
    # evenly over the six years from the first crop: a sixth of ten trees of 10 kg, then more
    assert [h.low_kg for h in told[:3]] == pytest.approx([100 / 6, 200 / 6, 50.0])
    assert (told[-1].low_kg, told[-1].high_kg) == (100.0, 400.0)
    assert all(h.low_kg < h.high_kg for h in told)


def test_full_bearing_before_the_first_crop_is_refused(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    (site / "rules.toml").write_text(
        '[[harvest]]\nid = "apple"\nfirst_year = 5\nfull_year = 4\nlow_kg = 1\nhigh_kg = 2\n'
        'source = "own"\n',
        encoding="utf-8",
    )
    with pytest.raises(FaultyFilesError, match="5 or later"):
        read_holding(site, AS_OF)


def test_support_trees_and_kinds_without_figures_bear_nothing() -> None:
    told = harvests_of(PLOT, [row(), row(plant="myrtle", role="fruit")], BOOK, [2030])
    assert told == ()
