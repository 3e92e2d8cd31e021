"""The rows of a spreadsheet file (``.xlsx``) as the text that it would be saved as.

Decided: openpyxl, pure Python, reads row by row; a reader that lays out the whole sheet at once
dies of one cell in a far corner. Held by
tests/holding/test_stock_from_counts.py::test_a_cell_in_a_far_corner_is_a_fault.
"""

import io
import warnings
from datetime import datetime, time

from scheduler.files.csv_cells import csv_text
from scheduler.files.faults import Fault, FaultyFilesError

MOST_ROWS = 20_000


def sheet_text(content: bytes, name: str) -> str:
    """The sheet called as its file, else the first, as CSV: a line for each of its rows.

    Raises:
        FaultyFilesError: it is no workbook, or has too many rows.
    """
    try:
        rows = _rows_of_sheet(content, name.partition(".")[0])
    except Exception as error:  # a torn workbook makes the library raise anything
        found = f"a file that cannot be read ({type(error).__name__})"
        wanted = "a workbook saved as .xlsx, without a password"
        raise FaultyFilesError([Fault(name, "", "", found, wanted)]) from error
    if len(rows) > MOST_ROWS:
        found = f"cells below row {MOST_ROWS}"
        raise FaultyFilesError([Fault(name, "", "", found, "fewer rows; is there a stray cell?")])
    return csv_text(map(_cell_text, row) for row in rows)


def _rows_of_sheet(content: bytes, sheet: str) -> list[tuple[object, ...]]:
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of colours and lists to choose from, which are not read
        book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        named = (each for each in book.worksheets if each.title.strip().lower() == sheet)
        chosen = next(named, book.worksheets[0])
        chosen.reset_dimensions()  # some programs write wrong ones
        return list(chosen.iter_rows(max_row=MOST_ROWS + 1, values_only=True))


def _cell_text(value: object) -> str:
    """A cell as it is written in CSV, in one line."""
    if isinstance(value, datetime) and value.time() == time():
        value = value.date()
    return "" if value is None else " ".join(str(value).split())
