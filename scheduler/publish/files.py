"""The door through which feeds reach a folder."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from scheduler.holding import SHARED_FILE, sweep, write_whole
from scheduler.publish.disk import locked
from scheduler.publish.ics import Feed, ForeignFeedError, feed_bytes

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
        Written(path, feed.title, content.count(EVENT), write_whole(path, content, mode))
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
