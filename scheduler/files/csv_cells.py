"""Lines of CSV parted into cells, and cells put into lines: the one place that knows quotes.

A quote that is left open takes every later row into its cell. So quotes are read strictly,
and who asks is told how many lines a row has taken.
"""

import csv
import io
from collections.abc import Iterable, Sequence

from scheduler.files.faults import Fault


def delimiter_of(line: str) -> str:
    """What stands between the cells of a line."""
    return max(",;\t", key=line.count)


def cells_at(lines: Sequence[str], at: int, delimiter: str) -> tuple[list[str], int]:
    """The cells of the row that begins in a line, and how many lines it takes.

    Args:
        lines: with their ends, where a cell may run over several.
        at: index of the line.
        delimiter: what stands between the cells.

    Raises:
        csv.Error: a quote is not closed, text follows a closing one, or a cell is too long.
    """
    rest = (lines[i] for i in range(at, len(lines)))
    reader = csv.reader(rest, delimiter=delimiter, skipinitialspace=True, strict=True)
    return next(reader), reader.line_num


def csv_text(rows: Iterable[Iterable[object]], delimiter: str = ",", line_end: str = "\n") -> str:
    """Rows as lines of CSV, with quotes where a cell wants them."""
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, lineterminator=line_end).writerows(rows)
    return text.getvalue()


def quote_fault(name: str, row: str, error: csv.Error) -> Fault:
    """What is wrong with a row that cannot be parted.

    Args:
        name: of the file.
        row: such as ``row 7``.
        error: what the reader of the row says.
    """
    if "limit" in str(error):
        found = f"a cell of more than {csv.field_size_limit()} characters"
        return Fault(name, row, "", found, 'less in a cell; is a `"` left open?')
    found = 'a `"` that is not closed, or has text behind it'
    return Fault(name, row, "", found, 'a `"` before and behind a cell, and `""` inside it')
