"""The one writer of ``worklog.csv``: what it adds is read back before it is said to be written.

A note that a spreadsheet would take for a formula, or the reader for a comment, is written
behind an apostrophe; the reader takes it away again.
"""

import csv
import errno
import io
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import MISSING, fields, replace
from pathlib import Path

from scheduler.files import (
    Fault,
    FaultyFilesError,
    checked_rows,
    header_of,
    lines_of_csv,
    locked,
    marked,
    read_bytes,
    sweep,
    text_of,
    write_whole,
)
from scheduler.holding.worklog import LOG_FILE, LogEntry

LOG_COLUMNS = ("date", "plan", "task", "percent", "hours", "note", "book_h")
WAIT_S = 60.0  # others may be planning a visit before they write


@contextmanager
def locked_log(folder: Path) -> Iterator[Callable[[Sequence[LogEntry]], None]]:
    """Keep the log in a site's folder for one writer, so that it stays as it was read.

    Yields what adds rows, all or none, and keeps what stands there to the byte.

    Raises:
        FaultyFilesError: the log has faults, or would not be read as it was written.
        OSError: the file cannot be written.
        BusyError: another program keeps writing.
    """
    path = (folder / LOG_FILE).resolve()  # a link is followed, never replaced by a file
    if not path.parent.is_dir():
        raise FaultyFilesError([Fault(str(path.parent), "", "", "no such folder", "a folder")])
    with locked(path.parent, WAIT_S):
        sweep(path)
        yield lambda entries: _append(path, entries)


def _append(path: Path, entries: Sequence[LogEntry]) -> None:
    if path.exists() and not (os.access(path, os.W_OK) and path.stat().st_mode & 0o222):
        raise PermissionError(errno.EACCES, "it is read-only; nothing was written", str(path))
    old = read_bytes(path, LOG_FILE) if path.exists() else ",".join(LOG_COLUMNS).encode() + b"\n"
    entries = [replace(entry, note=entry.note.strip()) for entry in entries]
    before = _entries_in(old)
    new, columns = _with_rows(old, entries)
    if "book_h" not in columns:  # the grower has not asked for it
        entries = [replace(entry, book_h=None) for entry in entries]
    if _entries_in(new) != (*before, *entries):
        found = "a form in which a new row would not be read as it was given"
        allowed = "a header and rows as a spreadsheet writes them; nothing was written"
        raise FaultyFilesError([Fault(LOG_FILE, "", "", found, allowed)])
    write_whole(path, new)


def _entries_in(content: bytes) -> tuple[LogEntry, ...]:
    text = text_of(content, LOG_FILE)
    entries, _, faults = checked_rows(LOG_FILE, text.split("\n"), LogEntry)
    if faults:
        raise FaultyFilesError(faults)
    return entries


def _with_rows(old: bytes, entries: Sequence[LogEntry]) -> tuple[bytes, list[str]]:
    """The log with more rows, and its columns; those that the rows need are added."""
    mark = "\ufeff" if old.startswith(b"\xef\xbb\xbf") else ""
    lines = lines_of_csv(old.decode("utf-8-sig"))
    header = header_of(lines)
    assert header is not None, "the log has been read before"
    head = lines[header.at].rstrip("\r\n")
    end = lines[header.at][len(head) :] or "\n"
    added = [name for name in _told_columns(entries) if name not in header.columns]
    columns = [*header.columns, *added]
    lines[header.at] = header.delimiter.join([head, *added]) + end
    if not lines[-1].endswith(("\n", "\r")):
        lines[-1] += end
    rows = io.StringIO()
    csv.writer(rows, delimiter=header.delimiter, lineterminator=end).writerows(
        [_cell(entry, name) for name in columns] for entry in entries
    )
    # what no file can hold is lost in reading back, and refused there
    text = mark + "".join(lines) + rows.getvalue()
    return text.encode("utf-8", "replace"), columns


def _told_columns(entries: Sequence[LogEntry]) -> list[str]:
    """The columns in which the rows say anything; what the tool adds for itself is not asked."""
    return [
        column.name
        for column in fields(LogEntry)
        if column.name != "book_h"
        and any(getattr(entry, column.name) not in (column.default, MISSING) for entry in entries)
    ]


def _cell(entry: LogEntry, column: str) -> object:
    value = getattr(entry, column, None)
    return marked(value) if isinstance(value, str) else value
