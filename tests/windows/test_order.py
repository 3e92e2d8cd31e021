"""The order of work, through whatever a plot does not have."""

from pathlib import Path

from scheduler.holding import RuleBook, read_holding
from scheduler.holding.files import package_rules
from scheduler.season import SeasonPlan
from scheduler.stand import tasks_of
from scheduler.windows import links_between
from tests.sites import AS_OF, edit, new_site

BOOK = RuleBook.of(package_rules())

# The order of a heavy intervention: common practice, no source. Weed, the tallest trees
# around, then emergent, high, medium and low; shrubs stay as a shield until the overhead
# cutting is done; wood is laid coarse to fine; then the alleys are planted.
IN_ORDER = (
    "weed-lines", "cut-boundary", "cut-emergent", "cut-high", "remove-support", "cut-medium",
    "cut-low", "trim-shrubs", "lay-coarse", "chip", "lay-fine", "plant-alleys",
    "aftercare-early", "aftercare-late",
)  # fmt: skip


def test_the_book_ranks_the_release_visit_as_the_trade_does() -> None:
    ranks = [BOOK.tasks[name].order for name in IN_ORDER]
    assert ranks == sorted(ranks)


def test_nothing_below_begins_before_the_overhead_cutting_is_done(
    branasol: SeasonPlan, klipskadu: SeasonPlan
) -> None:
    for plan in (branasol, klipskadu):
        for plot in plan.holding.plots:
            stints = {
                name: plan.stints[f"{plot.id}.{name}"]
                for name in IN_ORDER
                if f"{plot.id}.{name}" in plan.stints
            }
            overhead = [s.last for n, s in stints.items() if plan.tasks[s.job_id].type.overhead]
            below = [
                s.first
                for n, s in stints.items()
                if n != "weed-lines" and not plan.tasks[s.job_id].type.overhead
            ]
            assert not overhead or not below or max(overhead) <= min(below)
            firsts = [stint.first for stint in stints.values()]
            assert firsts == sorted(firsts)


def test_a_task_waits_through_types_that_a_plot_does_not_have(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    holding = read_holding(site, AS_OF)
    links = {(x.before, x.after): x for x in links_between(tasks_of(holding), holding.rules)}
    # no boundary, emergent or high trees to cut in this plot's release visit
    link = links["first-plot.weed-lines", "first-plot.cut-medium"]
    assert link.within_days == 10
    edit(site, "plan-2027.toml", "without = []", 'without = ["weed-lines"]')
    holding = read_holding(site, AS_OF)
    links = {(x.before, x.after): x for x in links_between(tasks_of(holding), holding.rules)}
    assert not any(after == "first-plot.cut-medium" for _, after in links)


def test_a_circle_in_the_order_does_not_hang(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    book = BOOK.tasks["weed-lines"]
    (site / "rules.toml").write_text(
        f'[[task]]\nid = "weed-lines"\ntitle = "{book.title}"\nvisit = "release"\norder = 10\n'
        'rate = "weed"\nteam = { hands = 1 }\nhow = "x"\nsource = "test"\n'
        'after = [{ task = "cut-emergent" }]\n',
        encoding="utf-8",
    )
    holding = read_holding(site, AS_OF)
    links_between(tasks_of(holding), holding.rules)


def test_laying_waits_for_pruning_only_where_that_has_a_day(branasol: SeasonPlan) -> None:
    holding, tasks = branasol.holding, tuple(branasol.tasks.values())
    laying = "socalco.lay-coarse"

    def waited_for(*shut: str) -> set[str]:
        links = links_between(tasks, holding.rules, shut)
        return {link.before for link in links if link.after == laying}

    pruning, cutting = "socalco.cut-evergreen-fruit", "socalco.trim-shrubs"
    assert {pruning, cutting} <= waited_for()
    assert waited_for(pruning) == waited_for() - {pruning}
    assert waited_for(cutting) == waited_for()  # what shields or falls is waited for
