"""Cautions that are reckoned from the trees, tools and effort of a task."""

from pathlib import Path

import pytest

from scheduler.holding import read_holding
from scheduler.stand import Task, held_back, left_to_utility, tasks_of, wants_cover
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
    """HSE: 5 m/s2 reaches the action value in 2 h."""
    told = " ".join(tasks(site)["cut-dormant-tall"].cautions)
    assert "at most 2.0 h of running a person and day" in told
    assert "8 h" not in told  # nothing that contradicts the two hours of the saw caution
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
               and t.is_step and t.type.visit == "dormant")  # fmt: skip
    assert tasks(site)["lay-dormant"].material.fresh_kg == pytest.approx(free)


def test_where_all_is_locked_out_no_task_is_left(site: Path) -> None:
    edit(site, "plots.toml", "hazard = []", 'hazard = [{ kind = "power-line", distance_m = 5 }]')
    assert "cut-dormant-tall" not in tasks(site)


@pytest.mark.parametrize(
    ("of_plot", "of_line", "of_row", "locked"),
    [
        ("5", "", "", True),
        ("5", "30", "", False),
        ("30", "5", "", True),
        ("30", "5", "30", False),
        ("30", "30", "11.04", True),
        ("30", "30", "11.05", False),
        ("", "", "11.04", True),
    ],
)
def test_the_distance_of_the_row_goes_before_that_of_the_line_and_that_of_the_plot(
    site: Path, of_plot: str, of_line: str, of_row: str, locked: bool
) -> None:
    """29 CFR 1910.269: height plus 3.05 m; the alders of line A are 8 m."""
    if of_plot:
        hazard = f'[{{ kind = "power-line", distance_m = {of_plot} }}]'
        edit(site, "plots.toml", "hazard = []", f"hazard = {hazard}")
    if of_line:
        edit(site, "plots.toml", 'id = "A", ', f'id = "A", power_line_m = {of_line}, ')
    stock = (site / "stock.csv").read_text(encoding="utf-8")
    text = stock.replace("last_cut,note", "last_cut,note,power_line_m").replace(
        "put your own in their place", f"put your own in their place,{of_row}"
    )
    (site / "stock.csv").write_text(text, encoding="utf-8")
    assert ("cut-dormant-tall" not in tasks(site)) is locked
    holding = read_holding(site, AS_OF)
    words = left_to_utility(holding.plots[0], holding)
    assert ("8 alder" in (words or "") or "8 common alder" in (words or "")) is locked


def _fruit_under_a_line(site: Path, distance_m: float) -> None:
    """Fruit trees of 4 m and nothing else to cut in the release visit than the lemons."""
    edit(
        site,
        "plots.toml",
        "hazard = []",
        f'hazard = [{{ kind = "power-line", distance_m = {distance_m} }}]',
    )
    (site / "stock.csv").write_text(
        "plot,plant,stratum,role,cut_system,count,stem_cm,height_m,crown_m\n"
        "first-plot,peach,medium,fruit,retained,6,12,4,4\n"
        "first-plot,lemon,low,fruit,retained,4,9,3,3\n",
        encoding="utf-8",
    )


ON_FRUIT = {"pick", "whitewash", "cover-tender", "uncover-tender"}
ON_OPENED = {"plant-alleys", "aftercare-early", "aftercare-late"}


def test_nobody_picks_whitewashes_or_covers_trees_that_nobody_may_cut(site: Path) -> None:
    """29 CFR 1910.269: 3.05 m from the line for people and what they hold, ladders too."""
    _fruit_under_a_line(site, 0.5)
    assert not (ON_FRUIT | ON_OPENED) & set(tasks(site))
    assert "weed-lines" in tasks(site)
    holding = read_holding(site, AS_OF)
    assert not wants_cover(holding.plots[0], holding)
    words = left_to_utility(holding.plots[0], holding) or ""
    assert "6 peach" in words
    assert "cuts and all else (Whitewash bared bark; " in words
    assert "Pick peach and lemon; " in words


def test_trees_clear_of_the_line_are_picked_and_covered_and_what_they_shaded_is_planted(
    site: Path,
) -> None:
    _fruit_under_a_line(site, 7.06)
    assert set(tasks(site)) >= (ON_FRUIT | ON_OPENED)
    holding = read_holding(site, AS_OF)
    assert left_to_utility(holding.plots[0], holding) is None


def test_alleys_without_anything_to_cut_are_planted_still(site: Path) -> None:
    """A young plot has its alleys open: only cuts that are locked out keep them shut."""
    _fruit_under_a_line(site, 0.5)
    (site / "stock.csv").write_text(
        "plot,plant,stratum,role,cut_system,count,stem_cm,height_m,crown_m\n"
        "first-plot,pear,medium,fruit,none,6,3,1,1\n",
        encoding="utf-8",
    )
    assert set(tasks(site)) >= ON_OPENED


def test_wood_is_not_cut_frozen(site: Path) -> None:
    """No pruning below 25 F: greenyplace.com, weak."""
    told = tasks(site)
    assert any("brittle" in words for words in told["cut-dormant-tall"].cautions)
    assert not any("brittle" in words for words in told["cut-medium"].cautions)
