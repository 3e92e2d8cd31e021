"""The stock as a table to edit: only what was changed changes."""

import pytest

from scheduler.desk.stock_edits import RowChangedError, stock_table, stock_with
from tests.sites import DEMOS, ROOT

TWINS = b'# mine\nplot,plant,count,note\na,oak,2,\na,oak,2,\n\n# two\nb, elm ,1,"x\ny"\n'


@pytest.mark.parametrize("demo", DEMOS)
def test_one_cell_changes_one_line(demo: str) -> None:
    old = (ROOT / "sites" / demo / "stock.csv").read_bytes()
    table = stock_table(old)
    assert len(table.rows) > 20
    at = table.columns.index("count")
    for row in table.rows:
        new = stock_with(old, {row.mark: {"count": "777"}})
        changed = [
            (a, b) for a, b in zip(old.split(b"\n"), new.split(b"\n"), strict=True) if a != b
        ]
        assert len(changed) == 1
        cells = changed[0][1].decode().split(",")
        assert cells[at] == "777"
        assert [c for i, c in enumerate(cells) if i != at] == [
            c for i, c in enumerate(changed[0][0].decode().split(",")) if i != at
        ]


def test_rows_that_say_the_same_are_told_apart() -> None:
    first, second, last = stock_table(TWINS).rows
    new = stock_with(TWINS, {second.mark: {"count": "3"}, last.mark: {"out": "out"}})
    assert new == b"# mine\nplot,plant,count,note\na,oak,2,\na,oak,3,\n\n# two\n"
    assert first.mark != second.mark


def test_a_row_is_added_below_and_a_formula_stays_text() -> None:
    new = stock_with(TWINS, {"new": {"plot": "c", "plant": "fig", "note": "=1+1"}})
    assert new == TWINS + b"c,fig,,'=1+1\n"


def test_a_row_that_somebody_changed_is_not_written_over() -> None:
    row = stock_table(TWINS).rows[2]
    meanwhile = TWINS.replace(b" elm ", b" ash ")
    with pytest.raises(RowChangedError):
        stock_with(meanwhile, {row.mark: {"count": "3"}})


def test_marks_ends_of_lines_and_semicolons_stay() -> None:
    old = b"\xef\xbb\xbf" + TWINS.replace(b",", b";").replace(b"\n", b"\r\n")
    row = stock_table(old).rows[0]
    new = stock_with(old, {row.mark: {"count": "1,5"}})
    assert new == old.replace(b"a;oak;2;", b"a;oak;1,5;", 1)


def test_an_apostrophe_before_a_formula_does_not_grow() -> None:
    old = b"plot,note\na,'=1+1\n"
    row = stock_table(old).rows[0]
    assert stock_with(old, {row.mark: {"note": "'=1+2"}}) == b"plot,note\na,'=1+2\n"
