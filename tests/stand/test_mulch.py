"""From the cut tree to the layers on the line: mass, depth, balance, rotting."""

import math
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.files.fields import Visit
from scheduler.holding import Holding, RuleBook, read_holding
from scheduler.holding.site_files import package_rules
from scheduler.reasons import SeasonPlan
from scheduler.stand import LineMulch, Rotting, Task, mulch_of, tasks_of, usual_day
from scheduler.stand.biomass import Material
from scheduler.stand.mulch import Layered, laid_layers, left_cm
from tests.sites import AS_OF, add, edit, new_site

BOOK = RuleBook.of(package_rules())
ON = date(2027, 5, 20)
VISITS: tuple[Visit, ...] = ("dormant", "release")
EVEN = Rotting(None, BOOK)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def cuts_of(tasks: Sequence[Task], plot_id: str, visit: Visit) -> list[Task]:
    return [t for t in tasks if t.type.cuts and (t.plot_id, t.type.visit) == (plot_id, visit)]


def laid(holding: Holding) -> dict[str, LineMulch]:
    cuts = cuts_of(tasks_of(holding), holding.plots[0].id, "release")
    found = mulch_of(holding.plots[0], cuts, holding.stock, EVEN, ON)
    return {mulch.line.id: mulch for mulch in found}


def test_chips_lie_as_deep_as_the_handbook_says() -> None:
    """Briggs, tables 7-1 and 7-2: wet chips 265 kg/m3, so 26.5 kg/m2 is 10 cm and 20 is 7.5."""
    (deep,) = laid_layers(Material(twigs_kg=265.0), 10.0, BOOK, ON)
    (thin,) = laid_layers(Material(twigs_kg=20.0), 1.0, BOOK, ON)
    assert deep.depth_cm == pytest.approx(10.0)
    assert thin.depth_cm == pytest.approx(7.5, abs=0.06)


def test_layers_lie_coarse_to_fine() -> None:
    """Logs, branches, chips, leaves, juicy stems on top: common practice, no source."""
    layers = laid_layers(Material(5, 4, 3, 2, 1), 1.0, BOOK, ON)
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
        tasks = tuple(plan.placed.tasks.values())
        assert plan.placed.holding.plots
        for plot in plan.placed.holding.plots:
            for visit in VISITS:
                cuts = cuts_of(tasks, plot.id, visit)
                cut = sum((task.material for task in cuts), Material())
                on = usual_day(visit, plan.placed.holding)  # the tasks are reckoned with
                lines = mulch_of(plot, cuts, plan.placed.holding.stock, EVEN, on)
                for layer in ("logs", "branches", "twigs", "leaves", "juicy"):
                    on_lines = sum(x.kg for m in lines for x in m.layers if x.layer.id == layer)
                    assert on_lines == pytest.approx(cut.of(layer))


def cover_cm(mulch: LineMulch) -> float:
    return sum(laid.depth_cm for laid in mulch.cover)


def kg(mulch: LineMulch) -> float:
    return sum(laid.kg for laid in mulch.layers)


def test_what_is_cut_in_a_line_stays_on_it_and_the_rest_goes_by_area(site: Path) -> None:
    before = laid(read_holding(site, AS_OF))
    assert kg(before["A"]) > kg(before["B"]) > 0  # support trees, and a hedge that is trimmed
    add(site, "stock.csv", "first-plot,,eucalypt,emergent,boundary,coppice,2,20,14,5,,\n")
    after = laid(read_holding(site, AS_OF))
    # lines of the same ground get the same of what stood outside
    gained = [kg(after[line]) - kg(before[line]) for line in ("A", "B")]
    assert gained[0] == pytest.approx(gained[1])
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
    assert 0 < cover_cm(poor) < 5
    assert poor.short_kg == pytest.approx((0.05 - cover_cm(poor) / 100) * 265 * poor.area_m2)
    edit(site, "stock.csv", "pollard,12,7,3.5", "pollard,300,16,5.5")
    rich = laid(read_holding(site, AS_OF))["A"]
    assert rich.short_kg == 0
    assert rich.surplus_kg > 0
    assert cover_cm(rich) > 10


def test_a_thin_line_wants_feeding_at_once_and_a_thick_one_later(site: Path) -> None:
    assert laid(read_holding(site, AS_OF))["B"].feed_on == ON
    edit(site, "stock.csv", "pollard,12,7,3.5", "pollard,60,12,5.5")
    thick = laid(read_holding(site, AS_OF))["A"]
    assert thick.feed_on is not None
    n_days = (thick.feed_on - ON).days
    left = left_cm(thick.cover, EVEN, ON, n_days)
    assert left[-1] < 3.0 <= left[-2]
    assert n_days > 90


@given(st.integers(0, 1800), st.sampled_from(sorted(BOOK.layers)))
def test_mulch_only_rots_away(days: int, layer: str) -> None:
    lying = [Layered(BOOK.layers[layer], 8.0, ON)]
    left = left_cm(lying, EVEN, ON, days)
    assert left[0] == 8.0
    assert (np.diff(left) < 0).all()
    assert (left > 0).all()


def test_leafless_trees_bring_no_leaves(site: Path) -> None:
    tasks = {task.type.id: task for task in tasks_of(read_holding(site, AS_OF))}
    assert tasks["cut-dormant-tall"].material.leaves_kg == 0
    assert tasks["cut-dormant-tall"].material.logs_kg > 0
    assert tasks["cut-medium"].material.leaves_kg > 0
