"""Events of a written feed are pushed to a calendar server, and nobody's edits are lost.

Beside the feed a memory is kept of each item we wrote: the server's validator, the digest
of our bytes, and what we tried to bring about there, since a reply can be lost. The server
is asked each time what it holds. Only what changed is sent, on the condition that the item
there is still ours; where it is not, it is left alone and reported. Only items in the
memory are ever removed.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

from scheduler.calendars import ForeignFeedError, items_of, sense_of
from scheduler.files import PRIVATE_FILE, locked, read_bytes, write_whole
from scheduler.ways_out.webdav import (
    CHANGED_THERE,
    CREATED,
    GONE,
    PushError,
    Server,
    TooMuchError,
    is_strong,
)

NOTHING = ""  # in place of a sense: no item stands there
LEAST_LIMIT = 100_000  # bytes; an item beyond this and twice ours is not ours


@dataclass(slots=True)
class Report:
    """What was done, in numbers of items; names of those that were left as others have them."""

    new: int = 0
    changed: int = 0
    removed: int = 0
    unchanged: int = 0
    left_alone: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Kept:
    """What is remembered of one item."""

    etag: str = ""  # its validator on the server; empty where we do not know of one
    digest: str = ""  # of the bytes we wrote; empty where only their sense is known
    # senses that may stand there and are our doing, ``NOTHING`` among them
    ours: tuple[str, ...] = ()


Known = dict[str, Kept]  # by name of the item on the server


def push_feed(
    path: Path, server: Server, memory: Path, *, whole: bool = False, allow_empty: bool = False
) -> Report:
    """Bring a calendar server to the state of a written feed.

    Args:
        path: the feed.
        server: the collection; with ``whole`` the file.
        memory: file that keeps what we wrote there; made if need be.
        whole: push the feed as one file (WebDAV), not as one item an event (CalDAV).
        allow_empty: let a feed without events take everything away.

    Raises:
        ForeignFeedError: the feed or the memory is damaged or not ours, or the feed is empty.
        PushError: the server cannot be reached or refuses; what was done is remembered.
        BusyError: another program is pushing from the same memory.
        OSError: a file cannot be read or written.
    """
    content = read_bytes(path, str(path))
    try:
        wanted = {f"{uid}.ics": item for uid, item in items_of(content).items()}
    except ForeignFeedError as error:
        raise ForeignFeedError(f"{path}: {error}") from error
    if whole and wanted:
        wanted = {"": content}
    with locked(memory.parent):
        known_by_url = _read(memory)
        known = known_by_url.setdefault(server.url, {})
        if not wanted and known and not allow_empty:
            raise ForeignFeedError(f"{path} has no events; --allow-empty takes all of them away")
        try:
            push = _Push(wanted, known, server, _etags_of(known, server, whole=whole))
            to_do = push.to_do()
            if to_do:
                _save(memory, known_by_url)  # now, as the reply to what is sent may be lost
            for name, before in to_do.items():
                push.do(name, before)
            return push.report
        finally:
            _save(memory, known_by_url)
            server.close()


def _etags_of(known: Known, server: Server, *, whole: bool) -> Mapping[str, str]:
    """Validators of what stands on the server; of the items we know where it has no list."""
    listed = None if whole else server.etags()
    if listed is not None:
        return listed
    asked = {name: server.etag_of(name) for name in ([""] if whole else known)}
    return {name: etag for name, etag in asked.items() if etag is not None}


@dataclass(slots=True)
class _Push:
    wanted: Mapping[str, bytes]
    known: Known
    server: Server
    there: Mapping[str, str]
    report: Report = field(default_factory=Report)

    def to_do(self) -> dict[str, Kept]:
        """Items to write or remove, with what is remembered of each before the attempt."""
        to_do: dict[str, Kept] = {}
        for name in dict.fromkeys((*self.wanted, *self.known)):
            item, kept = self.wanted.get(name), self._as_it_stands(name)
            if kept is None and (item or name in self.there):
                self.report.left_alone.append(name)
            elif kept and item and kept.digest == _digest(item):
                self.known[name] = kept
                self.report.unchanged += 1
            elif kept and (item or kept.etag):
                attempt = sense_of(item) if item else NOTHING
                self.known[name] = replace(kept, ours=(*kept.ours, attempt))
                to_do[name] = kept
            else:
                del self.known[name]
        return to_do

    def _as_it_stands(self, name: str) -> Kept | None:
        """What is remembered, brought up to date; None where others had a hand in it."""
        kept = self.known.get(name)
        if kept is None:
            return Kept()
        if name not in self.there:
            return Kept(ours=kept.ours) if not kept.etag or NOTHING in kept.ours else None
        if self.there[name] == kept.etag and is_strong(kept.etag):
            return kept
        return self._look(name, kept.ours)

    def _look(self, name: str, ours: Sequence[str] = ()) -> Kept | None:
        """An item that stands there and is what we want or wrote; None where it is neither."""
        item = self.wanted.get(name)
        try:
            reply = self.server.get(name, max(LEAST_LIMIT, 2 * len(item or b"")))
        except TooMuchError:
            return None
        sense = sense_of(reply.content)
        is_wanted = item is not None and sense == sense_of(item)
        if reply.status in GONE or not (is_wanted or sense in ours):
            return None
        if not is_strong(reply.etag):
            raise PushError("the server gives no strong ETag; pushing to it would not be safe")
        return Kept(reply.etag, _digest(item) if item and is_wanted else "", (sense,))

    def do(self, name: str, before: Kept) -> None:
        """Write or remove an item, if it is still as it was ``before``."""
        item = self.wanted.get(name)
        if item is not None:
            after = self._put(name, item, before)
        else:
            reply = self.server.delete(name, before.etag)
            after = None if reply.status == CHANGED_THERE else Kept()
            self.report.removed += reply.status in CREATED
        if after is None:
            self.report.left_alone.append(name)
            after = before
        if after.etag or after.ours:
            self.known[name] = after
        else:
            del self.known[name]

    def _put(self, name: str, item: bytes, before: Kept) -> Kept | None:
        reply = self.server.put(name, item, before.etag)
        was_there = reply.status == CHANGED_THERE
        after: Kept | None = Kept(reply.etag, _digest(item), (sense_of(item),))
        if was_there or not is_strong(reply.etag):
            after = self._look(name)
        if after and was_there:  # an earlier push had come through, and was not remembered
            self.report.unchanged += 1
        elif after:
            self.report.new += not before.etag
            self.report.changed += bool(before.etag)
        return after


def _digest(item: bytes) -> str:
    return hashlib.sha256(item).hexdigest()


def _read(memory: Path) -> dict[str, Known]:
    """What was written, by address."""
    if not memory.exists():
        return {}
    try:
        record = json.loads(read_bytes(memory, str(memory)).decode())
        json.dumps(record, ensure_ascii=False).encode()  # fails on what cannot be written again
        return {
            str(url): {
                str(name): Kept(
                    str(item["etag"]), str(item["digest"]), tuple(map(str, item.get("ours", ())))
                )
                for name, item in known.items()
            }
            for url, known in record.items()
        }
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise ForeignFeedError(
            f"{memory} is left as it is: it cannot be read ({error})"
        ) from error


def _save(memory: Path, known_by_url: Mapping[str, Known]) -> None:
    record = {
        url: {name: asdict(kept) for name, kept in known.items()}
        for url, known in known_by_url.items()
    }
    text = json.dumps(record, ensure_ascii=False, indent=1, sort_keys=True) + "\n"
    write_whole(memory, text.encode(), PRIVATE_FILE)


def report_lines(report: Report) -> list[str]:
    """A report in plain words."""
    counts = (
        f"{report.new} new, {report.changed} changed, {report.removed} removed, "
        f"{report.unchanged} unchanged"
    )
    left = [
        f"{name or 'the feed'} was changed or removed there by somebody else; left as it is"
        for name in report.left_alone
    ]
    return [counts, *left]
