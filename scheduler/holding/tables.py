"""Spreadsheet CSV as rows of values, tolerant of form and strict about meaning.

Taken as they come: any order of columns, capitals, a byte-order mark, semicolons where
commas are decimal, blank lines, empty columns and cells at the end, the line ``sep=;``,
comment lines that begin with ``#``.
"""

import csv
import dataclasses
import types
import typing
from collections.abc import Collection, Iterator
from datetime import date
from typing import Annotated, Any, Literal

from scheduler.holding.faults import Fault
from scheduler.holding.fields import Slug, is_slug


def rows_of_csv(
    name: str, text: str, shape: type[Any]
) -> tuple[list[dict[str, Any]], list[str], list[Fault]]:
    """Read the rows of a CSV file.

    Args:
        name: file name, for the faults.
        text: the file.
        shape: the class of a row, made by ``fields.table``.

    Returns:
        The rows as dicts by column (empty cells left out), their names such as
        ``row 7``, and the faults; a column that is missing or unknown is one fault of the
        header, and the other columns are read all the same.
    """
    lines = text.splitlines(keepends=True)
    begin = next((at for at, line in enumerate(lines) if _says_something(line)), None)
    if begin is None:
        return [], [], [Fault(name, "", "", "no header", ", ".join(_columns(shape)))]
    delimiter = max(",;\t", key=lines[begin].count)
    records = _records(lines, begin, delimiter)
    header = [_column_name(cell) for cell in next(records)[1]]
    faults = _header_faults(name, header, shape)
    rows, row_names = [], []
    for number, row in records:
        if any(cell.strip() for cell in row):
            told = _too_many(name, f"row {number}", header, row)
            faults += told
            if not told:
                rows.append(_values(dict(zip(header, row, strict=False)), shape))
                row_names.append(f"row {number}")
    return rows, row_names, faults


def _too_many(name: str, where: str, header: list[str], row: list[str]) -> list[Fault]:
    """More cells than columns, as unquoted decimal commas make them, or nameless ones."""
    if len(row) > len(header):
        return [Fault(name, where, "", f"{len(row)} cells", f"{len(header)} cells")]
    return [
        Fault(name, where, "", f"{cell.strip()!r} in a column without a name", "a named column")
        for column, cell in zip(header, row, strict=False)
        if not column and cell.strip()
    ]


def _says_something(line: str) -> bool:
    """Neither blank, nor a comment, nor the line that tells a spreadsheet its delimiter."""
    text = line.strip().strip('"')
    return bool(text) and not text.startswith("#") and not text.lower().startswith("sep=")


def _records(lines: list[str], begin: int, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Rows from a line on, each with the number of its first line; comments come as empty.

    A line that begins with ``#`` within a quoted cell of several lines is no comment.
    """
    begins = True
    n_read = begin

    def uncommented() -> Iterator[str]:
        nonlocal begins, n_read
        for line in lines[begin:]:
            comment = begins and line.startswith("#")
            begins = False
            n_read += 1
            yield "\n" if comment else line

    reader = csv.reader(uncommented(), delimiter=delimiter)
    while True:
        begins, first = True, n_read + 1
        row = next(reader, None)
        if row is None:
            return
        yield first, row


def _column_name(cell: str) -> str:
    """``Stem cm`` as stem_cm."""
    return "_".join(cell.lower().replace("_", " ").split())


def _columns(shape: type[Any]) -> list[str]:
    return [field.name for field in dataclasses.fields(shape)]


def _header_faults(name: str, header: list[str], shape: type[Any]) -> list[Fault]:
    known, needed = _columns(shape), missing_columns(header, shape)
    wanted = f"columns {', '.join(known)}" + (f"; missing: {', '.join(needed)}" if needed else "")
    odd = [column for column in header if column and column not in known]
    faults = [Fault(name, "header", "", f"column {column!r}", wanted) for column in odd]
    faults += [
        Fault(name, "header", "", f"column {column!r} twice", "each column once")
        for column in sorted({column for column in header if header.count(column) > 1})
        if column
    ]
    if not odd:
        # beside an odd column a missing one is most likely the same, misspelt
        faults += [
            Fault(name, "header", column, "no such column", "this column is needed")
            for column in needed
        ]
    return faults


def missing_columns(given: Collection[str], shape: type[Any]) -> list[str]:
    """The columns that a file must have and this one has not."""
    return [
        field.name
        for field in dataclasses.fields(shape)
        if field.default is dataclasses.MISSING and field.name not in given
    ]


def _values(cells: dict[str, str], shape: type[Any]) -> dict[str, Any]:
    hints = typing.get_type_hints(shape, include_extras=True)
    return {
        column: _value(cell.strip(), hints[column])
        for column, cell in cells.items()
        if cell.strip() and column in hints
    }


def _value(cell: str, hint: Any) -> Any:
    """The cell as what its column wants, or as it stands, for the check to refuse."""
    small = cell.lower()
    if (hint == Slug and is_slug(small)) or small in _words_of(hint):
        # spreadsheets begin cells with a capital; the names themselves have none
        return small
    kinds = [typing.get_args(kind)[0] if typing.get_origin(kind) is Annotated else kind
             for kind in (typing.get_args(hint) if _is_union(hint) else (hint,))]  # fmt: skip
    try:
        if date in kinds:
            return date.fromisoformat(cell)
        if float in kinds or int in kinds:
            number = float(cell.replace(",", "."))
            return int(number) if number.is_integer() and int in kinds else number
    except ValueError:
        return cell
    return cell


def _words_of(hint: Any) -> tuple[Any, ...]:
    """The words of a closed set of them."""
    return typing.get_args(hint) if typing.get_origin(hint) is Literal else ()


def _is_union(hint: Any) -> bool:
    return typing.get_origin(hint) in (typing.Union, types.UnionType)
