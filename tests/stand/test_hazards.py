"""Cautions that are reckoned from the trees, tools and effort of a task."""

from pathlib import Path

import pytest

from scheduler.holding import read_holding
from scheduler.stand import Task, held_back, tasks_of
from tests.sites import AS_OF, edit, new_site


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def tasks(site: Path) -> dict[str, Task]:
    return {task.type.id: task for task in tasks_of(read_holding(site, AS_OF))}


def test_nobody_works_within_two_lengths_of_the_tallest_tree(site: Path) -> None:
    """29 CFR 1910.266(d)(6): two tree lengths; the alders are 8 m."""
    assert any("within 16 m" in words for words in tasks(site)["cut-dormant-tall"].cautions)
    assert not any("nobody else works" in words for words in tasks(site)["cut-medium"].cautions)


def test_saw_hours_follow_the_tools_of_the_task(site: Path) -> None:
    """HSE: 5 m/s2 reaches the action value in 2 h, the limit in 8 h."""
    told = " ".join(tasks(site)["cut-dormant-tall"].cautions)
    assert "after 2.0 h of running, never more than 8 h" in told
    assert "m/s2" not in " ".join(tasks(site)["weed-lines"].cautions)


def test_heat_is_told_as_air_temperature_and_harder_work_stops_sooner(site: Path) -> None:
    """NIOSH 2016-106: 300 W 28.2 C WBGT, 415 W 26.6; at half humidity about 29 and 27 C."""
    told = tasks(site)
    weeding = next(w for w in told["weed-lines"].cautions if w.startswith("Heat at"))
    laying = next(w for w in told["lay-fine"].cautions if w.startswith("Heat at"))
    assert "(300 W)" in weeding
    assert "from 29 °C for anybody" in weeding
    assert "(415 W)" in laying
    assert "from 27 °C for anybody" in laying


def test_trees_within_reach_of_a_line_are_locked_out_of_the_crews_work(site: Path) -> None:
    """29 CFR 1910.269: height plus 3.05 m."""
    edit(site, "plots.toml", "hazard = []", 'hazard = [{ kind = "power-line", distance_m = 12 }]')
    with (site / "stock.csv").open("a", encoding="utf-8") as stock:
        stock.write("first-plot,A,grey-willow,high,support,coppice,3,14,9,4,,\n")
    task = tasks(site)["cut-dormant-tall"]
    assert [row.plant for row in task.stock] == ["alder"]
    holding = read_holding(site, AS_OF)
    held = {h.stock.plant: h for h in held_back(holding.plots[0], "dormant", holding)}
    assert "power line" in held["grey-willow"].why
    assert "alder" not in held
    free = sum(t.material.fresh_kg for t in tasks(site).values() if t.type.cuts
               and t.type.visit == "dormant")  # fmt: skip
    assert tasks(site)["lay-dormant"].material.fresh_kg == pytest.approx(free)


def test_where_all_is_locked_out_no_task_is_left(site: Path) -> None:
    edit(site, "plots.toml", "hazard = []", 'hazard = [{ kind = "power-line", distance_m = 5 }]')
    assert "cut-dormant-tall" not in tasks(site)
