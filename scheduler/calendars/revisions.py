"""What the last written feed remembers: the only memory of revisions there is.

An event that did not change keeps its SEQUENCE and its time stamps; a moved day or a
changed STATUS raises SEQUENCE; a changed word moves only LAST-MODIFIED. DTSTAMP equals
LAST-MODIFIED, as RFC 5545 3.8.7.2 wants of a feed without METHOD.
"""

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import icalendar
from icalendar import vText

from scheduler.terms import DaySpan
from scheduler.words import shortened

PRODUCT = "-//scheduler//food forest work calendar//EN"
HEAD = ""  # under this name the memory keeps the head of the feed
CANCELLED = "Cancelled: "
PAST_DAYS = 60  # how long what nobody logged stays to be seen
# what the library raises where bytes are no calendar
UNREADABLE = (ValueError, KeyError, IndexError, TypeError, AttributeError)
_EVENT = re.compile(rb"^BEGIN:VEVENT\r\n.*?^END:VEVENT\r\n", re.DOTALL | re.MULTILINE)
_REVISION_FIELDS = ("SEQUENCE", "DTSTAMP", "LAST-MODIFIED")


class ForeignFeedError(Exception):
    """A file in the feed's place that this program did not write, or that is damaged."""


@dataclass(frozen=True, slots=True)
class Revision:
    """An event as it stands in a feed, or the head of the feed."""

    item: icalendar.Component  # the event itself
    written: bytes  # its bytes; of the head, nothing
    sequence: int  # its SEQUENCE
    stamp: datetime  # when it last changed, UTC


def remembered(old: bytes) -> dict[str, Revision]:
    """What the last written feed says of each UID; the head of the feed under ``HEAD``.

    Raises:
        ForeignFeedError: the bytes are damaged or not written by this program.
    """
    if not (old.startswith(b"BEGIN:VCALENDAR\r\n") and old.endswith(b"END:VCALENDAR\r\n")):
        raise ForeignFeedError("it cannot be read as a feed (it has no whole VCALENDAR)")
    try:
        return _read(icalendar.Calendar.from_ical(old), _EVENT.findall(old))
    except UNREADABLE as error:
        raise ForeignFeedError(f"it cannot be read as a feed ({error})") from error


def _read(calendar: icalendar.Component, blocks: list[bytes]) -> dict[str, Revision]:
    if str(calendar["prodid"]) != PRODUCT:
        raise ForeignFeedError(f"it was written by {calendar['prodid']}")
    memory = {HEAD: Revision(calendar, b"", 0, _stamp_of(calendar))}
    for item, written in zip(calendar.walk("VEVENT"), blocks, strict=True):
        uid = str(item["uid"])
        if item.errors:  # the library goes on after a value it cannot read
            raise ForeignFeedError(f"it cannot be read as a feed ({item.errors[0]})")
        if uid in memory:
            raise ForeignFeedError(f"two events in it share the UID {uid}")
        _weighty(item)  # fails where a day is missing or damaged
        memory[uid] = Revision(item, written, int(item.decoded("sequence")), _stamp_of(item))
    return memory


def _stamp_of(item: icalendar.Component) -> datetime:
    stamp = item.decoded("last-modified")
    if not isinstance(stamp, datetime) or stamp.tzinfo is None:
        raise ForeignFeedError("it cannot be read as a feed (a LAST-MODIFIED is not in UTC)")
    return stamp


def stamped(item: icalendar.Event, old: Revision | None, now: datetime) -> Revision:
    """An event with its revision; the old one where nothing has changed.

    Args:
        item: the event, without a revision.
        old: what was written of it last; None for a new one.
        now: time stamp of a change, aware, UTC; a clock set back sets no stamp back.
    """
    if old is None:
        return _revised(item, 0, now)
    still = _revised(item, old.sequence, old.stamp)
    # a newer library may write the same in another order
    if still.written == old.written or content_of(item) == content_of(old.item):
        return old
    sequence = old.sequence + (_weighty(item) != _weighty(old.item))
    return _revised(item, sequence, max(now, old.stamp))


def _revised(item: icalendar.Component, sequence: int, stamp: datetime) -> Revision:
    for name, value in zip(_REVISION_FIELDS, (sequence, stamp, stamp), strict=True):
        item.pop(name, None)
        item.add(name, value)
    return Revision(item, item.to_ical(), sequence, stamp)


def cancelled(old: Revision, now: datetime) -> Revision | None:
    """An event that has left the plan, marked as cancelled; None once its day has passed."""
    item = old.item
    if _day(item, "dtend") <= now.date():
        return None
    if _is_cancelled(item):
        return old
    item["summary"] = vText(shortened(CANCELLED + str(item["summary"])))
    item["status"], item["transp"] = vText("CANCELLED"), vText("TRANSPARENT")
    item.pop("related-to", None)
    item.subcomponents.clear()  # nobody is to be reminded of it
    return _revised(item, old.sequence + 1, max(now, old.stamp))


def lately_past(old: Revision, now: datetime) -> Revision | None:
    """An event whose day has lately gone by and that no plan speaks of any more, as it stood.

    Work that nobody logged is planned no longer once its days are over; it does not vanish
    from the phone before somebody has had time to say whether it was done.
    """
    n_days_past = (now.date() - _day(old.item, "dtend")).days
    return old if 0 <= n_days_past <= PAST_DAYS and not _is_cancelled(old.item) else None


def span_of(item: icalendar.Component) -> DaySpan | None:
    """The days of an event, both ends included; None where it is cancelled."""
    if _is_cancelled(item):
        return None
    first = _day(item, "dtstart")
    return DaySpan(first, max(first, _day(item, "dtend") - timedelta(days=1)))


def _is_cancelled(item: icalendar.Component) -> bool:
    return str(item.get("status", "")) == "CANCELLED"


def _day(item: icalendar.Component, name: str) -> date:
    when = item.decoded(name)
    return when.date() if isinstance(when, datetime) else when


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
