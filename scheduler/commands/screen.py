"""How answers get to the screen: lines, tables, JSON, warnings and the exit code they ask for."""

import json
import shutil
import sys
import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, NoReturn

import typer

if TYPE_CHECKING:
    from scheduler.terms import Notice
    from scheduler.words import Table

FINE, WARNINGS, FAULTS, OUR_FAULT = 0, 1, 2, 3


def say(line: str, *, err: bool = False, lines: bool = False) -> None:
    """Print one line; the only way to the screen, so that no name can steer a terminal.

    Args:
        line: what is to be read; control characters in it are shown, not sent.
        err: whether it goes to standard error.
        lines: whether its line breaks are our own and stay.
    """
    from scheduler.terms import printable

    typer.echo(printable(line, lines=lines), err=err)


def can_ask() -> bool:
    """Whether somebody sits at the terminal, to be asked."""
    return sys.stdin.isatty()


def show(record: Any, tables: "Iterable[Table]", *, as_json: bool) -> None:  # noqa: ANN401  # JSON is anything
    """Print for a program, a terminal or a pipe."""
    if as_json:
        print_json(record)
    elif sys.stdout.isatty():
        _print_rich(tables)
    else:
        say("\n\n".join(table.plain() for table in tables), lines=True)


def print_json(record: Any) -> None:  # noqa: ANN401  # JSON is anything
    """Print for a program."""
    from scheduler.terms import printable
    from scheduler.words import plain

    text = json.dumps(plain(record), ensure_ascii=False, indent=2)
    # within the strings of JSON such a character may be written by its number
    typer.echo(printable(text, lines=True, escape=lambda sign: json.dumps(sign)[1:-1]))


_WORDS = 12  # characters that a column of words wants
_LEAST = 8  # and one of single words or figures
_GAP = 2  # blanks between columns
_SHORT = 14  # a day with its weekday is not broken


def _print_rich(tables: "Iterable[Table]") -> None:
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table as RichTable
    from rich.text import Text

    from scheduler.terms import printable

    console = Console()
    for at, table in enumerate(tables):
        if at:
            console.print()
        console.print(Text(printable(table.title), "bold"))
        # no lines between the columns, and nothing cut off: an id must be whole to be typed
        grid = RichTable(box=SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
        for name, size in zip(table.columns, _widths(table, console.width), strict=True):
            grid.add_column(name, overflow="fold", width=size)
        for row in table.rows:
            grid.add_row(*(Text(printable(cell)) for cell in row))
        console.print(grid)
        for line in table.foot:
            console.print(Text(printable(line, lines=True)))


def _widths(table: "Table", width: int) -> list[int | None]:
    """Columns that keep their width on a narrow screen: figures, days and ids stay whole."""
    columns = list(zip(table.columns, *table.rows, strict=True))
    sizes = {at: _unbroken(cells) for at, cells in enumerate(columns)}
    least = {at: min(size, _LEAST) or _WORDS for at, size in sizes.items()}
    room = width + _GAP - sum(size + _GAP for size in least.values())
    kept: dict[int, int] = {}
    if sum(max(map(len, cells)) + _GAP for cells in columns) > width + _GAP:
        for size, at in sorted((size, at) for at, size in sizes.items() if size):
            if size - least[at] <= room:
                room -= size - least[at]
                kept[at] = size
    return [kept.get(at) for at in range(len(columns))]


def _unbroken(cells: "Sequence[str]") -> int:
    """Width of a column in which only the head is broken; 0 for one of many words."""
    head, *rest = cells
    size = max(map(len, (*head.split(), *rest)), default=0)
    return size if size <= _SHORT or not any(" " in cell for cell in rest) else 0


def say_notices(notices: "Sequence[Notice]", *, err: bool = False) -> None:
    """Print some notices, a line each."""
    from scheduler.terms import printable
    from scheduler.words import notice_lines

    for line in notice_lines(notices):
        say(_wrapped(printable(line)), err=err, lines=True)


def end_with(notices: "Sequence[Notice]", *, notes: bool = False) -> NoReturn:
    """Print the warnings, and notes if asked for, and end with the exit code they ask for."""
    say_notices(notices if notes else warnings_of(notices), err=True)
    raise typer.Exit(code_of(notices))


def end_counting(notices: "Sequence[Notice]", command: str, *, at_least: int = FINE) -> NoReturn:
    """Print the worst warning and how many more there are, and end with their exit code.

    Args:
        notices: the worst first.
        command: what shows all of them, such as ``check SITE``.
        at_least: the least exit code.
    """
    warnings = warnings_of(notices)
    say_notices(warnings[:1], err=True)
    if len(warnings) > 1:
        more = f"{len(warnings) - 1} more warning{'s' if len(warnings) > 2 else ''}"
        say(f"{more}: `scheduler {command}` lists all.", err=True)
    raise typer.Exit(max(code_of(notices), at_least))


def warnings_of(notices: "Sequence[Notice]") -> "list[Notice]":
    """The warnings among some notices, in their order."""
    from scheduler.terms import Level

    return [notice for notice in notices if notice.level is Level.WARNING]


def code_of(notices: "Sequence[Notice]") -> int:
    """The exit code that some notices ask for."""
    return WARNINGS if warnings_of(notices) else FINE


def _wrapped(line: str) -> str:
    """A line broken between words on a terminal; whole for a program."""
    if not sys.stderr.isatty():
        return line
    width = max(40, shutil.get_terminal_size().columns - 1)
    return textwrap.fill(line, width, subsequent_indent="  ", break_on_hyphens=False)
