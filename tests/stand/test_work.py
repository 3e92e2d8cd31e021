"""Which tasks a plan makes of the stock, and how much work they are."""

from dataclasses import replace
from pathlib import Path

import pytest

from scheduler.holding import Holding, RuleBook, read_holding
from scheduler.holding.site_files import package_rules
from scheduler.stand import (
    Task,
    cover_of,
    cut_mass_range,
    held_back,
    left_to_utility,
    never_cut,
    tasks_of,
)
from tests.sites import AS_OF, ROOT, edit, new_site


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def tasks(site: Path) -> dict[str, Task]:
    return {task.id.split(".")[1]: task for task in tasks_of(read_holding(site, AS_OF))}


@pytest.fixture(scope="module")
def branasol() -> Holding:
    return read_holding(ROOT / "sites" / "branasol", AS_OF)


def test_only_the_wanted_work_becomes_tasks(site: Path) -> None:
    edit(site, "plan-2027.toml", '["dormant", "release", "dry-summer", "year"]', '["dormant"]')
    assert {task.type.visit for task in tasks(site).values()} == {"dormant"}


def test_what_is_not_wanted_after_all_is_left_out(site: Path) -> None:
    assert "weed-lines" in tasks(site)
    edit(site, "plan-2027.toml", "without = []", 'without = ["weed-lines"]')
    assert "weed-lines" not in tasks(site)


def test_stone_fruit_waits_for_the_dry_summer_and_says_why(site: Path) -> None:
    assert [row.plant for row in tasks(site)["cut-stone-fruit:plum"].stock] == ["plum"]
    holding = read_holding(site, AS_OF)
    held = {x.stock.plant: x for x in held_back(holding.plots[0], "release", holding)}
    assert held["plum"].until == "dry-summer"
    assert "silver-leaf" in held["plum"].why
    assert held["apple"].until == "dormant"


def test_one_stock_row_is_cut_by_at_most_one_task_of_a_visit(branasol: Holding) -> None:
    taken = [
        (task.type.visit, replace(row, count=1))
        for task in tasks_of(branasol)
        if task.type.cuts
        for row in task.stock
    ]
    assert taken
    assert [one for one in taken if taken.count(one) > 1] == []


def test_every_row_that_is_ever_cut_has_a_task_or_is_reported(branasol: Holding) -> None:
    """Of trees that make way some go in a year, so their number is no mark of the row."""
    cuts = [task for task in tasks_of(branasol) if task.type.cuts]
    told = [row for task in cuts for row in task.stock]
    told += [h.stock for plot in branasol.plots for h in held_back(plot, "release", branasol)]
    left = {replace(row, count=1) for row in branasol.stock if row.cut_system != "none"}
    assert left
    assert left - {replace(row, count=1) for row in told} == set()


def test_hours_of_heavy_pruning_follow_the_published_table(site: Path) -> None:
    """J. Korean Inst. Landscape Arch. 50(4), table 5: 12.2 + 1.8 min around a tree and 12.4 min
    of cutting at 11 to 21 cm, which is 2.27 trees an hour."""
    edit(site, "stock.csv", "pollard,8,12,8,4", "pollard,227,12,5,4")
    assert tasks(site)["cut-dormant-tall"].hours.usual == pytest.approx(100, rel=0.01)


def test_weeding_follows_the_published_rate(site: Path) -> None:
    """Same table: 51 m2 in a person-hour; the site has two lines of 30 m by 1.5 m."""
    assert tasks(site)["weed-lines"].hours.usual == pytest.approx(90 / 51)


def test_somebody_climbs_where_a_tree_is_too_tall_for_the_ground(site: Path) -> None:
    tall = tasks(site)["cut-dormant-tall"]
    assert tall.team["climber"] == 1
    assert tall.hired == ("climber",)
    edit(site, "stock.csv", "pollard,8,12,8,4", "pollard,8,12,5.5,4")
    assert "climber" not in tasks(site)["cut-dormant-tall"].team


def test_a_climber_of_ones_own_is_not_hired(site: Path) -> None:
    edit(site, "crew.toml", '"chipper-hand"]', '"chipper-hand", "climber"]')
    assert tasks(site)["cut-dormant-tall"].hired == ()


def test_more_stock_is_never_less_work(site: Path) -> None:
    before = tasks(site)
    edit(site, "stock.csv", "pollard,12,7,", "pollard,40,7,")
    after = tasks(site)
    assert all(after[name].hours.usual >= task.hours.usual for name, task in before.items())
    assert after["lay-coarse"].hours.usual > before["lay-coarse"].hours.usual


def test_mass_is_conserved_from_tree_to_layers(branasol: Holding) -> None:
    """What the tallest trees bring down is laid while the plot gives shade; then the rest. What
    is pruned apart from the visit stays below its trees."""
    found = tasks_of(branasol)
    laid = {task.id: task.material.fresh_kg for task in found}
    sums = (("release", ("lay-fine",)), ("release", ("lay-boundary", "lay-coarse")),
            ("dormant", ("lay-dormant",)))  # fmt: skip
    assert branasol.plots
    for plot in branasol.plots:
        for visit, lays in sums:
            steps = [task for task in found if task.plot is plot and task.is_step]
            mine = [task for task in steps if task.type.cuts and task.type.visit == visit]
            kg = [laid.get(f"{plot.id}.{kind}", 0.0) for kind in lays]
            assert mine
            assert sum(kg) == pytest.approx(sum(task.material.fresh_kg for task in mine))


def test_the_wood_of_the_boundary_is_laid_by_itself(branasol: Holding) -> None:
    found = {task.id: task for task in tasks_of(branasol)}
    tall, coarse = found["fondal.lay-boundary"], found["fondal.lay-coarse"]
    assert tall.material == found["fondal.cut-boundary"].material
    assert tall.material.logs_kg > coarse.material.logs_kg > 0
    assert tall.hours.usual > coarse.hours.usual
    assert "socalco.lay-boundary" not in found, "its boundary trees are cut in winter"


def test_cautions_name_the_hazards_of_the_place_and_the_plants(branasol: Holding) -> None:
    by_id = {task.id: task for task in tasks_of(branasol)}
    assert any("Power line near" in words for words in by_id["socalco.cut-medium"].cautions)
    assert any("two tree lengths" in words for words in by_id["fondal.cut-boundary"].cautions)
    pruned = by_id["ladeira.cut-evergreen-fruit:mandarin"]
    assert any(words.startswith("Mandarin:") for words in pruned.cautions)


@pytest.mark.parametrize(
    ("hazard", "locked"),
    [
        ('[{ kind = "power-line", distance_m = 11.04 }]', True),
        ('[{ kind = "power-line", distance_m = 11.05 }]', False),
        ('[{ kind = "power-line" }]', True),
        ('[{ kind = "road", distance_m = 1 }]', False),
    ],
)
def test_trees_within_their_height_and_clearance_of_a_line_are_left_to_the_utility(
    site: Path, hazard: str, locked: bool
) -> None:
    """29 CFR 1910.269: 3.05 m up to 50 kV; the tallest tree of the site is 8 m."""
    edit(site, "plots.toml", "hazard = []", f"hazard = {hazard}")
    holding = read_holding(site, AS_OF)
    assert ("cut-dormant-tall" not in tasks(site)) is locked
    assert (left_to_utility(holding.plots[0], holding) is not None) is locked


def test_low_stock_near_a_line_is_still_the_crews(site: Path) -> None:
    edit(site, "plots.toml", "hazard = []", 'hazard = [{ kind = "power-line", distance_m = 9 }]')
    assert "cut-dormant-fruit:apple" in tasks(site)
    assert "cut-dormant-tall" not in tasks(site)


def test_leafless_trees_drop_no_leaves(site: Path) -> None:
    assert tasks(site)["cut-dormant-tall"].material.leaves_kg == 0
    assert tasks(site)["cut-medium"].material.leaves_kg > 0


def test_stock_that_no_task_type_takes_is_found(site: Path) -> None:
    assert never_cut(read_holding(site, AS_OF)) == ()
    edit(site, "stock.csv", "plum,medium,fruit,retained", "plum,medium,fruit,coppice")
    assert [row.plant for row in never_cut(read_holding(site, AS_OF))] == ["plum"]


def test_cover_is_the_sum_of_crowns_over_the_ground(site: Path) -> None:
    holding = read_holding(site, AS_OF)
    cover = {c.stratum: c for c in cover_of(holding.plots[0], holding.stock, holding.rules)}
    assert cover["high"].share == pytest.approx(8 * 3.14159265 / 4 * 16 / 600)
    # 20, 40, 60, 80 %: grower practice, no source
    assert [c.target for c in cover.values()] == [0.2, 0.4, 0.6, 0.8]


def test_a_second_cut_brings_what_has_grown_since_the_first(site: Path) -> None:
    """Tagasaste full again after four months (3 to 5: florancefarms.com), the second cut two
    and a half months on (common practice, no source): five eighths of the first."""
    told = tasks(site)
    first, second = told["cut-medium"], told["second-cut-support"]
    assert [r.plant for r in first.stock] == [r.plant for r in second.stock] == ["tagasaste"]
    assert second.material.fresh_kg == pytest.approx(0.625 * first.material.fresh_kg)
    rules = read_holding(site, AS_OF).rules
    both = [cut_mass_range(task.type, task.stock, rules) for task in (first, second)]
    assert both[1] == pytest.approx([0.625 * kg for kg in both[0]])


def test_every_kind_of_work_that_may_need_a_climber_says_how_climbing_is_safe() -> None:
    """A second person, gusts, thunder: the caution ``climber``."""
    kinds = [kind for kind in RuleBook.of(package_rules()).tasks.values() if kind.overhead]
    assert kinds
    assert [kind.id for kind in kinds if "climber" not in kind.cautions] == []


def test_whoever_climbs_is_told_how_climbing_is_safe(branasol: Holding) -> None:
    climbed = [task for task in tasks_of(branasol) if "climber" in task.team]
    assert {task.type.id for task in climbed} >= {"cut-boundary", "cut-dormant-tall"}
    for task in climbed:
        assert any("trained climber" in words for words in task.cautions), task.id
