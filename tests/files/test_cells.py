"""Faults of CSV files: their cells, many rows told once, names of kinds as people write them."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from scheduler.files import FaultyFilesError, rows_of_csv
from scheduler.files.faults import column_letter
from scheduler.holding import RuleBook, Stock, read_holding
from scheduler.holding.site_files import package_rules
from tests.sites import AS_OF, new_site

HEAD = "plot,line,plant,stratum,role,cut_system,count,stem_cm,height_m,crown_m,note"
ROW = "first-plot,A,{plant},{stratum},support,pollard,{count},9,4,3,{note}"
SOUND = {"plant": "alder", "stratum": "high", "count": "2", "note": ""}
BOOK = RuleBook.of(package_rules())


def row_with(**cells: str) -> str:
    return ROW.format(**(SOUND | cells))


def faults_in(folder: Path, *lines: str, file: str = "stock.csv") -> list[str]:
    """The faults of a site with these lines in one of its files; none where it is read."""
    site = new_site(folder / "site")
    (site / file).write_text("\n".join(lines) + "\n", encoding="utf-8")
    try:
        read_holding(site, AS_OF)
    except FaultyFilesError as error:
        return [str(fault) for fault in error.faults]
    return []


def kinds_in(folder: Path, *plants: str) -> list[str]:
    """What the kinds of a site's stock are read as."""
    site = new_site(folder / "site")
    rows = [row_with(plant=plant) for plant in plants]
    (site / "stock.csv").write_text("\n".join((HEAD, *rows)) + "\n", encoding="utf-8")
    return [row.plant for row in read_holding(site, AS_OF).stock]


def test_three_mistakes_in_29_rows_are_three_lines(tmp_path: Path) -> None:
    misspelt = [row_with(plant="tre lucerne")] * 14
    no_stratum = [row_with(stratum="middle")] * 4
    both = [row_with(plant="tre lucerne", stratum="middle")]
    uncounted = [row_with(count="")] * 10
    assert faults_in(tmp_path, HEAD, *misspelt, *no_stratum, *both, *uncounted) == [
        "stock.csv, column D (stratum), rows 16 to 20: found 'middle'; "
        "allowed: emergent, high, medium, low or ground",
        "stock.csv, column G (count), rows 21 to 30: found nothing; "
        "allowed: a value in this column",
        "stock.csv, column C (plant), rows 2 to 15 and 20: found 'tre lucerne'; "
        "did you mean 'tree lucerne'? Write: tagasaste",
    ]


@pytest.mark.parametrize(
    ("at_fault", "where"),
    [
        ({2}, "cell D2 (stratum)"),
        ({2, 3}, "column D (stratum), rows 2 and 3"),
        ({3, 5, 7}, "column D (stratum), rows 3, 5 and 7"),
        ({2, 3, 4}, "column D (stratum), rows 2 to 4"),
        ({2, 3, 6, 7, 8, 9}, "column D (stratum), rows 2, 3 and 6 to 9"),
    ],
)
def test_the_rows_of_one_fault_are_told_in_words(
    tmp_path: Path, at_fault: set[int], where: str
) -> None:
    rows = [row_with(stratum="lwo" if row in at_fault else "low") for row in range(2, 11)]
    (told,) = faults_in(tmp_path, HEAD, *rows)
    assert told.startswith(f"stock.csv, {where}: found 'lwo'; allowed: ")


def test_faults_that_differ_in_what_was_found_are_told_apart(tmp_path: Path) -> None:
    told = faults_in(tmp_path, HEAD, row_with(count="few"), row_with(count="many"))
    assert [line.split(";")[0] for line in told] == [
        "stock.csv, cell G2 (count): found 'few'",
        "stock.csv, cell G3 (count): found 'many'",
    ]


BAD_COUNT = row_with(count="many")


@pytest.mark.parametrize(
    ("lines", "cell"),
    [
        ([HEAD, BAD_COUNT], "G2"),
        (["# mine", "", HEAD, "# more", "", BAD_COUNT], "G6"),
        ([HEAD, row_with(note='"by\nthe well"'), BAD_COUNT], "G3"),
        (["sep=,", HEAD, BAD_COUNT], "G2"),
        (['"sep=,"', HEAD, BAD_COUNT], "G2"),
        ([f"note,{HEAD.removesuffix(',note')}", f",{BAD_COUNT.removesuffix(',')}"], "H2"),
    ],
    ids=["plain", "comments", "note of two lines", "sep", "quoted sep", "other order"],
)
def test_a_cell_is_named_as_a_spreadsheet_shows_it(
    tmp_path: Path, lines: list[str], cell: str
) -> None:
    (told,) = faults_in(tmp_path, *lines)
    assert told.startswith(f"stock.csv, cell {cell} (count): found 'many'; allowed: ")


def test_the_log_names_its_cells_and_its_rows_too(tmp_path: Path) -> None:
    row = "2026-05-01,2027,first-plot.chip,{}"
    lines = ["date,plan,task,percent", row.format(101), row.format(100), row.format(101)]
    assert faults_in(tmp_path, *lines, file="worklog.csv") == [
        "worklog.csv, column D (percent), rows 2 and 4: found 101; allowed: at most 100"
    ]


def test_columns_beyond_the_alphabet_have_two_letters_and_three() -> None:
    letters = [column_letter(at) for at in (0, 25, 26, 51, 52, 701, 702)]
    assert letters == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]


def test_a_fault_of_a_column_that_is_not_there_names_row_and_column() -> None:
    _, (where,), _ = rows_of_csv("stock.csv", f"{HEAD}\n{row_with()}\n", Stock)
    fault = where.fault("last_cut", "nothing", "a day")
    assert str(fault) == "stock.csv, row 2, field last_cut: found nothing; allowed: a day"


NEAR = {
    "tre lucerne": "tagasaste",  # English
    "Blak Locust": "robinia",  # by another name than its id
    "manzanoo": "apple",  # Spanish
    "castanheirro": "chestnut",  # Portuguese
    "noisetierr": "hazel",  # French
    "Malus domestca": "apple",  # Latin
    "alnus-glutinossa": "alder",  # a hyphen
    "aplles": "apple",  # plural
    "CHERY PLUMS": "cherry-plum",  # capitals, plural
    "Sibrian pea-shrub": "siberian-pea-shrub",
}


def answer_to(folder: Path, plant: str) -> tuple[str, str]:
    """What a fault asks and tells to write, of a cell that is nearly the name of a kind."""
    (told,) = faults_in(folder, HEAD, row_with(plant=plant))
    answer = re.search(r"\(plant\): found .*; did you mean '(.*)'\? Write: (\S+)$", told)
    assert answer, told
    return answer[1], answer[2]


@pytest.mark.parametrize("plant", NEAR)
def test_what_is_suggested_is_accepted_when_it_is_typed(tmp_path: Path, plant: str) -> None:
    suggested = answer_to(tmp_path / "first", plant)
    assert suggested[1] == NEAR[plant]
    assert kinds_in(tmp_path / "again", *suggested) == [NEAR[plant]] * 2


@pytest.mark.parametrize("plant", ["unknownium", "qqq", "!"])
def test_what_is_near_no_kind_is_told_no_kind(tmp_path: Path, plant: str) -> None:
    (told,) = faults_in(tmp_path, HEAD, row_with(plant=plant))
    assert (
        "; allowed: a kind of the rule book; or a column group that says what it is like" in told
    )


def spaced(name: str) -> str:
    return name.replace("-", " ")


def hyphened(name: str) -> str:
    return name.replace(" ", "-")


@pytest.mark.parametrize("written", [str, spaced, hyphened, str.upper, str.title])
def test_every_name_of_every_kind_is_accepted_however_it_is_written(
    written: Callable[[str], str],
) -> None:
    for plant in BOOK.plants.values():
        for name in (plant.id, plant.name, plant.botanical, *plant.names.every):
            assert BOOK.kind_names.called(written(name)) == (plant.id,)


def test_simple_plurals_are_accepted_as_the_kind(tmp_path: Path) -> None:
    kinds = {
        "apples": "apple",
        "Tree lucernes": "tagasaste",
        "tree-lucernes": "tagasaste",
        "black mulberries": "black-mulberry",
        "peaches": "peach",
        "mangoes": "mango",
        "manzanos": "apple",
        "nogales": "walnut",
    }
    assert kinds_in(tmp_path, *kinds) == list(kinds.values())


def test_no_plural_leads_to_another_kind_than_its_singular() -> None:
    for plant in BOOK.plants.values():
        for name in (plant.id, plant.name, *plant.names.en):
            assert BOOK.kind_names.called(f"{name}s") == (plant.id,), name


OWN = """
[[plant]]
id = "{id}"
name = "{name}"
botanical = "{id} sp."
group = "nut"
habit = "deciduous"
source = "the grower"
"""


def test_a_name_or_plural_that_two_kinds_share_is_no_name(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    own = OWN.format(id="own-a", name="Zebrafruit") + OWN.format(id="own-b", name="Zebrafruit")
    (site / "rules.toml").write_text(own, encoding="utf-8")
    called = read_holding(site, AS_OF).rules.kind_names.called
    assert called("zebrafruit") == called("Zebrafruits") == ("own-a", "own-b")
    assert (called("own a"), called("own bs")) == (("own-a",), ("own-b",))


def test_an_id_goes_before_the_name_of_another_kind(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    own = OWN.format(id="tree-lucerne", name="My own lucerne")
    (site / "rules.toml").write_text(own, encoding="utf-8")
    rows = [row_with(plant=plant) for plant in ("Tree lucerne", "tree-lucerne", "tagasaste")]
    (site / "stock.csv").write_text("\n".join((HEAD, *rows)) + "\n", encoding="utf-8")
    stock = read_holding(site, AS_OF).stock
    assert [row.plant for row in stock] == ["tree-lucerne", "tree-lucerne", "tagasaste"]


def test_a_plot_too_is_known_however_it_is_written_and_suggested(tmp_path: Path) -> None:
    written = [row_with().replace("first-plot", plot) for plot in ("First plot", "FIRST-PLOT")]
    assert faults_in(tmp_path / "a", HEAD, *written) == []
    assert faults_in(tmp_path / "b", HEAD, row_with().replace("first-plot", "Frist plot")) == [
        "stock.csv, cell A2 (plot): found 'Frist plot'; did you mean first-plot? one of first-plot"
    ]


def test_a_row_with_too_many_cells_names_no_column_even_where_one_has_no_name() -> None:
    head, row = HEAD.replace("note", ",note"), f"{row_with()},,,"
    _, _, (fault,) = rows_of_csv("stock.csv", f"{head}\n{row}\n", Stock)
    assert str(fault) == "stock.csv, row 2: found 14 cells; allowed: 12 cells"


@pytest.mark.parametrize(
    ("header", "meant"),
    [
        ("Plot,Plant,How many", "count"),
        ("Plot,Species,Count", "plant"),
        ("plot,plant,cuont", "count"),
    ],
)
def test_a_column_of_another_name_is_told_by_the_one_that_is_meant(
    tmp_path: Path, header: str, meant: str
) -> None:
    site = new_site(tmp_path / "site")
    (site / "stock.csv").write_text(f"{header}\nfirst-plot,apple,3\n", encoding="utf-8")
    with pytest.raises(FaultyFilesError, match=rf"did you mean {meant}\? "):
        read_holding(site, AS_OF)
