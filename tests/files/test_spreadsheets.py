"""A newcomer's stock.csv as spreadsheets write it: it works, or every fault is named."""

import csv
import io
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.files import Fault, FaultyFilesError, checked_rows, marked, rows_of_csv
from scheduler.holding import LogEntry, Stock, read_holding
from scheduler.stand import tasks_of
from scheduler.terms import Level
from scheduler.weather import read_evenings, read_forecast
from tests.sites import AS_OF, ROOT, new_site, planned

COLUMNS = (
    "plot", "line", "plant", "stratum", "role", "cut_system", "count", "stem_cm", "height_m",
    "crown_m", "last_cut", "note",
)  # fmt: skip
KINDS = {
    "alder": ("high", "support", "pollard"),
    "tagasaste": ("medium", "support", "pollard"),
    "apple": ("medium", "fruit", "retained"),
    "plum": ("medium", "fruit", "retained"),
    "hazel": ("low", "shield", "coppice"),
}


def twenty() -> list[dict[str, str]]:
    return [
        dict(
            zip(
                COLUMNS,
                (
                    "first-plot", "A", kind, *KINDS[kind], str(n + 1), f"{7 + n / 2}",
                    f"{3.5 + n / 10:.1f}", f"{2.5 + n / 10:.1f}", "2025-01-10", "",
                ),
                strict=True,
            )
        )
        for n, kind in enumerate(list(KINDS) * 4)
    ]  # fmt: skip


def text_of(
    rows: list[dict[str, str]],
    columns: tuple[str, ...] = COLUMNS,
    between: str = ",",
    end: str = "\n",
) -> str:
    lines = [columns, *(tuple(row.get(name, "") for name in columns) for row in rows)]
    return "".join(between.join(line) + end for line in lines)


def decimal_commas(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    sized = ("stem_cm", "height_m", "crown_m")
    return [
        row | {name: row[name].replace(".", ",") for name in sized} for row in rows
    ]  # fmt: skip


def capitals(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    named = ("plot", "plant", "stratum", "role", "cut_system")
    return [row | {name: row[name].title() for name in named} for row in rows]


def semicolons() -> str:
    columns = tuple(reversed(COLUMNS))
    text = text_of(decimal_commas(twenty()), columns, ";", "\r\n")
    return "\ufeff" + text + ";" * 11 + "\r\n\r\n"


def shouted() -> str:
    return text_of(capitals(twenty())).replace(
        ",".join(COLUMNS), ",".join(f'"{name.replace("_", " ").upper()} "' for name in COLUMNS)
    )


def told_delimiter() -> str:
    return "sep=;\r\n" + text_of(decimal_commas(twenty()), COLUMNS, ";", "\r\n")


def rectangle() -> str:
    """Empty columns to the right and empty rows below, as a wide selection is saved."""
    lines = text_of(twenty()).splitlines() + [",".join("" for _ in COLUMNS)] * 3
    return "".join(line + ",,\n" for line in lines)


def notes_of_two_lines() -> str:
    rows = [row | {"note": '"by the well\n# ask first"'} for row in twenty()]
    return "# my trees\n" + text_of(rows)


VARIANTS = {
    "semicolons, decimal commas, mark, other order, CRLF": semicolons,
    "capitals everywhere": shouted,
    "a first line that names the delimiter": told_delimiter,
    "empty columns and rows": rectangle,
    "notes of two lines that look like comments": notes_of_two_lines,
}


def written(folder: Path, text: str) -> Path:
    site = new_site(folder / "site")
    (site / "stock.csv").write_text(text, encoding="utf-8", newline="")
    return site


@pytest.mark.parametrize("variant", VARIANTS)
def test_twenty_rows_of_a_spreadsheet_are_read_the_same_however_they_are_saved(
    tmp_path: Path, variant: str
) -> None:
    plain = read_holding(written(tmp_path / "plain", text_of(twenty())), AS_OF).stock
    holding = read_holding(written(tmp_path, VARIANTS[variant]()), AS_OF)
    assert len(holding.stock) == 20
    for row, same in zip(holding.stock, plain, strict=True):
        assert [getattr(row, name) for name in COLUMNS[:-1]] == [
            getattr(same, name) for name in COLUMNS[:-1]
        ]
    assert tasks_of(holding)


def faults_in(folder: Path, text: str) -> list[str]:
    with pytest.raises(FaultyFilesError) as caught:
        read_holding(written(folder, text), AS_OF)
    return [str(fault) for fault in caught.value.faults]


def test_every_fault_of_a_row_is_named_at_once(tmp_path: Path) -> None:
    """Names that lead nowhere too, though the row has other faults."""
    bad = dict(
        zip(
            COLUMNS,
            ("nowhere", "Q", "unknownium", "tall", "food", "hack", "0", "-3", "0", "x",
             "10/01/2025", ""),
            strict=True,
        )
    )  # fmt: skip
    told = faults_in(tmp_path, text_of([*twenty(), bad]))
    fields = ("plot", "plant", "stratum", "role", "cut_system", "count", "stem_cm", "height_m",
              "crown_m", "last_cut")  # fmt: skip
    assert len(told) == len(fields)
    for field in fields:
        cell = f"stock.csv, cell {'ABCDEFGHIJKL'[COLUMNS.index(field)]}22 ({field}): found "
        assert [fault for fault in told if fault.startswith(cell)], field


def test_a_misspelt_column_is_one_fault_beside_those_of_the_rows(tmp_path: Path) -> None:
    rows = twenty()
    rows[4]["height_m"] = "tall"
    columns = tuple("stem" if name == "stem_cm" else name for name in COLUMNS)
    told = faults_in(tmp_path, text_of(rows, columns))
    assert len(told) == 2
    assert "header: found column 'stem'" in told[0]
    assert "; allowed: did you mean stem_cm? columns plot, plant, " in told[0]
    assert "cell I6 (height_m): found 'tall'" in told[1]


def test_a_column_left_out_is_one_fault_not_one_a_row(tmp_path: Path) -> None:
    columns = tuple(name for name in COLUMNS if name not in ("count", "last_cut"))
    (told,) = faults_in(tmp_path, text_of(twenty(), columns))
    assert "header, field count: found no such column" in told


def test_decimal_commas_between_commas_are_refused_not_shifted(tmp_path: Path) -> None:
    told = faults_in(tmp_path, text_of(decimal_commas(twenty())))
    assert told == ["stock.csv, rows 2 to 21: found 15 cells; allowed: 12 cells"]


def test_a_value_below_no_heading_is_refused(tmp_path: Path) -> None:
    text = rectangle().replace(",,\n", ",,see back\n", 2).replace(",,see back\n", ",,\n", 1)
    told = faults_in(tmp_path, text)
    assert told == [
        "stock.csv, cell N2: found 'see back' in a column without a name; allowed: a named column"
    ]


STOCK = (ROOT / "sites" / "branasol" / "stock.csv").read_text("utf-8")
QUOTED = STOCK.replace(",along the north edge", ',"along, ""north"" edge"').replace(
    ",pollard,", ',"pollard",'
)
SIX_COLUMNS = "date,plan,task,percent,note,hours\n"
LOG = SIX_COLUMNS + "".join(f"2027-05-0{n},2027,p.weed-{n},50,rain {n},3\n" for n in range(1, 8))


def rows_in(text: str, shape: type[Any] = Stock) -> tuple[tuple[Any, ...], list[Fault]]:
    rows, _, faults = checked_rows("stock.csv", text.split("\n"), shape)
    return rows, faults


@pytest.mark.parametrize("text", [STOCK, QUOTED], ids=["plain", "quoted"])
@given(data=st.data())
def test_a_stray_quote_is_a_fault_or_spoils_no_more_than_its_cell(
    text: str, data: st.DataObject
) -> None:
    sound, faults = rows_in(text)
    assert len(sound) > 20
    assert not faults
    at = data.draw(st.integers(0, len(text)))
    rows, faults = rows_in(text[:at] + '"' + text[at:])
    if faults:
        assert faults[0].rows or faults[0].table == "header"
        return
    assert len(rows) == len(sound)
    pairs = [(vars(a), vars(b)) for a, b in zip(sound, rows, strict=True)]
    assert sum(a[name] != b[name] for a, b in pairs for name in a) <= 1


@given(data=st.data())
def test_two_stray_quotes_in_different_rows_take_no_row_with_them(data: st.DataObject) -> None:
    """The second may close what the first has opened, as it does in the notes of a log."""
    lines = LOG.splitlines(keepends=True)
    first, second = sorted(data.draw(st.sets(st.integers(1, 7), min_size=2, max_size=2)))
    for row in (first, second):
        at = data.draw(st.integers(0, len(lines[row])))
        lines[row] = lines[row][:at] + '"' + lines[row][at:]
    rows, faults = rows_in("".join(lines), LogEntry)
    assert faults or len(rows) == 7


@pytest.mark.parametrize("last", [3, 5, 7])
@pytest.mark.parametrize("end", ['",3', '"'])
def test_a_note_that_has_taken_whole_rows_is_named_by_its_line(last: int, end: str) -> None:
    text = LOG.replace("rain 2", '"rain 2').replace(f"rain {last},3", f"rain {last}{end}")
    _, faults = rows_in(text, LogEntry)
    assert [(f.rows, f.field) for f in faults] == [((3,), "note")]
    assert "one too many" in faults[0].allowed


def test_an_open_quote_hides_no_fault_of_later_rows() -> None:
    lines = STOCK.splitlines()
    lines[4] = lines[4].replace(",", ',"', 1)
    lines[9] = lines[9].replace(",low,", ",lwo,", 1)
    rows, places, faults = rows_of_csv("stock.csv", "\n".join(lines), Stock)
    assert [fault.rows for fault in faults] == [(5,)]
    assert len(rows) == STOCK.count("\n") - 3
    assert rows[[where.number for where in places].index(10)]["stratum"] == "lwo"


@pytest.mark.parametrize("cell", ["fondal\n", "fon\ndal"])
def test_only_a_note_may_have_several_lines(cell: str) -> None:
    text = STOCK.replace("\nfondal,", f'\n"{cell}",', 1)
    (fault,) = rows_in(text)[1]
    assert (fault.rows, fault.field) == ((3,), "plot")
    rows, faults = rows_in(STOCK.replace("along the north edge", '"along, as told,\nthe edge"'))
    assert not faults
    assert rows[0].note == "along, as told,\nthe edge"


def test_no_line_end_but_that_of_a_file_parts_rows() -> None:
    """Separators of paragraphs and pages come with text from elsewhere."""
    note = "along\u2028the\x0cnorth\x85edge"
    rows, faults = rows_in(STOCK.replace("along the north edge", note))
    assert not faults
    assert rows[0].note == note


@pytest.mark.parametrize("length", [131_073, 1_000_000])
def test_a_cell_that_is_too_long_is_a_fault(tmp_path: Path, length: int) -> None:
    rows = twenty()
    rows[2]["note"] = "x" * length
    (told,) = faults_in(tmp_path, text_of(rows))
    assert "stock.csv, row 4: found a cell of more than 131072 characters" in told


@pytest.mark.parametrize("number", ["9" * 5000, "1e400", "-1e400", "nan", "inf"])
@pytest.mark.parametrize("column", ["count", "height_m"])
def test_a_number_beyond_all_bounds_is_a_fault(tmp_path: Path, number: str, column: str) -> None:
    rows = twenty()
    rows[2][column] = number
    (told,) = faults_in(tmp_path, text_of(rows))
    letter = {"count": "G", "height_m": "I"}[column]
    assert f"cell {letter}4 ({column}): found '{number[:50]}" in told
    assert len(told) < 200


def test_a_nul_is_a_fault_of_its_line(tmp_path: Path) -> None:
    rows = twenty()
    rows[2]["note"] = "x\0y"
    (told,) = faults_in(tmp_path, text_of(rows))
    assert "stock.csv: found a NUL character, first in line 4" in told


def test_an_empty_stock_is_warned_of(tmp_path: Path) -> None:
    site = written(tmp_path, text_of([]))
    notices = {notice.code: notice for notice in planned(site).notices}
    assert notices["stock-empty"].level is Level.WARNING
    assert "stock.csv has no rows; no work follows" in notices["stock-empty"].says
    assert "stock-empty" not in {
        notice.code for notice in planned(new_site(tmp_path / "b")).notices
    }


def test_degrees_f_stand_for_degrees_c_in_every_column_that_has_them() -> None:
    nights, faults = read_forecast("f.csv", ["issued,date,Tmin F", "2027-01-01,2027-01-02,28"])
    assert not faults
    assert [night.tmin_c for night in nights or ()] == [-2.22]
    head = "date,temperature_f,dew_point_f,tmin_f"
    evenings, faults = read_evenings("e.csv", [head, "2027-01-01,50,41,23"])
    assert not faults
    assert [(e.temperature_c, e.dew_point_c, e.tmin_c) for e in evenings or ()] == [(10, 5, -5)]
    assert read_forecast("f.csv", ["issued,date,tmin_c,tmin_f"])[1][0].found.endswith("twice")


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12).map(str.strip))
def test_what_is_marked_is_read_as_it_was(note: str) -> None:
    sheet = io.StringIO()
    csv.writer(sheet).writerow([marked(note), "2027-05-01", "2027", "p.weed"])
    cell = sheet.getvalue().lstrip('"')
    assert cell[:1] not in ("=", "+", "-", "@", "#")
    (entry,), faults = rows_in("note,date,plan,task\n" + sheet.getvalue(), LogEntry)
    assert not faults
    assert entry.note == note
