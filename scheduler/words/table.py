"""Rows told twice: as a table of words for people, as plain values for programs."""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from enum import Enum
from typing import Any, TypeVar

import numpy as np

from scheduler.terms import Notice, printable

Record = dict[str, Any]
Row = TypeVar("Row")


@dataclass(frozen=True)
class Table:
    """Words in rows."""

    title: str  # head line
    columns: tuple[str, ...]  # heads of the columns
    rows: tuple[tuple[str, ...], ...]  # one tuple of cells a row
    foot: tuple[str, ...] = ()  # sentences below the table

    def plain(self) -> str:
        """The table as aligned text without lines or colours."""
        grid = [self.columns, *(tuple(map(printable, row)) for row in self.rows)]
        widths = [max(len(row[at]) for row in grid) for at in range(len(self.columns))]
        lines = [
            "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
            for row in grid
        ]
        return "\n".join((self.title, *lines, *self.foot))


def table_of(
    title: str, rows: Iterable[Row], columns: Mapping[str, Callable[[Row], str]], *foot: str
) -> Table:
    """A table of typed rows, each column by its head and by what it tells of a row.

    Empty sentences of the foot are left out.
    """
    cells = tuple(tuple(cell(row) for cell in columns.values()) for row in rows)
    return Table(title, tuple(columns), cells, tuple(filter(None, foot)))


def plain(value: object) -> Any:  # noqa: ANN401  # JSON is anything
    """A value as JSON takes it: a row by the names of its fields, days and times in ISO.

    Numbers have at most four decimals; what is not known (NaN) is None.

    >>> plain({"on": date(2027, 5, 4), "shares": (math.nan, 0.123456)})
    {'on': '2027-05-04', 'shares': [None, 0.1235]}
    """
    if isinstance(value, np.ndarray | np.generic):
        value = value.tolist()
    elif is_dataclass(value):
        value = {field.name: getattr(value, field.name) for field in fields(value)}
    if isinstance(value, Mapping):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, float):
        return None if math.isnan(value) else round(value, 4)
    if isinstance(value, date):
        return value.isoformat()
    return value.value if isinstance(value, Enum) else value


def picked(row: object, *names: str) -> Record:
    """Some fields of a row under their own names."""
    return {name: getattr(row, name) for name in names}


def told_chance(chance: float) -> float:
    """A chance that is never told as 0 or 1: neither a record nor a forecast can promise."""
    return float(np.clip(chance, 0.0001, 0.9999))  # one that is not known stays NaN


def notice_records(notices: Sequence[Notice]) -> list[Record]:
    """Notices for a program, with their stable codes."""
    return [picked(notice, "code", "level", "about", "also", "says") for notice in notices]


def notice_lines(notices: Sequence[Notice]) -> tuple[str, ...]:
    """One line for each notice."""
    return tuple(f"{notice.level.value}: {notice.about}: {notice.says}" for notice in notices)
