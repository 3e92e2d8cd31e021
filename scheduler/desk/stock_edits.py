"""``stock.csv`` as a table to edit: cells changed, rows taken out or added, other rows kept."""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduler.files import cells_at, csv_text, header_of, lines_of_csv, marked, unmarked

STOCK_FILE = "stock.csv"
NEW = "new"  # in place of a mark: the row that is added
OUT = "out"  # in place of a column: the row goes


@dataclass(frozen=True, slots=True)
class StockRow:
    """One row of the file, as its cells stand there."""

    mark: str  # names the row by its bytes: it changes with them
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StockTable:
    """The file as a table."""

    columns: tuple[str, ...]
    rows: tuple[StockRow, ...]


class RowChangedError(Exception):
    """A row that is to be changed no longer stands in the file as it was seen."""


def stock_table(content: bytes) -> StockTable:
    """The rows of a file that has been read without a fault."""
    columns, rows = _parts(content)
    return StockTable(columns, tuple(row for _, _, row in rows))


def stock_with(content: bytes, edits: Mapping[str, Mapping[str, str]]) -> bytes:
    """The file with changed rows; all other lines keep their bytes.

    Args:
        content: the file.
        edits: by mark of a row, ``new`` for one more, the new cells by column; ``out`` takes a
            row away.

    Raises:
        RowChangedError: a row is not there any more.
    """
    lines = lines_of_csv(content.decode("utf-8-sig"))
    header = header_of(lines)
    assert header is not None, "the file has been read before"
    end = "\r\n" if lines[header.at].endswith("\r\n") else "\n"
    columns, rows = _parts(content)
    if edits.keys() - {NEW} - {row.mark for _, _, row in rows}:
        raise RowChangedError
    for at, n_lines, row in reversed(rows):
        if edit := edits.get(row.mark):
            cells = _edited(columns, row.cells, edit)
            new = [] if OUT in edit else [csv_text([cells], header.delimiter, end)]
            lines[at : at + n_lines] = new
    if added := edits.get(NEW):
        if not lines[-1].endswith(("\n", "\r")):
            lines[-1] += end
        cells = _edited(columns, [""] * len(columns), added)
        lines.append(csv_text([cells], header.delimiter, end))
    mark = "\ufeff" if content.startswith(b"\xef\xbb\xbf") else ""
    return (mark + "".join(lines)).encode()


def _edited(columns: Sequence[str], cells: Sequence[str], edit: Mapping[str, str]) -> list[str]:
    """The cells of a row, those that are told anew in the place of the old ones."""
    return [
        marked(unmarked(" ".join(edit[name].split()))) if name in edit else cell
        for name, cell in zip(columns, cells, strict=True)
    ]


def _parts(content: bytes) -> tuple[tuple[str, ...], list[tuple[int, int, StockRow]]]:
    """The columns, and of each row its first line, how many it takes, and its cells."""
    lines = lines_of_csv(content.decode("utf-8-sig"))
    header = header_of(lines)
    if header is None:
        return (), []
    return tuple(header.columns), list(
        _rows(lines, header.at + 1, header.delimiter, len(header.columns))
    )


def _rows(
    lines: Sequence[str], at: int, delimiter: str, width: int
) -> Iterator[tuple[int, int, StockRow]]:
    seen: dict[str, int] = {}
    while at < len(lines):
        n_lines = 1
        if lines[at].strip() and not lines[at].startswith("#"):
            cells, n_lines = cells_at(lines, at, delimiter)
            if any(cell.strip() for cell in cells):
                text = "".join(lines[at : at + n_lines])
                seen[text] = seen.get(text, 0) + 1  # two rows may say the same
                mark = hashlib.sha256(f"{seen[text]} {text}".encode()).hexdigest()[:16]
                padded = [*cells, *[""] * (width - len(cells))][:width]
                yield at, n_lines, StockRow(mark, tuple(cell.strip() for cell in padded))
        at += n_lines
