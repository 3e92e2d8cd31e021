"""A newcomer's stock.csv as spreadsheets write it: it works, or every fault is named."""

from pathlib import Path

import pytest

from scheduler.holding import FaultyFilesError, read_holding
from scheduler.stand import tasks_of
from tests.sites import AS_OF, new_site

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
        assert [fault for fault in told if f"row 22, field {field}:" in fault], field


def test_a_misspelt_column_is_one_fault_beside_those_of_the_rows(
    tmp_path: Path,
) -> None:
    rows = twenty()
    rows[4]["height_m"] = "tall"
    columns = tuple("stem" if name == "stem_cm" else name for name in COLUMNS)
    told = faults_in(tmp_path, text_of(rows, columns))
    assert len(told) == 2
    assert "header: found column 'stem'" in told[0]
    assert told[0].endswith("; missing: stem_cm")
    assert "row 6, field height_m: found 'tall'" in told[1]


def test_a_column_left_out_is_one_fault_not_one_a_row(tmp_path: Path) -> None:
    columns = tuple(name for name in COLUMNS if name not in ("count", "last_cut"))
    (told,) = faults_in(tmp_path, text_of(twenty(), columns))
    assert "header, field count: found no such column" in told


def test_decimal_commas_between_commas_are_refused_not_shifted(tmp_path: Path) -> None:
    told = faults_in(tmp_path, text_of(decimal_commas(twenty())))
    assert len(told) == 20
    assert "found 15 cells; allowed: 12 cells" in told[0]


def test_a_value_below_no_heading_is_refused(tmp_path: Path) -> None:
    text = rectangle().replace(",,\n", ",,see back\n", 2).replace(",,see back\n", ",,\n", 1)
    told = faults_in(tmp_path, text)
    assert told == [
        "stock.csv, row 2: found 'see back' in a column without a name; allowed: a named column"
    ]
