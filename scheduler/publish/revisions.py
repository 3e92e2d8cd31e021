"""What the last written feed remembers: the only memory of revisions there is.

An event that did not change keeps its SEQUENCE and its time stamps; a moved day or a
changed STATUS raises SEQUENCE; a changed word moves only LAST-MODIFIED. DTSTAMP equals
LAST-MODIFIED, as RFC 5545 3.8.7.2 wants of a feed without METHOD.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime

import icalendar
from icalendar import vText

from scheduler.publish.text import shortened

PRODUCT = "-//scheduler//food forest work calendar//EN"
HEAD = ""  # under this name the memory keeps the head of the feed
CANCELLED = "Cancelled: "
_REVISION_FIELDS = ("DTSTAMP", "LAST-MODIFIED", "SEQUENCE")


class ForeignFeedError(Exception):
    """A file in the feed's place that this program did not write, or that is damaged."""


@dataclass(frozen=True, slots=True)
class Revision:
    """What was written of one event.

    Args:
        content: everything it said, its revision aside.
        weighty: the part of it whose change raises SEQUENCE: days and status.
        sequence: its SEQUENCE.
        stamp: when it last changed, UTC.
        item: the event itself.
    """

    content: tuple[str, ...]
    weighty: tuple[str, ...]
    sequence: int
    stamp: datetime
    item: icalendar.Component


def remembered(old: bytes | None) -> dict[str, Revision]:
    """What the last written feed says of each UID; the head of the feed under ``HEAD``.

    Raises:
        ForeignFeedError: the bytes are damaged or not written by this program.
    """
    if old is None:
        return {}
    if not (old.startswith(b"BEGIN:VCALENDAR\r\n") and old.endswith(b"END:VCALENDAR\r\n")):
        raise ForeignFeedError("it cannot be read as a feed (it has no whole VCALENDAR)")
    try:
        return _read(icalendar.Calendar.from_ical(old))
    except (ValueError, KeyError, IndexError, TypeError, AttributeError) as error:
        raise ForeignFeedError(f"it cannot be read as a feed ({error})") from error


def _read(calendar: icalendar.Component) -> dict[str, Revision]:
    if str(calendar["prodid"]) != PRODUCT:
        raise ForeignFeedError(f"it was written by {calendar['prodid']}")
    memory = {HEAD: Revision(content_of(calendar), (), 0, _stamp_of(calendar), calendar)}
    for item in calendar.walk("VEVENT"):
        uid = str(item["uid"])
        if item.errors:  # the library goes on after a value it cannot read
            raise ForeignFeedError(f"it cannot be read as a feed ({item.errors[0]})")
        if uid in memory:
            raise ForeignFeedError(f"two events in it share the UID {uid}")
        memory[uid] = Revision(
            content_of(item), _weighty(item), int(item.decoded("sequence")), _stamp_of(item), item
        )
    return memory


def _stamp_of(item: icalendar.Component) -> datetime:
    stamp = item.decoded("last-modified")
    if not isinstance(stamp, datetime) or stamp.tzinfo is None:
        raise ForeignFeedError("it cannot be read as a feed (a LAST-MODIFIED is not in UTC)")
    return stamp


def stamp(item: icalendar.Event, memory: Mapping[str, Revision], now: datetime) -> datetime:
    """Give an item its revision, and return when it last changed."""
    old = memory.get(str(item["uid"]))
    sequence, changed = 0, now
    if old is not None:
        moved = old.weighty != _weighty(item)
        sequence = old.sequence + moved
        changed = old.stamp if not moved and old.content == content_of(item) else now
    _write_revision(item, sequence, changed)
    return changed


def _write_revision(item: icalendar.Component, sequence: int, changed: datetime) -> None:
    for name in _REVISION_FIELDS:
        item.pop(name, None)
    item.add("sequence", sequence)
    item.add("dtstamp", changed)
    item.add("last-modified", changed)


def cancelled(old: Revision, now: datetime) -> icalendar.Component | None:
    """An event that has left the plan, marked as cancelled; None once its day has passed."""
    item = old.item
    if _day_after(item) <= now.astimezone(UTC).date():
        return None
    if str(item["status"]) == "CANCELLED":
        return item
    title = shortened(CANCELLED + str(item["summary"]))
    for name in ("summary", "status", "transp", "related-to"):
        item.pop(name, None)
    item.add("summary", vText(title))
    item.add("status", "CANCELLED")
    item.add("transp", "TRANSPARENT")
    item.subcomponents.clear()  # nobody is to be reminded of it
    _write_revision(item, old.sequence + 1, now)
    return item


def _day_after(item: icalendar.Component) -> date:
    end = item.decoded("dtend")
    return end.date() if isinstance(end, datetime) else end


def content_of(item: icalendar.Component) -> tuple[str, ...]:
    """Everything an item says, its revision and the items inside a calendar aside."""
    fields = type(item)()
    fields.update(item)
    for name in _REVISION_FIELDS:
        fields.pop(name, None)
    if item.name == "VEVENT":
        fields.subcomponents = item.subcomponents
    return tuple(str(line) for line in fields.content_lines())


def _weighty(item: icalendar.Component) -> tuple[str, ...]:
    days = (str(item.decoded(name)) for name in ("dtstart", "dtend"))
    return (*days, str(item.get("status", "")))
