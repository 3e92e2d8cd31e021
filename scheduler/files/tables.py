"""Spreadsheet CSV as rows of values, tolerant of form and strict about meaning.

Taken as they come: any order of columns, capitals, a byte-order mark, semicolons where
commas are decimal, blank lines, empty columns and cells at the end, the line ``sep=;``,
comment lines that begin with ``#``. A column in degrees F, as ``tmin_f``, stands for the one in
degrees C. Text that a spreadsheet would take for a formula may stand behind an apostrophe.
"""

import csv
import dataclasses
import difflib
import io
import math
import re
import typing
from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date
from typing import Any, Literal, TypeVar

from scheduler.files.csv_cells import cells_at, delimiter_of, quote_fault
from scheduler.files.faults import (
    CsvRow,
    Fault,
    column_letter,
    did_you_mean,
    kinds_in,
    shown,
    validated,
)
from scheduler.files.fields import Slug, is_slug, to_celsius

_T = TypeVar("_T")
_FREE_TEXT = "note"  # the one column whose cells may run over several lines
# what a spreadsheet takes for a formula, or this reader for a comment
_MARKED = re.compile(r"'+[=+\-@#]")
# the line that tells a spreadsheet the delimiter
_SEPARATOR = re.compile(r'\s*"*sep=', re.IGNORECASE)


@dataclasses.dataclass(frozen=True)
class Header:
    """The header of a CSV file."""

    at: int  # index of its line
    delimiter: str  # what stands between the cells of the file
    columns: list[str]  # their names as the classes of rows have them


def lines_of_csv(text: str) -> list[str]:
    """The lines with their ends; nothing else than an end of line parts them."""
    return list(io.StringIO(text, newline=""))


# what people write over the columns of their own tables
ALSO_CALLED = {
    **dict.fromkeys(("how_many", "number", "n", "qty", "quantity", "plants"), "count"),
    **dict.fromkeys(("notes", "remark", "remarks", "comment"), "note"),
    **dict.fromkeys(("kind", "species", "tree", "what"), "plant"),
    **dict.fromkeys(("field", "bed", "where"), "plot"),
    **dict.fromkeys(("diameter", "dbh"), "stem_cm"),
}


def header_of(lines: Sequence[str]) -> Header | None:
    """The header: the first line that is neither blank, nor a comment, nor ``sep=;``.

    Raises:
        csv.Error: its quotes are not in pairs.
    """
    at = next((at for at, line in enumerate(lines) if _says_something(line)), None)
    if at is None:
        return None
    delimiter = delimiter_of(lines[at])
    cells, _ = cells_at([lines[at]], 0, delimiter)
    return Header(at, delimiter, [_column_name(cell) for cell in cells])


def rows_of_csv(
    name: str, text: str, shape: type[Any]
) -> tuple[list[dict[str, Any]], list[CsvRow], list[Fault]]:
    """Read the rows of a CSV file.

    Args:
        name: file name, for the faults.
        text: the file.
        shape: the class of a row, made by ``fields.table``.

    Returns:
        The rows as dicts by column (empty cells left out), where they stand, and the
        faults; a column that is missing or unknown is one fault of the header, and the other
        columns are read all the same.
    """
    lines = lines_of_csv(text)
    try:
        header = header_of(lines)
    except csv.Error as error:
        return [], [], [quote_fault(name, "header", error)]
    if header is None:
        return [], [], [Fault(name, "", "", "no header", ", ".join(_columns(shape)))]
    columns = [_in_celsius(column, shape) for column in header.columns]
    faults = _header_faults(name, columns, shape)
    rows, places = [], []
    for number, cells in _records(lines, header):
        if isinstance(cells, csv.Error):
            faults.append(dataclasses.replace(quote_fault(name, "", cells), rows=(number,)))
        elif any(cell.strip() for cell in cells):
            where = CsvRow(name, number, tuple(columns))
            wrong = _row_faults(where, header, cells, shape)
            faults += wrong
            if not wrong:
                rows.append(_values(header.columns, cells, shape))
                places.append(where)
    return rows, places, faults


def checked_rows(
    name: str, lines: Iterable[str], shape: type[_T]
) -> tuple[tuple[_T, ...], list[CsvRow], list[Fault]]:
    """Read and check the rows of a CSV file.

    Args:
        name: file name, for the faults.
        lines: the text.
        shape: the class of a row, made by ``fields.table``.

    Returns:
        The rows, where they stand, and the faults; no rows where there is a fault.
    """
    rows, places, faults = rows_of_csv(name, "\n".join(lines), shape)
    if faults:
        return (), [], faults
    # all at once first: years of old forecasts are checked in one go
    checked, wrong = validated(tuple[shape, ...], rows, name)  # type: ignore[valid-type]  # the shape is an argument
    if not wrong:
        return tuple(checked or ()), places, []
    named = (
        fault
        for row, where in zip(rows, places, strict=True)
        for fault in validated(shape, row, name, row=where)[1]
    )
    return (), [], list(named)


def _records(lines: Sequence[str], header: Header) -> Iterator[tuple[int, list[str] | csv.Error]]:
    """The rows below a header with their numbers, or why one cannot be read.

    They are numbered as in a spreadsheet, which takes a first line ``sep=;`` for no row. A line
    that begins with ``#`` within a quoted cell of several lines is no comment. Below a row that
    cannot be read, the next line is taken for a row of its own.
    """
    at = header.at + 1
    number = at + (0 if _SEPARATOR.match(lines[0]) else 1)
    while at < len(lines):
        n_lines = 1
        if not lines[at].startswith("#"):
            cells: list[str] | csv.Error
            try:
                cells, n_lines = cells_at(lines, at, header.delimiter)
            except csv.Error as error:
                cells = error
            yield number, cells
        at += n_lines
        number += 1


def _row_faults(where: CsvRow, header: Header, cells: list[str], shape: type[Any]) -> list[Fault]:
    """More cells than columns, as unquoted decimal commas make them, or nameless, or torn ones."""
    n_columns = len(header.columns)
    if len(cells) > n_columns:
        return [where.fault("", f"{len(cells)} cells", f"{n_columns} cells")]
    faults = [
        dataclasses.replace(
            where.fault("", f"{shown(cell.strip())} in a column without a name", "a named column"),
            letter=column_letter(at),
        )
        for at, (column, cell) in enumerate(zip(header.columns, cells, strict=False))
        if not column and cell.strip()
    ]
    allowed = 'a cell in one line; is a `"` missing, or one too many?'
    return faults + [
        where.fault(column, "a cell that runs on over later lines", allowed)
        for column, cell in zip(header.columns, cells, strict=False)
        if ("\n" in cell or "\r" in cell)
        and (column != _FREE_TEXT or _has_taken_rows(cell, header, shape))
    ]


def _has_taken_rows(cell: str, header: Header, shape: type[Any]) -> bool:
    """Whether a text of several lines holds rows, as where two stray quotes enclose them."""
    if cell.count(header.delimiter) >= len(header.columns) - 1:
        return True
    later = (line.split(header.delimiter) for line in cell.splitlines()[1:])
    return any(
        validated(shape, _values(header.columns, cells, shape), "")[0] is not None
        for cells in later
    )


def _says_something(line: str) -> bool:
    """Neither blank, nor a comment, nor the line that tells a spreadsheet its delimiter."""
    text = line.strip().strip('"')
    return bool(text) and not text.startswith("#") and not _SEPARATOR.match(line)


def _column_name(cell: str) -> str:
    """``Stem cm`` as stem_cm."""
    return "_".join(cell.lower().replace("_", " ").split())


def _in_celsius(column: str, shape: type[Any]) -> str:
    """``tmin_f`` as tmin_c, where that is what the row has."""
    celsius = f"{column.removesuffix('_f')}_c"
    return celsius if column.endswith("_f") and celsius in _columns(shape) else column


def _columns(shape: type[Any]) -> list[str]:
    return [field.name for field in dataclasses.fields(shape)]


def _header_faults(name: str, header: list[str], shape: type[Any]) -> list[Fault]:
    known, needed = _columns(shape), missing_columns(header, shape)
    wanted = f"columns {', '.join(known)}" + (f"; missing: {', '.join(needed)}" if needed else "")
    odd = [column for column in header if column and column not in known]
    faults = [
        Fault(name, "header", "", f"column {shown(column)}", f"{_meant(column, known)}{wanted}")
        for column in odd
    ]
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


def _meant(column: str, known: Sequence[str]) -> str:
    """Which column is meant by a name that people write, or misspell; empty for none."""
    other = ALSO_CALLED.get(column, column)
    return did_you_mean(difflib.get_close_matches(other, known, n=1))


def missing_columns(given: Collection[str], shape: type[Any]) -> list[str]:
    """The columns that a file must have and this one has not."""
    return [
        field.name
        for field in dataclasses.fields(shape)
        if field.default is dataclasses.MISSING and field.name not in given
    ]


def _values(columns: list[str], cells: list[str], shape: type[Any]) -> dict[str, Any]:
    """A row by column, without the cells that are empty."""
    hints = typing.get_type_hints(shape, include_extras=True)
    values = {}
    for given, cell in zip(columns, map(unmarked, cells), strict=False):
        column = _in_celsius(given, shape)
        if cell and column in hints:
            value = _value(cell, hints[column])
            fahrenheit = column != given and isinstance(value, (int, float))
            values[column] = round(to_celsius(value, "F"), 2) if fahrenheit else value
    return values


def marked(text: str) -> str:
    """Text for a cell, behind an apostrophe where a spreadsheet would take it for a formula.

    >>> marked("=1+1"), marked("'=1"), marked("# three"), marked("by the well")
    ("'=1+1", "''=1", "'# three", 'by the well')
    """
    return f"'{text}" if _MARKED.match(f"'{text}") else text


def unmarked(cell: str) -> str:
    """What a cell says, without the apostrophe of ``marked``."""
    return cell.strip().removeprefix("'") if _MARKED.match(cell.strip()) else cell.strip()


def _value(cell: str, hint: Any) -> Any:
    """The cell as what its column wants, or as it stands, for the check to refuse."""
    small = cell.lower()
    if (hint == Slug and is_slug(small)) or small in _words_of(hint):
        # spreadsheets begin cells with a capital; the names themselves have none
        return small
    kinds = kinds_in(hint)
    try:
        if date in kinds:
            return date.fromisoformat(cell)
        if float in kinds or int in kinds:
            number = float(cell.replace(",", "."))
            if not math.isfinite(number):
                return cell
            return int(number) if number.is_integer() and int in kinds else number
    except ValueError:
        return cell
    return cell


def _words_of(hint: Any) -> tuple[Any, ...]:
    """The words of a closed set of them."""
    literals = (kind for kind in kinds_in(hint) if typing.get_origin(kind) is Literal)
    return tuple(word for literal in literals for word in typing.get_args(literal))
