"""Spreadsheet CSV as rows of values, tolerant of form and strict about meaning.

Taken as they come: any order of columns, a byte-order mark, semicolons where commas are
decimal, blank lines, comment lines that begin with ``#``.
"""

import csv
import dataclasses
import typing
from datetime import date
from typing import Any

from scheduler.holding.faults import Fault


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
        ``row 7``, and the faults; no rows where there is no header to go by.
    """
    lines = ["" if line.startswith("#") else line for line in text.splitlines()]
    header_at = next((i for i, line in enumerate(lines) if line.strip()), None)
    if header_at is None:
        return [], [], [Fault(name, "", "", "no header", ", ".join(_columns(shape)))]
    delimiter = max(",;\t", key=lines[header_at].count)
    cells = list(csv.reader(lines, delimiter=delimiter))
    header = [cell.strip().lower() for cell in cells[header_at]]
    faults = _header_faults(name, header, shape)
    if faults:
        return [], [], faults
    rows, row_names = [], []
    for number, row in enumerate(cells[header_at + 1 :], start=header_at + 2):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) > len(header):
            found = f"{len(row)} cells"
            faults.append(Fault(name, f"row {number}", "", found, f"{len(header)} cells"))
            continue
        rows.append(_values(dict(zip(header, row, strict=False)), shape))
        row_names.append(f"row {number}")
    return rows, row_names, faults


def _columns(shape: type[Any]) -> list[str]:
    return [field.name for field in dataclasses.fields(shape)]


def _header_faults(name: str, header: list[str], shape: type[Any]) -> list[Fault]:
    known = ", ".join(_columns(shape))
    faults = [
        Fault(name, "header", "", f"column {column!r}", f"columns {known}")
        for column in header
        if column not in _columns(shape)
    ]
    faults += [
        Fault(name, "header", "", f"column {column!r} twice", "each column once")
        for column in sorted({column for column in header if header.count(column) > 1})
    ]
    return faults


def _values(cells: dict[str, str], shape: type[Any]) -> dict[str, Any]:
    hints = typing.get_type_hints(shape)
    return {
        column: _value(cell.strip(), hints[column])
        for column, cell in cells.items()
        if cell.strip()
    }


def _value(cell: str, hint: Any) -> Any:
    """The cell as what its column wants, or as it stands, for the check to refuse."""
    kinds = typing.get_args(hint) or (hint,)
    try:
        if date in kinds:
            return date.fromisoformat(cell)
        if float in kinds or int in kinds:
            number = float(cell.replace(",", "."))
            return int(number) if number.is_integer() and int in kinds else number
    except ValueError:
        return cell
    return cell
