"""From the cut tree to the layers on the line: mass, depth, balance, rotting, the chipper."""

import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.holding import Holding, RuleBook, read_holding
from scheduler.holding.fields import Visit
from scheduler.holding.files import package_rules
from scheduler.season import SeasonPlan
from scheduler.stand import Laying, LineMulch, Material, Rotting, chipper_worth, mulch_of, tasks_of
from scheduler.stand.mulch import Lying, laid_layers, left_cm
from tests.sites import AS_OF, edit, new_site

BOOK = RuleBook.of(package_rules())
ON = date(2027, 5, 20)
VISITS: tuple[Visit, ...] = ("dormant", "release")
EVEN = Rotting(None, BOOK)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def laid(holding: Holding) -> dict[str, LineMulch]:
    found = mulch_of(
        holding.plots[0], Laying("release", tasks_of(holding), holding.stock, EVEN), ON
    )
    return {mulch.line.id: mulch for mulch in found}


def test_chips_lie_as_deep_as_the_handbook_says() -> None:
    """Briggs, tables 7-1 and 7-2: wet chips 265 kg/m3, so 26.5 kg/m2 is 10 cm and 20 is 7.5."""
    (deep,) = laid_layers(Material(twigs_kg=265.0), 10.0, BOOK)
    (thin,) = laid_layers(Material(twigs_kg=20.0), 1.0, BOOK)
    assert deep.depth_cm == pytest.approx(10.0)
    assert thin.depth_cm == pytest.approx(7.5, abs=0.06)
    assert deep.volume_m3 == pytest.approx(1.0)


def test_layers_lie_coarse_to_fine() -> None:
    """Logs, branches, chips, leaves, juicy stems on top: common practice, no source."""
    layers = laid_layers(Material(5, 4, 3, 2, 1), 1.0, BOOK)
    assert [x.layer.id for x in layers] == ["logs", "branches", "twigs", "leaves", "juicy"]


def test_half_lives_follow_the_published_lifetimes() -> None:
    """Mackensen 2003: 95 % lost in 11 years (class 4), 26 (class 3); half-life is 0.2314 of it."""
    factor = math.log(2) / -math.log(0.05)
    assert factor == pytest.approx(0.2314, abs=5e-5)
    assert BOOK.layers["branches"].half_life_months / 12 == pytest.approx(11 * factor, abs=0.05)
    assert 11 * factor < BOOK.layers["logs"].half_life_months / 12 < 26 * factor
    # leucaena leaf: 31 days at 26 C, 86 to 138 days in the cool highland
    assert 31 < BOOK.layers["leaves"].half_life_months * 30.4 < 138


def test_mass_is_conserved_from_tree_to_layers_by_line(
    branasol: SeasonPlan, klipskadu: SeasonPlan
) -> None:
    for plan in (branasol, klipskadu):
        tasks = tuple(plan.tasks.values())
        for plot in plan.holding.plots:
            for visit in VISITS:
                cut = sum(
                    (t.material for t in tasks if t.type.cuts and t.plot is plot
                     and t.type.visit == visit), Material(),
                )  # fmt: skip
                lines = mulch_of(plot, Laying(visit, tasks, plan.holding.stock, EVEN), ON)
                for layer in ("logs", "branches", "twigs", "leaves", "juicy"):
                    on_lines = sum(x.kg for m in lines for x in m.layers if x.layer.id == layer)
                    assert on_lines == pytest.approx(cut.of(layer))


def test_what_is_cut_in_a_line_stays_on_it_and_the_rest_goes_by_area(site: Path) -> None:
    before = laid(read_holding(site, AS_OF))
    assert before["A"].layers
    assert before["B"].layers == ()
    with (site / "stock.csv").open("a", encoding="utf-8") as stock:
        stock.write("first-plot,,eucalypt,emergent,boundary,coppice,2,20,14,5,,\n")
    after = laid(read_holding(site, AS_OF))
    # lines of the same ground get the same of what stood outside
    gained = [sum(x.kg for x in m.layers) for m in (after["A"], after["B"])]
    held = sum(x.kg for x in before["A"].layers)
    assert gained[0] - held == pytest.approx(gained[1])
    assert gained[1] > 0


def test_every_stem_keeps_its_bare_ring(site: Path) -> None:
    """7.5 to 15 cm: Arbor Day Foundation, ISA; 10 cm round 8 alders of 12 and 12 shrubs of 7."""
    line = laid(read_holding(site, AS_OF))["A"]
    rings = math.pi * (8 * 0.16**2 + 12 * 0.135**2)
    assert line.bare_m2 == pytest.approx(rings)
    assert line.area_m2 == pytest.approx(45 - rings)
    assert 0.075 <= BOOK.figure("bare-ring") <= 0.15


def test_a_line_is_short_or_has_some_over(site: Path) -> None:
    """5 to 10 cm of cover: Arbor Day Foundation."""
    poor = laid(read_holding(site, AS_OF))["B"]
    assert poor.short_kg == pytest.approx(0.05 * 265 * poor.area_m2)
    edit(site, "stock.csv", "pollard,12,7,3.5", "pollard,300,16,5.5")
    rich = laid(read_holding(site, AS_OF))["A"]
    assert rich.short_kg == 0
    assert rich.surplus_kg > 0
    assert rich.cover_cm > 10


def test_a_thin_line_wants_feeding_at_once_and_a_thick_one_later(site: Path) -> None:
    assert laid(read_holding(site, AS_OF))["B"].feed_on == ON
    edit(site, "stock.csv", "pollard,12,7,3.5", "pollard,60,12,5.5")
    thick = laid(read_holding(site, AS_OF))["A"]
    assert thick.feed_on is not None
    n_days = (thick.feed_on - ON).days
    left = left_cm(thick.lying, EVEN, ON, n_days)
    assert left[-1] < 3.0 <= left[-2]
    assert n_days > 90


@given(st.integers(0, 1800), st.sampled_from(sorted(BOOK.layers)))
def test_mulch_only_rots_away(days: int, layer: str) -> None:
    lying = [Lying(BOOK.layers[layer], 8.0, ON)]
    left = left_cm(lying, EVEN, ON, days)
    assert left[0] == 8.0
    assert (np.diff(left) < 0).all()
    assert (left > 0).all()


def test_leafless_trees_bring_no_leaves(site: Path) -> None:
    tasks = {task.type.id: task for task in tasks_of(read_holding(site, AS_OF))}
    assert tasks["cut-dormant-tall"].material.leaves_kg == 0
    assert tasks["cut-dormant-tall"].material.logs_kg > 0
    assert tasks["cut-medium"].material.leaves_kg > 0


def test_a_chipper_is_worth_its_hire_only_with_enough_to_chip(branasol: SeasonPlan) -> None:
    """By hand 110 kg in a person-hour, hand-fed chipper 750: common practice, assumption."""
    tasks = tuple(branasol.tasks.values())
    chips = [task for task in tasks if task.type.id == "chip"]
    alone = [chipper_worth([task], BOOK) for task in chips]
    together = chipper_worth(tasks, BOOK)
    assert together.twigs_kg == pytest.approx(sum(w.twigs_kg for w in alone))
    assert together.saved_h == pytest.approx(sum(w.saved_h for w in alone))
    assert together.days <= sum(w.days for w in alone)
    few = replace(chips[0], material=Material(twigs_kg=300.0), hours=chips[0].hours.scaled(0.01))
    assert not chipper_worth([few], BOOK).worth
    assert together.worth
    by_hand = together.twigs_kg / 110
    machine = together.twigs_kg / 750 + together.twigs_kg / 400
    assert together.saved_h == pytest.approx(by_hand - machine)
    assert chipper_worth([], BOOK).days == 0
