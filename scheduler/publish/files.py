"""The door through which feeds reach the disk."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from scheduler.holding import write_whole
from scheduler.publish.ics import Feed, ForeignFeedError, feed_bytes


@dataclass(frozen=True, slots=True)
class Written:
    """One feed on disk: where, how many events, and whether its bytes changed."""

    path: Path
    n_events: int
    changed: bool


def write_feeds(
    feeds: Sequence[Feed], folder: Path, now: datetime, *, allow_empty: bool = False
) -> tuple[Written, ...]:
    """Write feeds to a folder, each whole or not at all, and only where they changed.

    Args:
        feeds: the calendars.
        folder: made if need be.
        now: time stamp of what has changed, aware, UTC.
        allow_empty: let a feed without events replace one that had some.

    Returns:
        What was written.

    Raises:
        ForeignFeedError: a file there is damaged, is not ours, or an empty feed would
            replace a full one; nothing at all is written then.
        OSError: the folder cannot be written; each old feed stands.
    """
    ready = list(_ready(feeds, folder, now, allow_empty=allow_empty))
    folder.mkdir(parents=True, exist_ok=True)
    return tuple(
        Written(path, len(feed.events), write_whole(path, content))
        for feed, path, content in ready
    )


def _ready(
    feeds: Sequence[Feed], folder: Path, now: datetime, *, allow_empty: bool
) -> Iterator[tuple[Feed, Path, bytes]]:
    for feed in feeds:
        path = folder / f"{feed.name}.ics"
        old = path.read_bytes() if path.exists() else None
        try:
            content = feed_bytes(feed, old, now)
        except ForeignFeedError as error:
            raise ForeignFeedError(f"{path} is left as it is: {error}") from error
        if not feed.events and old and b"BEGIN:VEVENT" in old and not allow_empty:
            raise ForeignFeedError(
                f"{path} is left as it is: the new feed is empty; --allow-empty lets it be"
            )
        if feed.events or allow_empty:
            yield feed, path, content
