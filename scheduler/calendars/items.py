"""A written feed as single items, one event each, as a calendar server keeps them.

RFC 4791 4.1: one UID and one kind of component in each resource, no METHOD.
"""

import hashlib

import icalendar

from scheduler.calendars.revisions import HEAD, PRODUCT, UNREADABLE, remembered


def items_of(feed: bytes) -> dict[str, bytes]:
    """The events of a written feed by UID, each a whole calendar, in the order of the feed.

    The UIDs are of our own making: safe as file names.

    Raises:
        ForeignFeedError: the bytes are damaged or not written by this program.
    """
    items = {}
    for uid, revision in remembered(feed).items():
        if uid != HEAD:
            calendar = icalendar.Calendar()
            calendar.add("prodid", PRODUCT)
            calendar.add("version", "2.0")
            calendar.add_component(revision.item)
            items[uid] = calendar.to_ical()
    return items


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
    except (*UNREADABLE, RecursionError):
        lines = []
    return hashlib.sha256(repr(lines).encode() if lines else content).hexdigest()
