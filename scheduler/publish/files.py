"""The door through which feeds reach a folder."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import count
from pathlib import Path

from scheduler.publish.disk import SHARED_FILE, locked, replace_whole, sweep
from scheduler.publish.ics import Feed, ForeignFeedError, feed_bytes, uid_of
from scheduler.publish.revisions import Revision, remembered, span_of
from scheduler.terms import DaySpan

EVENT = b"\r\nBEGIN:VEVENT\r\n"  # a whole line: the words alone may stand in a title


@dataclass(frozen=True, slots=True)
class Written:
    """One feed on disk.

    Args:
        path: where.
        title: as phones show it.
        n_events: how many events it has.
        changed: whether its bytes changed.
    """

    path: Path
    title: str
    n_events: int
    changed: bool


@dataclass(frozen=True, slots=True)
class Manner:
    """How feeds are written.

    Args:
        now: time stamp of what has changed, aware, UTC.
        allow_empty: let a feed without events replace one that had some.
        keep_cancelled: leave cancelled work in the feed, so marked, until its day has passed.
    """

    now: datetime
    allow_empty: bool = False
    keep_cancelled: bool = False


def write_feeds(feeds: Sequence[Feed], folder: Path, manner: Manner) -> tuple[Written, ...]:
    """Write feeds to a folder, each whole or not at all, and only where they changed.

    Args:
        feeds: the calendars.
        folder: made if need be.
        manner: how.

    Returns:
        What was written.

    Raises:
        ForeignFeedError: a file there is damaged, is not ours, or an empty feed would
            replace a full one; nothing at all is written then.
        BusyError: another program is writing there.
        OSError: the folder cannot be written; each old feed stands.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with locked(folder):
        return write_ready(feeds, lambda feed: folder / f"{feed.name}.ics", manner, SHARED_FILE)


def write_ready(
    feeds: Sequence[Feed], place_of: Callable[[Feed], Path], manner: Manner, mode: int
) -> tuple[Written, ...]:
    """Make all feeds ready, then write them; the folder must be locked.

    Args:
        feeds: the calendars.
        place_of: where each of them goes; its folder must exist.
        manner: how.
        mode: access of new files.

    Raises:
        ForeignFeedError: see ``write_feeds``.
        OSError: likewise.
    """
    ready = list(_ready(feeds, place_of, manner))
    for _, path, _ in ready:
        sweep(path)
    return tuple(
        Written(path, feed.title, content.count(EVENT), replace_whole(path, content, mode))
        for feed, path, content in ready
    )


def _ready(
    feeds: Sequence[Feed], place_of: Callable[[Feed], Path], manner: Manner
) -> Iterator[tuple[Feed, Path, bytes]]:
    for feed in feeds:
        path = place_of(feed)
        old = path.read_bytes() if path.exists() else None
        try:
            content = feed_bytes(feed, old, manner.now, keep_cancelled=manner.keep_cancelled)
        except ForeignFeedError as error:
            raise ForeignFeedError(f"{path} is left as it is: {error}") from error
        empty = EVENT not in content
        if empty and old and EVENT in old and not manner.allow_empty:
            raise ForeignFeedError(
                f"{path} is left as it is: the new feed is empty; --allow-empty lets it be"
            )
        if not empty or manner.allow_empty:
            yield feed, path, content


def no_longer_written(folder: Path, written: Sequence[Written]) -> tuple[Path, ...]:
    """Feeds in a folder that belong to nobody any more; whoever subscribes sees old work."""
    return tuple(sorted(set(folder.glob("*.ics")) - {feed.path for feed in written}))


def work_feed_in(folder: Path, site_id: str) -> Path | None:
    """The written work feed in a folder, or below one under its secret address; None if none."""
    plain = folder / "work.ics"
    found = [plain] if plain.is_file() else sorted(folder.glob(f"*/{site_id}-work.ics"))
    return found[0] if found else None


def published_days(
    path: Path, site_id: str, plan_id: str, task_ids: Iterable[str]
) -> dict[str, tuple[DaySpan, ...]]:
    """The days for which work was last published: the only memory of it is the written feed.

    Work of other sites and plans is passed over, being under other UIDs, and so is what
    stands there as cancelled.

    Args:
        path: the written work feed.
        site_id: the site.
        plan_id: the plan in force.
        task_ids: tasks that are asked about.

    Returns:
        Runs of days by task id, in their order; tasks that were not published are missing.

    Raises:
        ForeignFeedError: the file is damaged or was not written by this program.
        OSError: it cannot be read.
    """
    try:
        memory = remembered(path.read_bytes())
    except ForeignFeedError as error:
        raise ForeignFeedError(
            f"{path} is left as it is, and does not tell what was published: {error}"
        ) from error
    runs = {task_id: tuple(_runs(memory, site_id, f"{plan_id}/{task_id}")) for task_id in task_ids}
    return {task_id: spans for task_id, spans in runs.items() if spans}


def _runs(memory: Mapping[str, Revision], site_id: str, key: str) -> Iterator[DaySpan]:
    for part in count(1):
        revision = memory.get(uid_of(site_id, f"{key}/{part}"))
        span = revision and span_of(revision.item)
        if not span:
            return
        yield span
