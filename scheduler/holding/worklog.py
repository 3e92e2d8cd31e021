"""``worklog.csv``: what was done, when, and how long it took; and the one writer of a site.

What is added is read back before it is said to be written. A note that a spreadsheet would take
for a formula, or the reader for a comment, is written behind an apostrophe; the reader takes it
away again.
"""

import dataclasses
import errno
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from itertools import pairwise
from pathlib import Path

from scheduler.files import (
    CsvRow,
    Fault,
    FaultyFilesError,
    checked_rows,
    csv_text,
    fields,
    header_of,
    lines_of_csv,
    locked,
    marked,
    read_bytes,
    sweep,
    text_of,
    write_whole,
)
from scheduler.terms import day_words

LOG_FILE = "worklog.csv"


@fields.table
class LogEntry:
    """One row of ``worklog.csv``."""

    date: fields.Day  # on which the work was done
    plan: fields.Slug
    task: fields.Name
    # how much of the task is done after this day
    percent: fields.Percent = 100
    hours: fields.Amount | None = None  # person-hours worked that day, if they were counted
    # what is worth remembering. In the file an apostrophe stands before a note that begins with =
    # + - @ or #, so that spreadsheets keep it as text and no comment is seen in it
    note: str = ""
    # what the rule book gave for the whole task on that day, person-hours; written by `scheduler
    # log`, so that later jobs are not measured against other stock
    book_h: fields.Amount | None = None
    # person-hours still to do, where the grower says so; else they follow from ``percent`` and the
    # hours worked so far
    hours_left: fields.Amount | None = None


def hours_to_do(entries: Iterable[LogEntry], usual_h: float) -> float:
    """Person-hours that a task of a plan still takes, from its entries in the order of the log.

    Where all hours were counted, the pace so far weighs as much as the share that is done,
    and the estimate for the whole task as much as the share that is not: at 10 % a slow morning
    says little, at 90 % it says nearly all.

    >>> half = LogEntry(date=date(2027, 5, 3), plan="2027", task="low.cut", percent=50, hours=8)
    >>> hours_to_do([], 10.0), hours_to_do([half], 10.0), hours_to_do([half], 16.0)
    (10.0, 6.5, 8.0)
    """
    log = list(entries)
    if not log:
        return usual_h
    last = log[-1]
    if last.percent == 100:
        return 0.0
    if last.hours_left is not None:
        return last.hours_left
    done = last.percent / 100
    hours = [entry.hours for entry in log if entry.hours is not None]
    whole_h = usual_h
    if len(hours) == len(log) and sum(hours) > 0:
        whole_h = (1 - done) * usual_h + done * (sum(hours) / done)
    return (1 - done) * whole_h


def log_faults(rows: Iterable[tuple[CsvRow, LogEntry]]) -> Iterator[Fault]:
    """Rows that say two things at once: all done and hours still to do, or the reverse."""
    for where, entry in rows:
        if entry.percent == 100 and entry.hours_left:
            found = f"{entry.hours_left:g} h still to do, at 100 % (or no percent)"
            allowed = "hours_left beside a percent below 100; or percent 100 without hours_left"
            yield where.fault("hours_left", found, allowed)
        elif entry.percent < 100 and entry.hours_left == 0:
            found = f"nothing still to do, at {entry.percent} %"
            allowed = "percent 100 where nothing is left; or hours_left above 0, or empty"
            yield where.fault("hours_left", found, allowed)


def contradictions(
    entry: LogEntry, earlier: Sequence[LogEntry], plan_first: date, today: date
) -> Iterator[str]:
    """What a new entry says against the log, the plan or the day, each with the way to put it.

    Work done today is a fact, though the plan begins later. The entry is of a task, not of a call
    that is made again and again; the earlier ones are of the same task in the same plan, in the
    order of the log.
    """
    if entry.date > today:
        yield f"{entry.date}: that day is still to come (today is {day_words(today)})"
    if entry.date < plan_first and entry.date != today:
        yield (
            f"{entry.task} on {entry.date}: plan {entry.plan} begins on {day_words(plan_first)}; "
            "name the plan it belongs to with --plan, give its day with --on, or let this plan "
            "begin sooner"
        )
    if not earlier:
        return
    last = earlier[-1]
    before = f"{LOG_FILE} has {entry.task} at {last.percent} % on {day_words(last.date)}"
    if last.percent == 100:
        yield f"{before}, so it is done; if that is wrong, correct that row by hand"
    elif entry.percent < last.percent:
        yield (
            f"{entry.percent} %: {before}, and work is not undone; give what is done in "
            "all so far, or correct that row by hand if it is wrong"
        )
    if entry.date < last.date:
        yield (
            f"{entry.date}: {before}, which is later; the last row counts, so add this one "
            "by hand above it"
        )


def percent_so_far(hours_left: float, usual_h: float, earlier: Sequence[LogEntry]) -> int:
    """How much of a task is done where so many hours are left; 100 only where none are.

    It is never less than was logged: more may be left than was thought; the hours say so, and
    the share stays.

    >>> half = LogEntry(date=date(2027, 5, 3), plan="2027", task="low.cut", percent=50)
    >>> percent_so_far(9.0, 10.0, [half]), percent_so_far(1.0, 10.0, [half])
    (50, 90)
    >>> [percent_so_far(left_h, 12.0, []) for left_h in (0.0, 3.0, 20.0)]
    [100, 75, 1]
    """
    if hours_left == 0:
        return 100
    share = 1 - hours_left / usual_h if usual_h > 0 else 0.0
    least = earlier[-1].percent if earlier else 1
    return min(99, max(least, round(100 * share)))


def steps_back(entries: Sequence[LogEntry]) -> Iterator[tuple[LogEntry, LogEntry]]:
    """Entries of one task that say less than the one before, with that one."""
    return ((last, new) for last, new in pairwise(entries) if new.percent < last.percent)


LOG_COLUMNS = ("date", "plan", "task", "percent", "hours", "note", "book_h")
WAIT_S = 60.0  # others may be planning a visit before they write


@contextmanager
def locked_site(folder: Path) -> Iterator[Callable[[Mapping[str, bytes]], None]]:
    """Keep the files of a site for one writer, so that they stay as they were read.

    Yields what writes files of the site by name, each whole, and none where one is read-only.

    Raises:
        FaultyFilesError: there is no such folder.
        OSError: a file cannot be written.
        BusyError: another program keeps writing.
    """
    # the log may be a link to a file elsewhere, whose folder is then the one that is kept
    home = (folder / LOG_FILE).resolve().parent
    if not home.is_dir():
        raise FaultyFilesError([Fault(str(home), "", "", "no such folder", "a folder")])
    with locked(home, WAIT_S):
        yield lambda files: _write(folder, files)


def _write(folder: Path, files: Mapping[str, bytes]) -> None:
    # a link is followed, never replaced by a file
    places = {(folder / name).resolve(): content for name, content in files.items()}
    for path in places:
        if path.exists() and not (os.access(path, os.W_OK) and path.stat().st_mode & 0o222):
            raise PermissionError(errno.EACCES, "it is read-only; nothing was written", str(path))
    for path, content in places.items():
        sweep(path)
        write_whole(path, content)


def log_with(folder: Path, entries: Sequence[LogEntry]) -> bytes:
    """The log of a site with more rows; what stands there is kept to the byte.

    Raises:
        FaultyFilesError: the log has faults, or would not be read as it was written.
    """
    path = folder / LOG_FILE
    old = read_bytes(path, LOG_FILE) if path.exists() else ",".join(LOG_COLUMNS).encode() + b"\n"
    entries = [dataclasses.replace(entry, note=entry.note.strip()) for entry in entries]
    before = _entries_in(old)
    new, columns = _with_rows(old, entries)
    if "book_h" not in columns:  # the grower has not asked for it
        entries = [dataclasses.replace(entry, book_h=None) for entry in entries]
    if _entries_in(new) != (*before, *entries):
        found = "a form in which a new row would not be read as it was given"
        allowed = "a header and rows as a spreadsheet writes them; nothing was written"
        raise FaultyFilesError([Fault(LOG_FILE, "", "", found, allowed)])
    return new


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
    rows = ([_cell(entry, name) for name in columns] for entry in entries)
    # what no file can hold is lost in reading back, and refused there
    text = mark + "".join(lines) + csv_text(rows, header.delimiter, end)
    return text.encode("utf-8", "replace"), columns


def _told_columns(entries: Sequence[LogEntry]) -> list[str]:
    """The columns in which the rows say anything; what the tool adds for itself is not asked."""
    return [
        column.name
        for column in dataclasses.fields(LogEntry)
        if column.name != "book_h"
        and any(
            getattr(entry, column.name) not in (column.default, dataclasses.MISSING)
            for entry in entries
        )
    ]


def _cell(entry: LogEntry, column: str) -> object:
    value = getattr(entry, column, None)
    return marked(value) if isinstance(value, str) else value
