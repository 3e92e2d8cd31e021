"""The door through which feeds reach a folder.

Decided: a feed that lost its last event is left, told, and the others are written. Refused: an
empty calendar, for which readers empty theirs without a word. Held by
tests/calendars/test_ended.py::test_one_feed_that_is_empty_does_not_keep_the_others_from_being_written.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from enum import StrEnum
from itertools import count
from pathlib import Path

from scheduler.calendars import (
    HEAD,
    Feed,
    ForeignFeedError,
    feed_bytes,
    remembered,
    span_of,
    uid_of,
)
from scheduler.files import SHARED_FILE, locked, read_bytes, sweep, write_whole
from scheduler.holding import Holding
from scheduler.season import Published
from scheduler.stand import tasks_of
from scheduler.terms import DaySpan, day_words

MOST_LOST = 1 / 3  # of the entries to come in one calendar; more is most likely a mistake
FEW = 3  # in a short calendar so many may go without a question
ENDING = ("person-", "plot-")  # the other feeds of a site are there as long as it is
EVENT = b"\r\nBEGIN:VEVENT\r\n"  # a whole line: the words alone may stand in a title
UID = re.compile(rb"^UID:(\S+)\r$", re.MULTILINE)  # ours are never so long as to be folded


class LossError(Exception):
    """Nothing was written: readers would lose much to come, as the arguments say, a line each."""


class State(StrEnum):
    """What became of one feed on disk."""

    WRITTEN = "written"
    UNCHANGED = "unchanged"
    LEFT = "left"  # it has lost its last event, and nobody has said that it may be emptied
    REMOVED = "removed"


@dataclass(frozen=True, slots=True)
class Written:
    """One feed on disk."""

    path: Path  # where
    title: str  # as phones show it
    n_events: int  # how many events it has, as it stands there
    state: State  # what became of it
    ended: bool = False  # whether its person or plot is gone, or has no work any more

    @property
    def changed(self) -> bool:
        """Whether readers get other bytes than before."""
        return self.state in (State.WRITTEN, State.REMOVED)


@dataclass(frozen=True, slots=True)
class Manner:
    """How feeds are written."""

    now: datetime  # time stamp of what has changed, aware, UTC
    allow_empty: bool = False  # let a feed without events replace one that had some
    # leave cancelled work in the feed, so marked, until its day has passed
    keep_cancelled: bool = False
    remove_ended: bool = False  # take away feeds of people and plots that are gone or have no work
    # first day of the plan; entries to come before it are of another plan
    plan_first: date = date.min
    may_lose: bool = False  # let much of what is still to come go; see ``LossError``


def stamp_of(as_of: date | None) -> datetime:
    """The time stamp of what changes: now, or the begin of the day that is taken for today."""
    if as_of is not None:
        return datetime.combine(as_of, time.min, UTC)
    return datetime.now(UTC).replace(microsecond=0)


def write_feeds(feeds: Sequence[Feed], folder: Path, manner: Manner) -> tuple[Written, ...]:
    """Write feeds to a folder, each whole or not at all, and only where they changed.

    An empty feed never replaces a full one unasked: that one is left, and the others are
    written. So it is with feeds of people and plots that the site no longer has. The folder
    belongs to the site, and is made if need be.

    Returns:
        What became of each feed; one that is empty and never was written is left out.

    Raises:
        ForeignFeedError: a file there is damaged, is not ours or is of another holding; nothing
            at all is written.
        LossError: see there.
        BusyError: another program is writing there.
        OSError: the folder cannot be written; each old feed stands.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with locked(folder):
        files = {path.stem: path for path in folder.glob("*.ics")}
        places = [(feed, folder / f"{feed.name}.ics") for feed in feeds]
        return write_ready(places, files, manner, SHARED_FILE)


def write_ready(
    places: Sequence[tuple[Feed, Path]], files: Mapping[str, Path], manner: Manner, mode: int
) -> tuple[Written, ...]:
    """Make all feeds ready, those that have ended too, then write them.

    Args:
        places: the calendars of one site, and where each goes; its folder exists, and is locked.
        files: what stands there, by name of the feed.
        manner: how.
        mode: access of new files.

    Raises:
        ForeignFeedError, LossError, OSError: see ``write_feeds``.
    """
    everything = [*places, *_ended(places, files)]
    ready = [each for feed, path in everything if (each := _ready(feed, path, manner))]
    losses = [line for each in ready if (line := _loss(each, manner))]
    if losses and not manner.may_lose:
        raise LossError(*losses)
    for each in ready:
        sweep(each.path)
    return tuple(_brought_about(each, manner, mode) for each in ready)


def _ended(
    places: Sequence[tuple[Feed, Path]], files: Mapping[str, Path]
) -> Iterator[tuple[Feed, Path]]:
    """Written feeds that nobody has any more, with their old heads and no events."""
    names = {feed.name for feed, _ in places}
    for name, path in sorted(files.items()):
        if name.startswith(ENDING) and name not in names:
            try:
                head = remembered(read_bytes(path, str(path)))[HEAD].item
            except ForeignFeedError:  # another program wrote it
                continue
            title, description = str(head["x-wr-calname"]), str(head["x-wr-caldesc"])
            yield Feed(places[0][0].site_id, name, title, description, ()), path


@dataclass(frozen=True, slots=True)
class _Ready:
    feed: Feed
    path: Path
    content: bytes
    old: bytes

    @property
    def ended(self) -> bool:
        """Whether nothing is planned any more in a feed that may come to an end."""
        return not self.feed.events and self.feed.name.startswith(ENDING)


def _ready(feed: Feed, path: Path, manner: Manner) -> _Ready | None:
    """A feed with its bytes; None for one that is empty, or a twin, and never was written."""
    old = read_bytes(path, str(path)) if path.exists() else None
    try:
        content = feed_bytes(feed, old, manner.now, keep_cancelled=manner.keep_cancelled)
    except ForeignFeedError as error:
        raise ForeignFeedError(f"{path} is left as it is: {error}") from error
    if old is None and (feed.twin or EVENT not in content):
        return None
    return _Ready(feed, path, content, old or b"")


def _loss(ready: _Ready, manner: Manner) -> str:
    """What a calendar would lose, where it is too much to go without a word; else nothing."""
    if ready.old in (b"", ready.content) or EVENT not in ready.content or ready.ended:
        return ""
    kept = set(UID.findall(ready.content))
    to_come = _to_come(ready.old, manner.now.date())
    gone = [span for uid, span in to_come.items() if uid.encode() not in kept]
    n_before = sum(span.last < manner.plan_first for span in gone)
    if not n_before and len(gone) <= max(FEW, MOST_LOST * len(to_come)):
        return ""
    of_other = f"; {n_before} of them before this plan begins" if n_before else ""
    return (
        f"{ready.path} would lose {len(gone)} of {len(to_come)} entries to come, from "
        f"{day_words(min(span.first for span in gone))} on{of_other}"
    )


def _to_come(content: bytes, today: date) -> dict[str, DaySpan]:
    """The days of the entries of a calendar that have not gone by, by UID."""
    entries = {uid: entry for uid, entry in remembered(content).items() if uid != HEAD}
    spans = {uid: span_of(entry.item) for uid, entry in entries.items()}
    return {uid: span for uid, span in spans.items() if span and span.last >= today}


def _brought_about(ready: _Ready, manner: Manner, mode: int) -> Written:
    path, content, title, ended = ready.path, ready.content, ready.feed.title, ready.ended
    if ended and manner.remove_ended:
        path.unlink()
        return Written(path, title, 0, State.REMOVED, ended)
    if EVENT in ready.old and EVENT not in content and not manner.allow_empty:
        return Written(path, title, ready.old.count(EVENT), State.LEFT, ended)
    state = State.WRITTEN if write_whole(path, content, mode) else State.UNCHANGED
    return Written(path, title, content.count(EVENT), state, ended)


def written_lines(written: Sequence[Written]) -> Iterator[str]:
    """What became of feeds, in plain words, a line each; those that were left are not told."""
    for feed in written:
        if feed.state is State.REMOVED:
            yield f"{feed.path}: removed"
        elif feed.state is not State.LEFT:
            gone = "; nothing is planned for it any more" if feed.ended else ""
            yield f"{feed.path}: {_events(feed.n_events)}, {feed.state}{gone}"


def written_record(feed: Written) -> dict[str, str | int | bool]:
    """What became of a feed, for a program."""
    return {
        "path": str(feed.path),
        "n_events": feed.n_events,
        "changed": feed.changed,
        "state": str(feed.state),
    }


def left_lines(written: Sequence[Written]) -> Iterator[str]:
    """What was left as it was, why, and what can be done."""
    for feed in written:
        if feed.state is State.LEFT:
            take = ", --remove-ended takes it away" if feed.ended else ""
            yield (
                f"{feed.path} is left as it is: nothing is planned for it any more, and readers "
                f"still see {_events(feed.n_events)}; --allow-empty empties it{take}"
            )


def _events(n: int) -> str:
    return "1 event" if n == 1 else f"{n} events"


def published_in_folders(folders: Iterable[Path], holding: Holding) -> Published:
    """The days that the first written work feed tells; nothing is read where there is none.

    Args:
        folders: where to look, in this order.
        holding: the site.

    Raises:
        ForeignFeedError, OSError: see ``published_days``.
    """
    feeds = (_work_feed_in(folder, holding.site.id) for folder in folders)
    feed = next((found for found in feeds if found is not None), None)
    if feed is None:
        return {}
    ids = dict.fromkeys(task.visit_id for task in tasks_of(holding))
    return published_days(feed, holding.site.id, holding.plan.id, ids)


def _work_feed_in(folder: Path, site_id: str) -> Path | None:
    """The written work feed in a folder, or below one under its private link; None if none."""
    plain = folder / "work.ics"
    return plain if plain.exists() else min(folder.glob(f"*/{site_id}-work.ics"), default=None)


def published_days(
    path: Path, site_id: str, plan_id: str, task_ids: Iterable[str]
) -> dict[str, tuple[DaySpan, ...]]:
    """The days for which work was last published, in a written work feed: their only memory.

    Work of other sites and plans is passed over, being under other UIDs, and so is what
    stands there as cancelled.

    Returns:
        Runs of days by task id, in their order; tasks that were not published are missing.

    Raises:
        ForeignFeedError: the file is damaged or was not written by this program.
        OSError: it cannot be read.
    """
    try:
        memory = remembered(read_bytes(path, str(path)))
    except ForeignFeedError as error:
        raise ForeignFeedError(
            f"{path} is left as it is, and does not tell what was published: {error}"
        ) from error
    days: dict[str, tuple[DaySpan, ...]] = {}
    for task_id in task_ids:
        for part in count(1):
            revision = memory.get(uid_of(site_id, f"{plan_id}/{task_id}/{part}"))
            span = revision and span_of(revision.item)
            if not span:
                break
            days[task_id] = (*days.get(task_id, ()), span)
    return days
