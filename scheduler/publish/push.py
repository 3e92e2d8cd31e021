"""Events of a written feed are pushed to a calendar server, and nobody's edits are lost.

Beside the feed a memory is kept of each item we wrote: the server's validator and the
digest of our bytes. Only what changed is sent, each time on the condition that the item on
the server is still the one we wrote; where it is not, it is left alone and reported. Only
items in the memory are ever removed.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from scheduler.holding import PRIVATE_FILE, locked, write_whole
from scheduler.publish.items import Item, items_of, same_events
from scheduler.publish.revisions import ForeignFeedError
from scheduler.publish.webdav import CHANGED_THERE, GONE, PushError, Reply, Server

Known = dict[str, dict[str, str]]  # etag and digest by name of the item on the server


@dataclass(slots=True)
class Report:
    """What was done, in numbers of items, and what was left alone.

    Args:
        new: written for the first time.
        changed: written over our own.
        removed: taken away.
        unchanged: not sent.
        left_alone: names of items that somebody else has changed or removed there.
    """

    new: int = 0
    changed: int = 0
    removed: int = 0
    unchanged: int = 0
    left_alone: list[str] = field(default_factory=list)


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
    content = path.read_bytes()
    items = items_of(content)
    with locked(memory.parent), _remembering(memory, server.url) as known:
        if not items and known and not allow_empty:
            raise ForeignFeedError(f"{path} has no events; --allow-empty takes all of them away")
        wanted = {f"{item.uid}.ics": item for item in items}
        if whole:
            wanted = {"": Item("", content)} if items else {}
        try:
            return _bring_about(wanted, known, server)
        finally:
            server.close()


def _bring_about(wanted: Mapping[str, Item], known: Known, server: Server) -> Report:
    report = Report()
    for name, item in wanted.items():
        _put(name, item, known, server, report)
    for name in [name for name in known if name not in wanted]:
        _remove(name, known, server, report)
    return report


def _put(name: str, item: Item, known: Known, server: Server, report: Report) -> None:
    old = known.get(name)
    if old is not None and old["digest"] == item.digest:
        report.unchanged += 1
        return
    reply = server.put(name, item.content, old["etag"] if old else "")
    if reply.status == CHANGED_THERE or not _strong(reply.etag):
        reply, taken = _look(name, item, server), reply.status == CHANGED_THERE
        if not reply.etag:
            report.left_alone.append(name)
            return
        report.unchanged += taken  # an earlier push had come through, and was not remembered
    else:
        taken = False
    known[name] = {"etag": reply.etag, "digest": item.digest}
    if not taken:
        report.new += old is None
        report.changed += old is not None


def _look(name: str, item: Item, server: Server) -> Reply:
    """What stands on the server; without validator where it is not what we want there."""
    found = server.get(name)
    if not same_events(found.content, item.content):
        return Reply(found.status, "", b"")
    if not _strong(found.etag):
        raise PushError("the server gives no strong ETag; pushing to it would not be safe")
    return found


def _strong(etag: str) -> bool:
    """Whether a validator can stand in If-Match (RFC 9110 13.1.1)."""
    return etag.startswith('"')


def _remove(name: str, known: Known, server: Server, report: Report) -> None:
    reply = server.delete(name, known[name]["etag"])
    if reply.status == CHANGED_THERE:
        report.left_alone.append(name)
        return
    report.removed += reply.status not in GONE
    del known[name]


@contextmanager
def _remembering(memory: Path, url: str) -> Iterator[Known]:
    """What we wrote to an address; kept whatever happens meanwhile."""
    before = _read(memory)
    known = before.setdefault(url, {})
    try:
        yield known
    finally:
        text = json.dumps(before, ensure_ascii=False, indent=1, sort_keys=True) + "\n"
        write_whole(memory, text.encode(), PRIVATE_FILE)


def _read(memory: Path) -> dict[str, Known]:
    if not memory.exists():
        return {}
    try:
        told = json.loads(memory.read_text(encoding="utf-8"))
        return {
            str(url): {
                str(name): {"etag": str(item["etag"]), "digest": str(item["digest"])}
                for name, item in known.items()
            }
            for url, known in told.items()
        }
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise ForeignFeedError(
            f"{memory} is left as it is: it cannot be read ({error})"
        ) from error


def report_lines(report: Report) -> Sequence[str]:
    """A report in plain words."""
    counts = (
        f"{report.new} new, {report.changed} changed, {report.removed} removed, "
        f"{report.unchanged} unchanged"
    )
    return [
        counts,
        *(
            f"{name or 'the feed'} was changed or removed there by somebody else; left as it is"
            for name in report.left_alone
        ),
    ]
