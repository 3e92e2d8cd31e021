"""Stock of which only plot, plant and count are told: names, guesses, defaults, sizes, sheets."""

import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import date
from itertools import pairwise, product
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import openpyxl
import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from scheduler.files import CsvRow, FaultyFilesError, fields
from scheduler.holding import Holding, Plant, Plot, RuleBook, Stock, read_holding
from scheduler.holding.counted import SIZES, filled
from scheduler.holding.plots import CountedStock
from scheduler.holding.site_files import package_rules
from scheduler.stand import LoggedCuts, change_taken, measured_first, tasks_of
from scheduler.stand.taken import takers_of
from scheduler.terms import Level
from tests.sites import AS_OF, DEMOS, ROOT, asks_for, edit, new_site, planned

BOOK = RuleBook.of(package_rules())
PLOT = Plot(id="hill", name="Hill", area_m2=10_000.0, planted=2018)


def site_with(folder: Path, *rows: str, head: str = "plot,plant,count") -> Path:
    """A site whose stock holds these rows."""
    site = new_site(folder / "site")
    (site / "stock.csv").write_text("\n".join((head, *rows)) + "\n", encoding="utf-8")
    return site


def holding_with(folder: Path, *rows: str, head: str = "plot,plant,count") -> Holding:
    return read_holding(site_with(folder, *rows, head=head), AS_OF)


def faults_with(folder: Path, *rows: str, head: str = "plot,plant,count") -> list[str]:
    with pytest.raises(FaultyFilesError) as caught:
        holding_with(folder, *rows, head=head)
    return [str(fault) for fault in caught.value.faults]


PLACES = ("stratum", "role", "cut_system")


def counted(plant: str, year: int = 2027, **told: object) -> Stock:
    """A row of ten plants in a plot of 2018, with what is told beside that."""
    row = CountedStock(plot="hill", plant=plant, count=10, **told)  # type: ignore[arg-type]  # columns by name
    ((_, stock),) = filled([(CsvRow("stock.csv", 2, ()), row)], [PLOT], BOOK, year)
    return stock


def cuts_of(row: Stock, book: RuleBook = BOOK) -> list[str]:
    return [kind.id for kind in takers_of(row, book) if kind.cuts]


# ---- names


def unhyphened(name: str) -> str:
    return name.replace("-", "").replace(" ", "")


def with_s(word: str) -> str:
    return f"{word}s" if len(word) > 2 and "'" not in word else word


FORMS: dict[str, Callable[[str], str]] = {
    "as it stands": str,
    "with blanks": lambda name: name.replace("-", " "),
    "with hyphens": lambda name: name.replace(" ", "-"),
    "as one word": unhyphened,
    "in capitals": str.upper,
    "with s": lambda name: f"{name}s",
    "each word with s": lambda name: " ".join(map(with_s, name.split())),
    "as one word with s": lambda name: f"{unhyphened(name)}s",
}
MANY = ("with s", "each word with s", "as one word with s")


@pytest.mark.parametrize("form", FORMS)
def test_each_name_in_each_language_finds_its_kind_or_is_told_to_be_shared(form: str) -> None:
    asked = 0
    for plant in BOOK.plants.values():
        latin = () if form in MANY else (plant.botanical,)
        for name in (plant.id, plant.name, *latin, *plant.names.every):
            found = BOOK.kind_names.called(FORMS[form](name))
            assert plant.id in found, FORMS[form](name)
            assert len(found) == 1 or form != "as it stands", name
            asked += 1
    assert asked > 1000


def test_hardly_any_name_is_shared_once_plurals_are_taken_for_the_kind() -> None:
    shared = [
        (name, found)
        for plant in BOOK.plants.values()
        for name in (plant.id, plant.name, *plant.names.every)
        if len(found := BOOK.kind_names.called(f"{name}s")) > 1
    ]
    assert shared == []


PLURALS = {
    "apples": "apple", "peaches": "peach", "sour cherries": "sour-cherry", "Quinces": "quince",
    "nueces": "walnut", "limones": "lemon", "nogales": "walnut", "álamos negros": "black-poplar",
    "limões": "lemon", "avelãs": "hazel", "nogueiras-pretas": "black-walnut",
    "amieiros brancos": "grey-alder", "pommiers": "apple", "aulnes glutineux": "alder",
    "noyers noirs": "black-walnut", "sureaux": "elder", "Tree Lucernes": "tagasaste",
    "treelucerne": "tagasaste", "weavers brooms": "spanish-broom",
}  # fmt: skip


@pytest.mark.parametrize("name", PLURALS)
def test_plurals_of_four_languages_are_known(name: str) -> None:
    assert BOOK.kind_names.called(name) == (PLURALS[name],)


LATIN = ("Malus domestica", "malus-domestica", "M. domestica", "M domestica", "MALUS DOMESTICA")


@pytest.mark.parametrize("name", LATIN)
def test_latin_is_known_in_full_and_with_an_initial(name: str) -> None:
    assert BOOK.kind_names.called(name) == ("apple",)


def test_a_hybrid_is_known_with_and_without_its_sign() -> None:
    for name in (
        "Populus x canadensis",
        "Populus × canadensis",
        "Populus canadensis",
    ):  # the sign is meant
        assert BOOK.kind_names.called(name) == ("hybrid-poplar",)


def test_an_initial_that_two_kinds_share_is_a_fault_with_both(tmp_path: Path) -> None:
    site = site_with(tmp_path, "first-plot,M. domestica,3")
    (site / "rules.toml").write_text(
        '[[plant]]\nid = "own"\nname = "Own"\nbotanical = "Musa domestica"\n'
        'group = "nut"\nhabit = "deciduous"\nsource = "the grower"\n',
        encoding="utf-8",
    )
    with pytest.raises(FaultyFilesError) as caught:
        read_holding(site, AS_OF)
    assert [str(fault) for fault in caught.value.faults] == [
        "stock.csv, cell B2 (plant): found 'M. domestica'; "
        "allowed: one of apple, own: which is it?"
    ]


def test_a_name_that_is_too_short_is_answered_with_all_it_may_mean(tmp_path: Path) -> None:
    (told,) = faults_with(tmp_path, "first-plot,cherries,3")
    assert "found 'cherries'; allowed: one of " in told
    kinds = told.partition("one of ")[2].partition(": ")[0].split(", ")
    assert {"sweet-cherry", "sour-cherry"} <= set(kinds) <= BOOK.plants.keys()


def test_a_plot_is_known_by_its_name_too(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site", plot_name="The Hollow (low)", plot_id="hollow")
    names = ("hollow", "The Hollow (low)", "the hollow low", "THE-HOLLOW-LOW")
    rows = [f"{name},apple,3" for name in names]
    (site / "stock.csv").write_text("\n".join(("plot,plant,count", *rows)), encoding="utf-8")
    assert [row.plot for row in read_holding(site, AS_OF).stock] == ["hollow"] * 4


# ---- plants that the rule book lacks


def test_a_genus_lends_its_tenderest_kind(tmp_path: Path) -> None:
    holding = holding_with(tmp_path, "first-plot,Prunus cerasoides,3")
    (row,) = holding.stock
    plant, kin = (
        holding.rules.plants[row.plant],
        [kind for kind in BOOK.plants.values() if kind.botanical.startswith("Prunus ")],
    )
    assert len(kin) > 5
    assert plant.group == "stone-fruit"
    assert plant.rest_c == max(kind.rest_c or -99 for kind in kin)
    assert (plant.name, plant.id) == ("Prunus cerasoides", "prunus-cerasoides")
    assert holding.guessed == ("prunus-cerasoides",)


def test_where_a_kind_runs_wild_is_not_lent_to_its_kin(tmp_path: Path) -> None:
    holding = holding_with(tmp_path, "first-plot,Acacia cognata,3")
    lent = holding.rules.plants["acacia-cognata"]
    assert lent.source.startswith("black wattle, the tenderest Acacia")
    assert BOOK.plants["black-wattle"].invasive
    assert lent.invasive == ""


def test_a_guess_is_said_in_check_and_due(tmp_path: Path) -> None:
    site = site_with(tmp_path, "first-plot,Prunus cerasoides,3")
    for command in ("check", "due"):
        result = CliRunner().invoke(app, [command, str(site), "--as-of", AS_OF.isoformat()])
        assert result.exit_code == 0, result.output
        assert (
            "Prunus cerasoides is not in the rule book; it is taken as capulin cherry, the "
            "tenderest Prunus there. Put a [[plant]] with id"
        ) in result.output


def test_what_the_grower_puts_into_rules_goes_before_the_guess(tmp_path: Path) -> None:
    site = site_with(tmp_path, "first-plot,Prunus cerasoides,3")
    (site / "rules.toml").write_text(
        '[[plant]]\nid = "prunus-cerasoides"\nname = "Own"\nbotanical = "Prunus cerasoides"\n'
        'group = "nut"\nhabit = "deciduous"\nsource = "the grower"\n',
        encoding="utf-8",
    )
    holding = read_holding(site, AS_OF)
    assert holding.guessed == ()
    assert holding.rules.plants[holding.stock[0].plant].group == "nut"


def test_a_genus_of_several_groups_is_asked_for_and_the_answer_works(tmp_path: Path) -> None:
    (told,) = faults_with(tmp_path / "asked", "first-plot,Quercus rubra,3")
    assert "a column group" in told
    groups = told.partition("is like: ")[2].split(" or ")
    assert set(groups) == {"deciduous-support", "evergreen-support", "cold-season-support"}
    for group in groups:
        holding = holding_with(
            tmp_path / group, f"first-plot,Quercus rubra,3,{group}", head="plot,plant,count,group"
        )
        assert holding.rules.plants["quercus-rubra"].group == group


@pytest.mark.parametrize(
    "name", ["woolly hedge apple", "mountain plum", "Araucaria bidwillii", "ééé", "苹"]
)
def test_a_common_name_is_never_guessed(tmp_path: Path, name: str) -> None:
    (told,) = faults_with(tmp_path, f"first-plot,{name},3")
    assert told.startswith("stock.csv, cell B2 (plant): found ")
    assert "column group" in told
    assert "evergreen fruit tender" in told


HABITS = ("evergreen", "deciduous", "herb")
ANSWERS = tuple(product(HABITS, ("fruit", "support", "cutting"), ("tender", "hardy")))


@pytest.mark.parametrize("answers", ANSWERS, ids="-".join)
def test_three_answers_in_any_order_make_a_kind(tmp_path: Path, answers: tuple[str, ...]) -> None:
    told = {"bunya": " ".join(answers), "wollemi": ", ".join(answers[::-1]).upper()}
    rows = (f'first-plot,{name},3,"{words}"' for name, words in told.items())
    holding = holding_with(tmp_path, *rows, head="plot,plant,count,group")
    plant, (row, other) = holding.rules.plants["bunya"], holding.stock
    assert replace(other, plant="bunya", group=row.group) == row
    assert plant.habit == answers[0]
    assert plant.rest_c is not None
    assert (plant.growth_c >= 0) is (answers[2] == "tender")
    assert (plant.rest_c > -3) is (answers[2] == "tender")
    if answers[1] == "fruit":
        assert row.role in ("fruit", "alley")
    elif answers[1] == "cutting":
        assert row.cut_system == "coppice"
    assert row.cut_system == "none" or cuts_of(row, holding.rules)


def test_answers_that_are_none_are_a_fault_with_the_words(tmp_path: Path) -> None:
    (told,) = faults_with(
        tmp_path, "first-plot,bunya,3,evergreen tasty", head="plot,plant,count,group"
    )
    assert told.startswith("stock.csv, cell D2 (group): found 'evergreen tasty'; allowed: ")
    assert all(word in told for answers in ANSWERS for word in answers)


def test_one_answer_holds_for_all_rows_of_a_plant_and_two_are_a_fault(tmp_path: Path) -> None:
    head, told = "plot,plant,count,group", "deciduous support hardy"
    rows = (f"first-plot,bunya,3,{told}", "first-plot,Bunya,4,")
    assert {row.plant for row in holding_with(tmp_path / "a", *rows, head=head).stock} == {"bunya"}
    (fault,) = faults_with(tmp_path / "b", *rows, "first-plot,bunya,1,herb fruit hardy", head=head)
    assert "cell D4 (group): found 'herb fruit hardy'; allowed: the same in all rows" in fault
    assert repr(told) in fault


def test_a_kind_without_latin_letters_has_an_id_of_its_own(tmp_path: Path) -> None:
    rows = ("first-plot,苹果树,3,nut", "first-plot,ßalder,3,nut")
    holding = holding_with(tmp_path, *rows, head="plot,plant,count,group")
    assert len({row.plant for row in holding.stock} - BOOK.plants.keys()) == 2
    assert holding.rules.plants["alder"] == BOOK.plants["alder"]
    assert all(fields.is_slug(row.plant) for row in holding.stock)
    assert planned(tmp_path / "site").placed.tasks


# ---- stratum, role and cut


@pytest.mark.parametrize("plant", BOOK.plants.values(), ids=lambda plant: plant.id)
def test_a_kind_of_the_rule_book_is_cut_as_it_usually_stands_or_never(plant: Plant) -> None:
    row = counted(plant.id)
    assert (row.cut_system == "none") is (cuts_of(row) == [])


def test_every_group_of_the_rule_book_has_its_usual_place() -> None:
    assert {plant.group for plant in BOOK.plants.values()} | {"other"} == set(BOOK.usuals)


def test_what_is_told_goes_before_the_kind_and_the_kind_before_its_group() -> None:
    assert [getattr(counted("hazel"), place) for place in PLACES] == ["low", "fruit", "coppice"]
    assert BOOK.usuals["nut"].stratum == "high"
    told = counted("hazel", stratum="medium", role="shield", cut_system="none")
    assert [getattr(told, place) for place in PLACES] == ["medium", "shield", "none"]


def test_a_group_or_stratum_without_an_entry_has_a_place_and_a_size_all_the_same() -> None:
    kept = {"other": BOOK.usuals["other"]}
    bare = replace(BOOK, usuals=kept, growths={"other": BOOK.growths["other"]})
    row = CountedStock(plot="hill", plant="apple", count=3)
    ((_, stock),) = filled([(CsvRow("stock.csv", 2, ()), row)], [PLOT], bare, 2027)
    assert [getattr(stock, place) for place in PLACES] == ["medium", "support", "pollard"]
    assert stock.assumed == SIZES
    narrow = replace(BOOK.growths["other"], strata=("low",))
    bare = replace(bare, growths={"other": narrow})
    assert filled([(CsvRow("stock.csv", 2, ()), row)], [PLOT], bare, 2027)[0][1] == stock


def test_a_row_that_no_work_takes_is_answered_with_a_change_that_is_taken(tmp_path: Path) -> None:
    site = site_with(
        tmp_path,
        "first-plot,plum,3,,coppice",
        "first-plot,alder,3,ground,",
        head="plot,plant,count,stratum,cut_system",
    )
    says = {n.says for n in planned(site).notices if n.code == "never-cut"}
    assert len(says) == 2
    assert any("With cut_system retained they would be; with" in words for words in says)
    for row in read_holding(site, AS_OF).stock:
        column, values = change_taken(row, BOOK).split(" ", 1)
        changed = [replace(row, **{column: value}) for value in values.split(" or ")]  # type: ignore[arg-type]  # a column by its name
        assert all(map(cuts_of, changed))


# ---- sizes


@pytest.mark.parametrize("plant", BOOK.plants, ids=str)
def test_assumed_sizes_grow_with_age_and_are_such_as_plants_have(plant: str) -> None:
    rows = [counted(plant, 2018 + age) for age in range(1, 40)]
    assert all(row.assumed == SIZES for row in rows)
    for size in SIZES:
        sizes = [getattr(row, size) for row in rows]
        assert all(older >= younger for younger, older in pairwise(sizes))
        assert 0 < sizes[0] < sizes[-1]
    for row in rows:  # neither a rod nor a barrel
        thick = row.stem_cm / 100 / row.height_m
        assert 1 / BOOK.figure("stem-too-thin") < thick < BOOK.figure("stem-too-thick")


# kind, age, size, and between what it lies where somebody has published it
PUBLISHED = [
    # North Carolina Historic Sites, rootstock information: 14 to 25 ft on semi-dwarf stocks
    ("apple", 30, "height_m", 4.3, 7.6),
    # Winrock, NFTA 93-03, Chamaecytisus palmensis: a shrub of 5 to 7 m, a tree of 7 to 8 m
    ("tagasaste", 15, "height_m", 5.0, 8.0),
    # site index curves for common and grey alder in Sweden (abstract): stands of 21 to 91 years
    ("alder", 21, "stem_cm", 13.0, 27.0),
    ("alder", 60, "stem_cm", 13.0, 27.0),
    ("grey-alder", 21, "stem_cm", 9.0, 25.0),
    ("grey-alder", 60, "stem_cm", 9.0, 25.0),
    # World Agroforestry, Agroforestree database, earleaf acacia: 15 m in 5 years on good ground
    ("eucalypt", 5, "height_m", 5.0, 15.0),
    # common practice, no source
    ("walnut", 10, "height_m", 4.0, 9.0),
    ("hazel", 8, "height_m", 2.0, 5.0),
    ("banana", 3, "height_m", 2.0, 5.0),
    ("comfrey", 3, "crown_m", 0.5, 1.2),
]


@pytest.mark.parametrize(("plant", "age", "size", "least", "most"), PUBLISHED)
def test_assumed_sizes_lie_within_what_is_published(
    plant: str, age: int, size: str, least: float, most: float
) -> None:
    assert least <= getattr(counted(plant, 2018 + age), size) <= most


def test_what_is_measured_stays_and_says_how_large_the_rest_is() -> None:
    usual, small = counted("apple"), counted("apple", height_m=2.0)
    assert (small.height_m, small.assumed) == (2.0, ("stem_cm", "crown_m"))
    assert small.crown_m == pytest.approx(usual.crown_m * 2.0 / usual.height_m, abs=0.1)
    whole = counted("apple", height_m=2.0, stem_cm=0.0, crown_m=1.5)
    assert (whole.stem_cm, whole.height_m, whole.crown_m, whole.assumed) == (0.0, 2.0, 1.5, ())
    slip = counted("apple", stem_cm=500.0)  # mm for cm, say
    assert slip.height_m < 30


def test_plants_of_a_plot_planted_later_are_smaller_and_never_of_no_size(tmp_path: Path) -> None:
    site = site_with(tmp_path, "first-plot,alder,3")
    heights, before = list[float](), 2018
    for year in (2010, 2018, 2026, 2027, 2030):
        edit(site, "plots.toml", f"planted = {before}", f"planted = {year}")
        before = year
        heights.append(read_holding(site, AS_OF).stock[0].height_m)
    assert heights == sorted(heights, reverse=True)
    assert heights[0] > heights[1] > heights[2] == heights[3] == heights[4] > 0


@pytest.mark.parametrize("demo", DEMOS)
def test_in_a_site_that_tells_all_nothing_is_assumed(demo: str) -> None:
    holding = read_holding(ROOT / "sites" / demo, AS_OF)
    assert len(holding.stock) > 15
    assert not [row for row in holding.stock if row.assumed]
    assert holding.guessed == ()


# ---- what comes of it

COUNTS = (
    "First plot,apples,8", "First plot,Tree Lucernes,20", "First plot,alders,8",
    "First plot,she-oaks,5", "First plot,eucalypt,2", "First plot,inga,3", "First plot,keurboom,4",
    "First plot,osier,6", "First plot,comfrey,50",
)  # fmt: skip


def test_a_plan_made_from_counts_alone_has_a_release_visit_on_days(tmp_path: Path) -> None:
    placed = planned(site_with(tmp_path, *COUNTS)).placed
    assert "first-plot.release" in placed.visits
    assert {"first-plot.cut-emergent", "first-plot.cut-high", "first-plot.cut-medium"} <= set(
        placed.stints
    )


def test_five_rows_are_named_and_they_are_those_that_change_the_hours_most(tmp_path: Path) -> None:
    holding = holding_with(tmp_path, *COUNTS)
    first = measured_first(holding)
    assert len(first) == 5

    def hours(rows: Iterable[Stock]) -> float:
        tasks = tasks_of(replace(holding, stock=tuple(rows)))
        return sum(task.hours.usual for task in tasks if task.type.cuts or "lay" in task.type.id)

    def change(at: int) -> float:
        rows = list(holding.stock)
        larger = {size: getattr(rows[at], size) * 4 / 3 for size in SIZES}
        rows[at] = replace(rows[at], **larger)
        return hours(rows) - hours(holding.stock)

    changes = {holding.stock[at].plant: change(at) for at in range(len(holding.stock))}
    named = [row.plant for row in first]
    assert "comfrey" not in named
    assert named[0] == max(changes, key=changes.__getitem__)
    left = [changes[plant] for plant in changes if plant not in named]
    assert min(changes[plant] for plant in named[:3]) >= max(left)


def test_rows_that_are_measured_are_not_named(tmp_path: Path) -> None:
    head = "plot,plant,count,stem_cm,height_m,crown_m"
    rows = [f"{row},,," for row in COUNTS if "she-oak" not in row]
    holding = holding_with(tmp_path, "First plot,she-oak,90,30,20,6", *rows, head=head)
    assert holding.stock[0].assumed == ()
    named = [row.plant for row in measured_first(holding)]
    assert "she-oak" not in named
    assert len(named) == 5


def test_rows_without_work_in_the_plan_are_not_named(tmp_path: Path) -> None:
    site = site_with(tmp_path, "First plot,comfrey,50", "First plot,alder,9", "First plot,inga,1")
    assert [row.plant for row in measured_first(read_holding(site, AS_OF))] == ["alder", "inga"]
    asks_for(site, "release")
    assert [row.plant for row in measured_first(read_holding(site, AS_OF))] == ["inga"]


def test_check_and_due_say_how_many_rows_are_assumed_and_what_to_measure(tmp_path: Path) -> None:
    site = site_with(tmp_path, *COUNTS)
    first = measured_first(read_holding(site, AS_OF))
    names = [BOOK.plants[row.plant].name.lower() for row in first]
    for command in ("check", "due"):
        result = CliRunner().invoke(app, [command, str(site), "--as-of", AS_OF.isoformat()])
        assert "Sizes of 9 of 9 rows of stock are assumed" in result.output
        said = result.output.partition("change the hours most: ")[2]
        places = [said.index(name) for name in names]
        assert places == sorted(places)
    notes = [n for n in planned(site).notices if n.code == "sizes-assumed"]
    assert [note.level for note in notes] == [Level.NOTE]


def test_logged_cuts_and_assumed_sizes_go_together(tmp_path: Path) -> None:
    site = site_with(tmp_path, "first-plot,keurboom,4")
    (site / "worklog.csv").write_text(
        "date,plan,task,percent\n2026-05-20,2026,first-plot.cut-high,100\n", encoding="utf-8"
    )
    (row,) = LoggedCuts(read_holding(site, AS_OF), AS_OF).stock
    assert (row.last_cut, row.assumed) == (date(2026, 5, 20), SIZES)


def test_all_faults_are_said_at_once_with_their_cells_and_exit_code_2(tmp_path: Path) -> None:
    site = site_with(
        tmp_path,
        "nowhere,apple,3,,",
        "first-plot,unknownium,3,,",
        "first-plot,apple,0,,",
        "first-plot,apple,3,tall,",
        "first-plot,bunya,3,,sweet",
        head="plot,plant,count,height_m,group",
    )
    result = CliRunner().invoke(app, ["check", str(site)])
    assert result.exit_code == 2
    for cell in ("A2 (plot)", "B3 (plant)", "C4 (count)", "D5 (height_m)", "E6 (group)"):
        assert f"stock.csv, cell {cell}: found " in result.output
    assert len(result.output.splitlines()) == 5


def test_a_misspelt_optional_column_is_not_taken_in_silence(tmp_path: Path) -> None:
    (told,) = faults_with(tmp_path, "first-plot,apple,3,4", head="plot,plant,count,hight_m")
    hint = "did you mean height_m? columns plot, plant, "
    assert f"header: found column 'hight_m'; allowed: {hint}" in told


# ---- workbooks

HEAD = ("plot", "line", "plant", "stratum", "role", "cut_system", "count", "stem_cm", "height_m",
        "crown_m", "last_cut", "note")  # fmt: skip
DAY = date(2026, 2, 10)
CELLS: tuple[tuple[Any, ...], ...] = (
    ("First plot", "A", "Apples", "Medium", None, None, 8, 10, 4.5, 3.25, DAY, "by\na gate"),
    ("first-plot", "B", "tree-lucerne", None, None, None, 12, None, None, None, None, '"so", he'),
    (None,) * 12,
    ("first-plot", None, "alder", None, None, "coppice", 5.0, None, 9, None, None, 2026),
)


def book_of(rows: Sequence[Sequence[object]], sheet: str = "Sheet1", before: str = "") -> bytes:
    book = openpyxl.Workbook()
    assert book.active is not None
    if before:
        book.active.title = before
        book.active["A1"] = "nothing of use"
        book.create_sheet(sheet)
    else:
        book.active.title = sheet
    for row in rows:
        book[sheet].append(list(row))
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def site_of_book(folder: Path, content: bytes) -> Path:
    site = new_site(folder / "site")
    (site / "stock.csv").unlink()
    (site / "stock.xlsx").write_bytes(content)
    return site


def as_csv(rows: Sequence[Sequence[object]]) -> list[str]:
    def cell(value: object) -> str:
        text = "" if value is None else " ".join(str(value).split())
        return '"' + text.replace('"', '""') + '"'

    return [",".join(map(cell, row)) for row in rows]


@pytest.mark.parametrize("sheets", [("Sheet1", ""), ("Stock", "Notes"), ("STOCK ", "First")])
def test_a_workbook_is_read_as_the_same_table_in_csv_is(
    tmp_path: Path, sheets: tuple[str, str]
) -> None:
    site = site_of_book(tmp_path / "book", book_of([HEAD, *CELLS], *sheets))
    stock = read_holding(site, AS_OF).stock
    assert len(stock) == 3
    assert stock == holding_with(tmp_path / "csv", *as_csv(CELLS), head=",".join(HEAD)).stock
    assert (stock[0].last_cut, stock[0].crown_m) == (DAY, 3.25)


def faults_of_book(folder: Path, content: bytes) -> list[str]:
    with pytest.raises(FaultyFilesError) as caught:
        read_holding(site_of_book(folder, content), AS_OF)
    return [str(fault) for fault in caught.value.faults]


def test_faults_of_a_workbook_name_its_cells(tmp_path: Path) -> None:
    sound = [("# a comment",), ("plot", "plant", "count"), *[("first-plot", "alder", 2)] * 13]
    bad = [("first-plot", "unknownium", 2), ("first-plot", "alder", 1.5)]
    told = faults_of_book(tmp_path, book_of([*sound, *bad]))
    assert [fault.partition(": ")[0] for fault in told] == [
        "stock.xlsx, cell C17 (count)", "stock.xlsx, cell B16 (plant)"
    ]  # fmt: skip


def test_both_files_are_a_fault_and_neither_is_the_one_that_new_makes(tmp_path: Path) -> None:
    rows = [("plot", "plant", "count"), ("first-plot", "apple", 3)]
    site = site_of_book(tmp_path, book_of(rows))
    assert len(read_holding(site, AS_OF).stock) == 1
    (site / "stock.csv").write_text("plot,plant,count\nfirst-plot,apple,3\n", encoding="utf-8")
    with pytest.raises(FaultyFilesError, match=r"stock.xlsx: found stock.csv beside it"):
        read_holding(site, AS_OF)
    for name in ("stock.csv", "stock.xlsx"):
        (site / name).unlink()
    with pytest.raises(FaultyFilesError, match=r"stock.csv: found no such file"):
        read_holding(site, AS_OF)


GOOD = book_of([HEAD, *CELLS])


@pytest.mark.parametrize(
    "content",
    [b"", b"plot,plant,count\n", b"PK\x03\x04torn", GOOD[: len(GOOD) // 2], GOOD[:-30]],
    ids=["empty", "a CSV file", "torn", "half", "without its end"],
)
def test_what_is_no_workbook_is_one_fault(tmp_path: Path, content: bytes) -> None:
    (told,) = faults_of_book(tmp_path, content)
    assert told.startswith("stock.xlsx: found a file that cannot be read (")
    assert told.endswith("allowed: a workbook saved as .xlsx, without a password")


def test_a_workbook_that_tells_its_own_size_wrongly_is_read_whole(tmp_path: Path) -> None:
    content = io.BytesIO()
    with ZipFile(io.BytesIO(GOOD)) as good, ZipFile(content, "w") as wrong:
        for name in good.namelist():
            part = good.read(name).replace(b'<dimension ref="A1:L5"', b'<dimension ref="A1:C2"')
            assert name != "xl/worksheets/sheet1.xml" or part != good.read(name)
            wrong.writestr(name, part)
    stock = read_holding(site_of_book(tmp_path, content.getvalue()), AS_OF).stock
    assert [row.count for row in stock] == [8, 12, 5]


def test_a_cell_in_a_far_corner_is_a_fault(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(io.BytesIO(book_of([("plot", "plant", "count")])))
    assert book.active is not None
    book.active["XFD1048576"] = "x"
    content = io.BytesIO()
    book.save(content)
    assert faults_of_book(tmp_path, content.getvalue()) == [
        "stock.xlsx: found cells below row 20000; allowed: fewer rows; is there a stray cell?"
    ]


def test_bushes_of_berries_are_picked_from_the_ground(tmp_path: Path) -> None:
    """Currants do not grow to 3 m: nobody needs a ladder, or a second person (common practice)."""
    site = new_site(tmp_path / "site")
    rows = "plot,plant,count\nfirst-plot,currants,20\nfirst-plot,raspberries,20\n"
    (site / "stock.csv").write_text(rows, encoding="utf-8")
    holding = read_holding(site, AS_OF)
    assert len(holding.stock) == 2
    assert max(row.height_m for row in holding.stock) < 2
