"""What is wrong with a site's files, all of it at once."""

import dataclasses
import difflib
import re
import types
import typing
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, TypeVar, cast

from pydantic import TypeAdapter, ValidationError

from scheduler.files.fields import WANTED_BY_CHECK

_T = TypeVar("_T")
_NEAR = "did you mean "


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault."""

    file: str  # name of the file, inside the site folder
    table: str  # table in it; empty for the file as a whole
    field: str  # key or column; empty for the table as a whole
    found: str  # what stands there
    allowed: str  # what may stand there
    rows: tuple[int, ...] = ()  # of a CSV file, as a spreadsheet counts them
    letter: str = ""  # of its column in a spreadsheet; empty where it is no column's

    def __str__(self) -> str:
        name = f" ({self.field})" if self.field else ""
        where = [self.table, _rows_words(self.rows), self.field and f"field {self.field}"]
        if self.letter and len(self.rows) == 1:
            where = [f"cell {self.letter}{self.rows[0]}{name}"]
        elif self.letter:
            where = [f"column {self.letter}{name}", _rows_words(self.rows)]
        # a cell that is nearly right is answered with what to write there
        near = self.letter and self.allowed.startswith(_NEAR)
        allowed = self.allowed if near else f"allowed: {self.allowed}"
        return f"{', '.join(filter(None, (self.file, *where)))}: found {self.found}; {allowed}"


def _rows_words(rows: Sequence[int]) -> str:
    """``rows 5, 6 and 9 to 12``."""
    known, words = set(rows), list[str]()
    firsts = [row for row in rows if row - 1 not in known]
    lasts = [row for row in rows if row + 1 not in known]
    for first, last in zip(firsts, lasts, strict=True):
        words += [f"{first} to {last}"] if last > first + 1 else map(str, sorted({first, last}))
    if len(words) > 1:
        words[-2:] = [f"{words[-2]} and {words[-1]}"]
    return f"{'rows' if len(rows) > 1 else 'row'} {', '.join(words)}" if words else ""


@dataclass(frozen=True, slots=True)
class CsvRow:
    """A row of a CSV file, by which the faults in its cells are placed."""

    file: str
    number: int  # as a spreadsheet counts rows
    columns: tuple[str, ...]  # of the file

    def fault(self, column: str, found: str, allowed: str) -> Fault:
        """A fault of a cell; of the row where the file has no such column, or none is named."""
        has = column and column in self.columns
        letter = column_letter(self.columns.index(column)) if has else ""
        return Fault(self.file, "", column, found, allowed, (self.number,), letter)


def column_letter(at: int) -> str:
    """What a spreadsheet calls the column of an index: A, B, to Z, AA."""
    before, last = divmod(at, 26)
    return (column_letter(before - 1) if before else "") + chr(ord("A") + last)


class FaultyFilesError(Exception):
    """The files of a site cannot be used; carries every fault, the same in many rows once."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        rows: dict[Fault, set[int]] = {}
        for fault in faults:
            rows.setdefault(replace(fault, rows=()), set()).update(fault.rows)
        self.faults = tuple(replace(fault, rows=tuple(sorted(at))) for fault, at in rows.items())
        super().__init__("\n".join(str(fault) for fault in self.faults))


def validated(
    shape: type[_T], content: Any, file: str, *, row: CsvRow | None = None
) -> tuple[_T | None, list[Fault]]:
    """Check what a file says against the shape of its table.

    Args:
        shape: a class made by ``fields.table``, or a tuple type of such classes.
        content: the parsed file: nested dicts and lists.
        file: its name, for the faults.
        row: where it stands, where the content is one row of a CSV file.

    Returns:
        The checked value and no faults, or None and every fault.
    """
    reader: TypeAdapter[_T] = _reader(cast("Hashable", shape))
    try:
        return reader.validate_python(content), []
    except ValidationError as error:
        return None, [
            _fault_of(detail, shape, content, file, row)
            for detail in error.errors(include_url=False)
        ]


@lru_cache(maxsize=64)
def _reader(shape: Any) -> TypeAdapter[Any]:
    """Building a reader costs more than reading a row with it."""
    return TypeAdapter(shape)


def _fault_of(detail: Any, shape: type[Any], content: Any, file: str, row: CsvRow | None) -> Fault:
    path = list(detail["loc"])
    if len(path) > 3 and path[0] in ("rule", "rate"):
        del path[2]  # pydantic's word for the kind of a rule or rate; it is no key of the file
    table, rest = ("", path) if row else _parted(path, content)
    field = " ".join(str(part + 1 if isinstance(part, int) else part) for part in rest)
    found = "nothing" if detail["type"] == "missing" else shown(detail["input"])
    if row and detail["type"] == "missing":
        return row.fault(field, found, "a value in this column")
    allowed = _allowed(detail, _known_keys(shape, path[:-1]))
    return row.fault(field, found, allowed) if row else Fault(file, table, field, found, allowed)


def _parted(path: list[Any], content: Any) -> tuple[str, list[Any]]:
    """The table that a path leads to, as ``[[plot]] 2 (hollow)``, and the rest of the path.

    A table is one of a list, as ``[[plot]]`` makes them; they are counted as people count.
    """
    words, table, n_parts = list[str](), "", 0
    for depth, part in enumerate(path, start=1):
        try:
            content = content[part]
        except (KeyError, IndexError, TypeError):
            break
        if not isinstance(part, int):
            words.append(f"[[{part}]]")
            continue
        row = content if isinstance(content, dict) else {}
        name = row.get("id") or row.get("name")
        words.append(f"{part + 1} ({name})" if name else f"{part + 1}")
        if isinstance(content, dict):
            table, n_parts = " ".join(words), depth
    return table, path[n_parts:]


def shown(value: Any) -> str:
    """A value as a fault tells it, cut off where it is long."""
    if isinstance(value, str):
        return repr(value if len(value) <= 60 else value[:57] + "...")
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, (list, tuple)):
        return "a list"
    if isinstance(value, int) and value.bit_length() > 200:
        return "a number of more than 60 digits"
    return str(value).lower() if isinstance(value, bool) else str(value)


_WANTED = {
    "missing": "this key is needed",
    "string_type": "text in quotes",
    "float_type": "a number",
    "int_type": "a whole number",
    "bool_type": "true or false",
    "date_type": "a date such as 2027-05-01",
    "tuple_type": "a list in square brackets",
    "dict_type": "a table",
    "finite_number": "a finite number",
    "dataclass_type": "a table",
    "union_tag_not_found": "the key kind is needed",
}


def _allowed(detail: Any, known: Sequence[str]) -> str:
    """What may stand there, in words, from pydantic's account of the fault."""
    kind, ctx = detail["type"], detail.get("ctx", {})
    if kind == "unexpected_keyword_argument":
        near = difflib.get_close_matches(str(detail["loc"][-1]), known, n=1)
        return f"{did_you_mean(near)}known keys are {', '.join(known)}"
    if kind == "predicate_failed":
        check = str(detail["msg"]).split("'")[1]
        wanted = WANTED_BY_CHECK.get(check, check).split("\n")[0].rstrip(".")
        if check != "is_slug":
            return wanted
        slug = re.sub(r"[^a-z0-9]+", "-", str(detail["input"]).lower()).strip("-")
        return did_you_mean([slug] if slug else []) + wanted
    bounds: dict[str, str] = {
        "greater_than_equal": f"at least {ctx.get('ge')}",
        "greater_than": f"more than {ctx.get('gt')}",
        "less_than_equal": f"at most {ctx.get('le')}",
        "literal_error": str(ctx.get("expected", "")).replace("'", ""),
        "enum": str(ctx.get("expected", "")).replace("'", ""),
        "union_tag_invalid": str(ctx.get("expected_tags", "")).replace("'", ""),
    }
    return str(bounds.get(kind) or _WANTED.get(kind) or detail["msg"])


def did_you_mean(names: Sequence[str]) -> str:
    """The words before what is allowed, where a name comes near to what was found."""
    return f"{_NEAR}{' or '.join(names)}? " if names else ""


def _known_keys(shape: Any, path: Sequence[Any]) -> tuple[str, ...]:
    """The keys of the table that ``path`` leads to, walking the annotations."""
    for part in path:
        shape = _inner(shape, part)
    shape = next((kind for kind in kinds_in(shape) if dataclasses.is_dataclass(kind)), None)
    return tuple(field.name for field in dataclasses.fields(shape)) if shape else ()


def _inner(shape: Any, part: Any) -> Any:
    for kind in kinds_in(shape):
        if isinstance(part, int) and typing.get_origin(kind) is tuple:
            return typing.get_args(kind)[0]
        if isinstance(part, str) and dataclasses.is_dataclass(kind):
            hint = typing.get_type_hints(kind, include_extras=True).get(part)
            if hint is not None:
                return hint
    return None


def kinds_in(shape: Any) -> tuple[Any, ...]:
    """The members of a union, however it is wrapped."""
    if typing.get_origin(shape) is typing.Annotated:
        return kinds_in(typing.get_args(shape)[0])
    if typing.get_origin(shape) in (typing.Union, types.UnionType):
        return tuple(kind for arg in typing.get_args(shape) for kind in kinds_in(arg))
    return (shape,)
