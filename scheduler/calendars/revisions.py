"""What the last written feed remembers: the only memory of revisions there is.

An event that did not change keeps its SEQUENCE and its time stamps; a moved day or a
changed STATUS raises SEQUENCE; a changed word moves only LAST-MODIFIED. DTSTAMP equals
LAST-MODIFIED, as RFC 5545 3.8.7.2 wants of a feed without METHOD.
"""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import icalendar
from icalendar import vText

from scheduler.calendars.folding import octets_of
from scheduler.terms import DaySpan
from scheduler.words import shortened

PRODUCT = "-//scheduler//food forest work calendar//EN"
HEAD = ""  # under this name the memory keeps the head of the feed
CANCELLED = "Cancelled: "
_EVENT = re.compile(rb"^BEGIN:VEVENT\r\n.*?^END:VEVENT\r\n", re.DOTALL | re.MULTILINE)
PAST_DAYS = 60  # how long what nobody logged stays to be seen
_REVISION_FIELDS = ("DTSTAMP", "LAST-MODIFIED", "SEQUENCE")


class ForeignFeedError(Exception):
    """A file in the feed's place that this program did not write, or that is damaged."""


@dataclass(frozen=True, slots=True)
class Revision:
    """What was written of one event, or of the head of the feed.

    Args:
        item: the event itself.
        written: its bytes as they stand in the feed; of the head, nothing.
        sequence: its SEQUENCE.
        stamp: when it last changed, UTC.
    """

    item: icalendar.Component
    written: bytes
    sequence: int
    stamp: datetime


@dataclass(frozen=True, slots=True)
class Stamped:
    """An event with its revision, ready to be written.

    Args:
        uid: its UID.
        written: its bytes.
        stamp: when it last changed, UTC.
    """

    uid: str
    written: bytes
    stamp: datetime


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
        return _read(icalendar.Calendar.from_ical(old), _EVENT.findall(old))
    except (ValueError, KeyError, IndexError, TypeError, AttributeError) as error:
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


def stamped(item: icalendar.Event, old: Revision | None, now: datetime) -> Stamped:
    """Give an event its revision.

    Args:
        item: the event, without one.
        old: what was written of it last; None for a new one.
        now: time stamp of a change, aware, UTC; a clock set back sets no stamp back.
    """
    uid, sequence, changed = str(item["uid"]), 0, now
    if old is not None:
        changed = max(now, old.stamp)
        _write_revision(item, old.sequence, old.stamp)
        if octets_of(item) == old.written or _same(item, old.item):
            return Stamped(uid, old.written, old.stamp)
        sequence = old.sequence + (_weighty(item) != _weighty(old.item))
    _write_revision(item, sequence, changed)
    return Stamped(uid, octets_of(item), changed)


def _same(item: icalendar.Component, old: icalendar.Component) -> bool:
    """Whether two say the same in another order, as a newer library may write it."""
    return content_of(item) == content_of(old)


def _write_revision(item: icalendar.Component, sequence: int, changed: datetime) -> None:
    for name in _REVISION_FIELDS:
        item.pop(name, None)
    item.add("sequence", sequence)
    item.add("dtstamp", changed)
    item.add("last-modified", changed)


def cancelled(uid: str, old: Revision, now: datetime) -> Stamped | None:
    """An event that has left the plan, marked as cancelled; None once its day has passed."""
    item = old.item
    if _day_after(item) <= now.astimezone(UTC).date():
        return None
    if str(item["status"]) == "CANCELLED":
        return Stamped(uid, old.written, old.stamp)
    title = shortened(CANCELLED + str(item["summary"]))
    for name in ("summary", "status", "transp", "related-to"):
        item.pop(name, None)
    item.add("summary", vText(title))
    item.add("status", "CANCELLED")
    item.add("transp", "TRANSPARENT")
    item.subcomponents.clear()  # nobody is to be reminded of it
    changed = max(now, old.stamp)
    _write_revision(item, old.sequence + 1, changed)
    return Stamped(uid, octets_of(item), changed)


def lately_past(uid: str, old: Revision, now: datetime) -> Stamped | None:
    """An event whose day has lately gone by and that no plan speaks of any more, as it stood.

    Work that nobody logged is planned no longer once its days are over; it does not vanish
    from the phone before somebody has had time to say whether it was done.
    """
    after = _day_after(old.item)
    today = now.astimezone(UTC).date()
    recent = after <= today <= after + timedelta(days=PAST_DAYS)
    if not recent or str(old.item["status"]) == "CANCELLED":
        return None
    return Stamped(uid, old.written, old.stamp)


def span_of(item: icalendar.Component) -> DaySpan | None:
    """The days of an event, both ends included; None where it is cancelled."""
    if str(item.get("status", "")) == "CANCELLED":
        return None
    first = item.decoded("dtstart")
    day = first.date() if isinstance(first, datetime) else first
    return DaySpan(day, max(day, _day_after(item) - timedelta(days=1)))


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
