"""A written feed as single items, one event each, as a calendar server keeps them.

RFC 4791 4.1: one UID and one kind of component in each resource, no METHOD.
"""

import hashlib
from dataclasses import dataclass

import icalendar

from scheduler.calendars.revisions import HEAD, PRODUCT, remembered


@dataclass(frozen=True, slots=True)
class Item:
    """One event as a file of its own.

    Args:
        uid: its UID, of our own making: safe as a file name.
        content: a whole calendar with the one event.
    """

    uid: str
    content: bytes

    @property
    def digest(self) -> str:
        """Short name of these very bytes."""
        return hashlib.sha256(self.content).hexdigest()

    @property
    def sense(self) -> str:
        """Short name of what it says, however a server writes it; see ``sense_of``."""
        return sense_of(self.content)


def items_of(feed: bytes) -> tuple[Item, ...]:
    """The events of a written feed, each as an item, in the order of the feed.

    Args:
        feed: bytes that this program wrote.

    Raises:
        ForeignFeedError: they are damaged or not ours.
    """
    return tuple(
        _item(uid, revision.item) for uid, revision in remembered(feed).items() if uid != HEAD
    )


def _item(uid: str, event: icalendar.Component) -> Item:
    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add_component(event)
    return Item(uid, bytes(calendar.to_ical()))


def sense_of(content: bytes) -> str:
    """Short name of what a calendar says of its events; of its bytes where it has none.

    Servers write a calendar anew in their own order and with a head of their own, so bytes
    say nothing; every line of every event does.
    """
    try:
        parts = icalendar.Calendar.from_ical(content).subcomponents
        events = [part for part in parts if part.name == "VEVENT"]
        # deeper nesting than that of a reminder is not ours, and takes the library minutes
        deep = any(part.subcomponents for event in events for part in event.subcomponents)
        lines = [] if deep else sorted(sorted(map(str, e.content_lines())) for e in events)
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError):
        lines = []
    return hashlib.sha256(repr(lines).encode() if lines else content).hexdigest()
