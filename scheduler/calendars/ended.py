"""Feeds of people and plots that have ended: gone from the site, or without any work."""

from collections.abc import Container, Iterator, Mapping
from pathlib import Path

from scheduler.calendars.ics import Feed
from scheduler.calendars.revisions import HEAD, ForeignFeedError, remembered
from scheduler.files import read_bytes

ENDING = ("person-", "plot-")  # the others of a site are there as long as it is


def has_ended(feed: Feed) -> bool:
    """Whether nothing is planned any more in a feed that may come to an end."""
    return not feed.events and feed.name.startswith(ENDING)


def ended_feeds(
    site_id: str, files: Mapping[str, Path], still: Container[str]
) -> Iterator[tuple[Feed, Path]]:
    """Written feeds that nobody has any more, without events and with their old heads.

    Args:
        site_id: the site's id.
        files: what stands in the folder, by name of the feed.
        still: names of the feeds that the site has now.
    """
    for name, path in sorted(files.items()):
        if name.startswith(ENDING) and name not in still:
            feed = _without_events(site_id, name, read_bytes(path, str(path)))
            if feed is not None:
                yield feed, path


def _without_events(site_id: str, name: str, old: bytes) -> Feed | None:
    """The feed with its head alone; None where another program wrote the file."""
    try:
        head = remembered(old)[HEAD].item
    except ForeignFeedError:
        return None
    return Feed(site_id, name, str(head["x-wr-calname"]), str(head["x-wr-caldesc"]), ())
