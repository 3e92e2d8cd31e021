"""Rules of cutting as data: months, conditions, shares, and the switches of a region."""

from dataclasses import replace
from pathlib import Path

import pytest

from scheduler.files import FaultyFilesError
from scheduler.holding import RuleBook, read_holding
from scheduler.holding.dayrules import CutSeasonRule
from scheduler.holding.site_files import package_rules
from scheduler.stand import conditions_of, held_back, tasks_of
from scheduler.stand.canopy import cut_share
from tests.sites import AS_OF, new_site
from tests.stand.test_growth import row

BOOK = RuleBook.of(package_rules())
# a cut of kept trees that takes more than any rule allows
TOO_MUCH = replace(BOOK.cut_shares["retained"], share=0.9)
GREEDY = replace(BOOK, cut_shares={**BOOK.cut_shares, "retained": TOO_MUCH})

# The trade's table of pruning rules, typed by hand: months after the winter solstice, heat
# stop in degrees C, largest share of the crown. Those of CHANGED are ours.
TABLE = {
    "season-stone-fruit": ([(5.3, 8.3)], 38, 0.25),
    "season-stone-fruit-dry-winter": ([(2.1, 2.7)], 38, 0.33),
    "season-pome-fruit": ([(11.0, 2.8)], 38, 0.25),
    "season-citrus": ([(3.0, 5.3)], 35, 0.33),
    "season-avocado": ([(2.5, 4.3)], 32, 0.25),
    "season-evergreen-fruit": ([(3.0, 5.3)], 35, 0.25),
    "season-feijoa": ([(2.3, 4.0)], 35, 0.33),
    "season-olive": ([(2.3, 4.0)], 38, 0.25),
    "season-fig": ([(1.0, 3.0)], None, 0.30),
    "season-sap-bleeder": ([(10.9, 12.0), (5.3, 7.3)], None, 0.20),
    "season-vine": ([(10.9, 1.3)], None, 0.80),
    "season-dormant-fruit": ([(11.0, 2.5)], None, 0.25),
    "season-nut": ([(11.0, 2.5)], None, 0.20),
    "season-juicy-stem": ([(2.5, 9.0)], None, None),
    "season-deciduous-support": ([(10.5, 2.5)], None, 1.0),
    "season-evergreen-support": ([(3.0, 5.0), (6.5, 8.0)], 38, 0.80),
    "season-tender-support": ([(2.5, 8.0)], None, 0.90),
}
# Months that our rule book has otherwise than the table: common practice, no source, and it
# says so.
CHANGED = {
    "season-pome-fruit": [(11.5, 2.8)],
    "season-feijoa": [(1.8, 3.2)],
    "season-olive": [(0.7, 3.0)],
    "season-sap-bleeder": [(6.3, 8.6)],
    "season-dormant-fruit": [(11.8, 2.5)],
    "season-nut": [(11.8, 2.5)],
    "season-deciduous-support": [(11.0, 2.5)],
    "season-evergreen-support": [(2.3, 5.6), (6.5, 8.0)],
    "season-tender-support": [(2.3, 8.0)],
}
# Rules of ours beside it: kinds that the table gives a share of its own, or does not know.
BESIDE = {"season-macadamia", "season-grass", "season-cork-oak", "season-weak-sprouters"}


def cut_rules() -> dict[str, CutSeasonRule]:
    return {r.id: r for r in BOOK.rules.values() if isinstance(r, CutSeasonRule)}


def test_the_seventeen_rules_are_there_as_the_trade_has_them() -> None:
    assert cut_rules().keys() == TABLE.keys() | BESIDE
    assert cut_share(row(plant="macadamia", cut_system="retained"), GREEDY) == 0.20
    assert cut_share(row(plant="loquat", cut_system="retained"), GREEDY) == 0.25
    for name, (spans, heat_c, most) in TABLE.items():
        rule = cut_rules()[name]
        told = [(span.first, span.last) for span in rule.spans]
        assert told == CHANGED.get(name, spans), name
        assert name not in CHANGED or "common practice, no source" in rule.source
        assert (rule.heat_stop_c, rule.most) == (heat_c, most), name


def test_every_rule_of_cutting_tells_reason_source_and_confidence() -> None:
    assert cut_rules()
    for rule in cut_rules().values():
        assert rule.words
        assert rule.source
        assert rule.confidence in ("high", "medium", "low")


def test_a_retained_tree_never_loses_more_than_its_rule_allows() -> None:
    """ANSI A300-1995 5.3.1: at most a quarter of the foliage in a growing season."""
    for plant in BOOK.plants.values():
        kept = row(plant=plant.id, cut_system="retained")
        most = [rule.most for rule in BOOK.cut_rules_of(plant.id) if rule.most is not None]
        assert cut_share(kept, BOOK) <= min([0.25, *most])
    assert cut_share(row(plant="apple", cut_system="retained"), GREEDY) == 0.25
    assert cut_share(row(plant="walnut", cut_system="retained"), GREEDY) == 0.20


def test_only_stools_and_stems_that_go_lose_the_whole_crown() -> None:
    assert cut_share(row(plant="tagasaste", cut_system="pollard"), BOOK) == 0.80
    assert cut_share(row(plant="eucalypt", cut_system="coppice"), BOOK) == 1.0


def test_conditions_name_dry_need_heat_stop_and_share() -> None:
    (told,) = conditions_of([row(plant="apricot", cut_system="retained")], BOOK)
    for word in ("six weeks without rain", "not above 38 °C", "at most 25%", "confidence high"):
        assert word in told
    (avocado,) = conditions_of([row(plant="avocado", cut_system="retained")], BOOK)
    assert "not above 32 °C" in avocado


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def switch(site: Path, name: str, state: str) -> None:
    with (site / "rules.toml").open("a", encoding="utf-8") as rules:
        rules.write(f'[[switch]]\nid = "{name}"\nstate = "{state}"\nsource = "own choice"\n')


def test_where_winters_are_dry_stone_fruit_is_cut_late_in_dormancy(site: Path) -> None:
    def stone_tasks() -> dict[str, set[str]]:
        found: dict[str, set[str]] = {}
        for task in tasks_of(read_holding(site, AS_OF)):
            if "stone" in task.type.id:
                found.setdefault(task.type.id, set()).update(row.plant for row in task.stock)
        return found

    with (site / "stock.csv").open("a", encoding="utf-8") as stock:
        stock.write("first-plot,B,apricot,medium,fruit,retained,4,10,4,3.5,,\n")
    assert stone_tasks() == {"cut-stone-fruit": {"plum", "apricot"}}
    switch(site, "dry-winter", "on")
    assert stone_tasks() == {
        "cut-stone-fruit": {"apricot"}, "cut-stone-fruit-dry-winter": {"plum"},
    }  # fmt: skip
    holding = read_holding(site, AS_OF)
    held = {h.stock.plant: h.until for h in held_back(holding.plots[0], "release", holding)}
    assert held["plum"] == "dormant"
    assert held["apricot"] == "dry-summer"


def test_a_switch_that_is_not_there_is_refused(site: Path) -> None:
    (site / "rules.toml").write_text(
        '[[rule]]\nid = "x"\nkind = "avoid-months"\nswitch = "borer-seasn"\n'
        'spans = [{ first = 1.0, last = 2.0 }]\nwords = "w"\nbasis = "published"\nsource = "s"\n',
        encoding="utf-8",
    )
    with pytest.raises(FaultyFilesError, match="did you mean borer-season"):
        read_holding(site, AS_OF)


def test_a_grower_may_cut_support_by_up_to_98_per_cent(site: Path) -> None:
    """Common practice, no source; evergreen support keeps a fifth of its leaf all the same."""
    (site / "rules.toml").write_text(
        '[[cut_share]]\nid = "pollard"\nshare = 0.98\nsource = "own choice"\n', encoding="utf-8"
    )
    holding = read_holding(site, AS_OF)
    shares = {r.plant: cut_share(r, holding.rules) for r in holding.stock}
    assert shares["alder"] == 0.98
    assert shares["tagasaste"] == 0.80
