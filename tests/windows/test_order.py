"""The order of work, through whatever a plot does not have."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from scheduler.holding import RuleBook, read_holding
from scheduler.holding.site_files import package_rules
from scheduler.reasons import SeasonPlan
from scheduler.stand import tasks_of
from scheduler.windows import Link, after_picking, between_rounds, links_between
from tests.sites import AS_OF, ROOT, add, edit, new_site

BOOK = RuleBook.of(package_rules())

# The order of a heavy intervention: common practice, no source. Weed; fell the tallest trees
# around and lay their wood while there is shade; then emergent, high, medium and low; shrubs stay
# as a shield until the overhead cutting is done; wood is laid coarse to fine; then the alleys are
# planted.
IN_ORDER = (
    "weed-lines", "free-vines", "cut-boundary", "lay-boundary", "cut-emergent", "cut-high",
    "remove-support", "cut-medium", "cut-low", "cut-leaves", "trim-shrubs", "lay-coarse", "chip",
    "split-stems", "haul-surplus", "lay-fine", "plant-alleys", "aftercare-early",
    "aftercare-late",
)  # fmt: skip
SOON = 3  # days from one step of a visit to the next at most: common practice, no source


def test_the_book_ranks_the_release_visit_as_the_trade_does() -> None:
    ranks = [BOOK.tasks[name].order for name in IN_ORDER]
    assert ranks == sorted(ranks)


def test_every_plot_is_worked_from_the_top_down_and_from_coarse_to_fine(
    branasol: SeasonPlan, klipskadu: SeasonPlan
) -> None:
    for plan in (branasol, klipskadu):
        assert plan.placed.holding.plots
        for plot in plan.placed.holding.plots:
            there = [name for name in IN_ORDER if f"{plot.id}.{name}" in plan.placed.stints]
            assert {"weed-lines", "cut-medium", "lay-coarse", "lay-fine"} <= {*there}
            stints = [plan.placed.stints[f"{plot.id}.{name}"] for name in there]
            assert all(one.last <= two.first for one, two in pairwise(stints))
            steps = [name for name in there if plan.placed.tasks[f"{plot.id}.{name}"].is_step]
            groups = plan.placed.groups[f"{plot.id}.release"]
            assert [f"{plot.id}.{name}" for name in steps] == [*groups], "no step is forgotten"


def links_of(site: Path) -> dict[tuple[str, str], Link]:
    holding = read_holding(site, AS_OF)
    return {(x.before, x.after): x for x in links_between(tasks_of(holding), holding.rules)}


def test_a_task_waits_through_types_that_a_plot_does_not_have(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    # no boundary, emergent or high trees to cut in this plot's release visit
    assert links_of(site)["first-plot.weed-lines", "first-plot.cut-medium"].within_days == SOON
    edit(site, "plan-2027.toml", "without = []", 'without = ["weed-lines"]')
    links = links_of(site)
    assert ("first-plot.cut-medium", "first-plot.trim-shrubs") in links
    assert not any(after == "first-plot.cut-medium" for _, after in links)


def test_the_steps_of_a_visit_follow_one_another_within_days() -> None:
    assert IN_ORDER[1:-2]
    for name in IN_ORDER[1:-2]:
        (first, *_) = BOOK.tasks[name].after
        assert first.within_days is not None, name
        assert first.within_days <= (5 if name == "plant-alleys" else SOON), name


def test_work_in_the_lines_waits_for_covers_only_where_they_come_off(tmp_path: Path) -> None:
    """Covers stay on until frost is over: common practice, no source."""
    site = new_site(tmp_path / "site")
    add(site, "stock.csv", "first-plot,A,lemon,low,fruit,retained,4,5,2,2,,\n")
    holding = read_holding(site, AS_OF)
    tasks, covers = tasks_of(holding), "first-plot.uncover-tender"

    def waited_for(kind: str, *shut: str) -> set[str]:
        links = links_between(tasks, holding.rules, shut)
        return {link.before for link in links if link.after == f"first-plot.{kind}"}

    assert waited_for("weed-lines") == {covers}
    assert waited_for("weed-lines", covers) == set()
    pruning = "cut-evergreen-fruit:lemon"
    assert waited_for(pruning) == {covers, "first-plot.cut-medium"}
    assert waited_for(pruning, covers) == {"first-plot.cut-medium"}
    before = waited_for("lay-coarse")
    assert before
    assert waited_for("lay-coarse", *before) == before, "what falls is waited for"


def test_stone_fruit_is_cut_when_the_last_of_its_own_crop_is_picked(branasol: SeasonPlan) -> None:
    """After harvest: University of California Master Gardeners, Contra Costa and Visalia."""
    links = list(
        after_picking(tuple(branasol.placed.tasks.values()), branasol.placed.holding.rules)
    )
    assert links
    for link in links:
        pick, cut = branasol.placed.tasks[link.before], branasol.placed.tasks[link.after]
        assert pick.type.picks
        assert pick.round == pick.rounds
        assert "stone-fruit" in cut.groups
        assert set(pick.stock) & set(cut.stock)
        assert branasol.placed.stints[pick.id].last <= branasol.placed.stints[cut.id].first


def test_the_rounds_of_one_work_follow_one_another() -> None:
    """Water goes to young plants every week or two: common practice, no source."""
    kind = replace(BOOK.tasks["water-alleys"], rounds=3)
    whole = next(task for task in tasks_of(read_holding(ROOT / "sites/branasol", AS_OF)))
    rounds = [
        replace(whole, id=f"low.water:{n}", type=kind, part=f"{n}", round=n, rounds=3)
        for n in (1, 2, 3)
    ]
    told = [(x.before, x.after, x.min_days, x.within_days) for x in between_rounds(rounds)]
    assert told == [("low.water:1", "low.water:2", 7, 14), ("low.water:2", "low.water:3", 7, 14)]
