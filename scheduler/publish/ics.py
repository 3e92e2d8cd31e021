"""Events become an iCalendar feed (RFC 5545, RFC 7986), byte for byte the same each time.

The feed that was written last is the only memory: an event that did not change keeps its
SEQUENCE and its time stamps, a moved day raises SEQUENCE, a changed word moves only
LAST-MODIFIED. DTSTAMP equals LAST-MODIFIED, as RFC 5545 3.8.7.2 wants of a feed without
METHOD. Work is all-day with an exclusive end; there is no calendar-level UID, because some
readers then take the whole feed for one item.
"""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import icalendar
from icalendar import vDuration, vText

from scheduler.publish.text import MAX_TITLE, clean, clean_category

PRODUCT = "-//scheduler//food forest work calendar//EN"
REFRESH = timedelta(hours=6)  # a hint; many readers ask once a day whatever it says
# Our own name space, drawn once at random; every UID follows from it.
NAMESPACE = uuid.UUID("5f1a3c9e-7d42-4f0b-9a55-0d0a6b7f2c11")


class ForeignFeedError(Exception):
    """A file in the feed's place that this program did not write, or that is damaged."""


@dataclass(frozen=True, slots=True)
class Event:
    """One all-day entry of a feed.

    Args:
        key: stable name within the site, from plan and task, never from dates.
        title: under 60 characters where the names allow it.
        first: first civil day.
        last: last civil day; belongs to the event.
        description: plain text.
        categories: plain words.
        location: name of the plot; empty for none.
        busy: whether it takes the crew's time.
        tentative: whether it may still move for a reason already known.
        color: a CSS3 colour name; a hint, never the only carrier of meaning.
    """

    key: str
    title: str
    first: date
    last: date
    description: str
    categories: tuple[str, ...]
    location: str = ""
    busy: bool = False
    tentative: bool = False
    color: str = ""


@dataclass(frozen=True, slots=True)
class Feed:
    """A calendar to subscribe to.

    Args:
        site_id: the site's unchanging id.
        name: file name without ending: ``work``, ``frost`` or ``sky``.
        title: as phones show it.
        description: what it holds, and its cautions.
        events: in any order.
    """

    site_id: str
    name: str
    title: str
    description: str
    events: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class _Revision:
    content: tuple[str, ...]
    days: tuple[str, ...]
    sequence: int
    stamp: datetime


def uid_of(site_id: str, key: str) -> str:
    """The UID of an event, from its site and key alone.

    >>> uid_of("hill", "2027/low.weed-lines/1") == uid_of("hill", "2027/low.weed-lines/1")
    True
    """
    return str(uuid.uuid5(uuid.uuid5(NAMESPACE, site_id), key))


def feed_bytes(feed: Feed, old: bytes | None, now: datetime) -> bytes:
    """Write a feed.

    Args:
        feed: what it holds.
        old: the feed that was written last, if any.
        now: time stamp of what has changed, aware, UTC.

    Returns:
        The bytes of the .ics file; equal to ``old`` where nothing has changed.

    Raises:
        ForeignFeedError: ``old`` is damaged or was not written by this program.
    """
    before = _revisions(old) if old else {}
    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    for name in ("name", "x-wr-calname"):
        calendar.add(name, vText(clean(feed.title, MAX_TITLE, lines=False)))
    for name in ("description", "x-wr-caldesc"):
        calendar.add(name, vText(clean(feed.description)))
    # the library leaves out the parameter that RFC 7986 5.7 requires
    calendar.add("refresh-interval", vDuration(REFRESH), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", vDuration(REFRESH))
    stamps = [now] if not before else []
    for event in sorted(feed.events, key=lambda event: (event.first, event.last, event.key)):
        item = _item(event, feed.site_id)
        stamps.append(_stamp(item, before, now))
        calendar.add_component(item)
    calendar.add("last-modified", _feed_stamp(stamps, before, calendar, now))
    return bytes(calendar.to_ical())


def _item(event: Event, site_id: str) -> icalendar.Event:
    item = icalendar.Event()
    item.add("uid", uid_of(site_id, event.key))
    item.add("summary", vText(clean(event.title, MAX_TITLE, lines=False)))
    item.add("dtstart", event.first)
    # the one line where a closed span of days becomes the exclusive end of iCalendar
    item.add("dtend", event.last + timedelta(days=1))
    item.add("description", vText(clean(event.description)))
    item.add("categories", [clean_category(word) for word in event.categories])
    item.add("status", "TENTATIVE" if event.tentative else "CONFIRMED")
    item.add("transp", "OPAQUE" if event.busy else "TRANSPARENT")
    if event.location:
        item.add("location", vText(clean(event.location, MAX_TITLE, lines=False)))
    if event.color:
        item.add("color", vText(event.color))
    return item


def _stamp(item: icalendar.Event, before: Mapping[str, _Revision], now: datetime) -> datetime:
    """Give an item its revision, and return when it last changed."""
    old = before.get(str(item["uid"]))
    sequence, stamp = 0, now
    if old is not None:
        moved = old.days != _days(item)
        sequence = old.sequence + moved
        stamp = old.stamp if not moved and old.content == _content(item) else now
    item.add("sequence", sequence)
    item.add("dtstamp", stamp)
    item.add("last-modified", stamp)
    return stamp


def _feed_stamp(
    stamps: Sequence[datetime],
    before: Mapping[str, _Revision],
    calendar: icalendar.Calendar,
    now: datetime,
) -> datetime:
    """When the feed last changed: now where an event has gone, else its youngest event."""
    gone = set(before) - {str(item["uid"]) for item in calendar.subcomponents}
    head = before.get("", None)
    if gone - {""} or (head is not None and head.content != _content(calendar)):
        return now
    return max([*stamps, *([head.stamp] if head else [])], default=now)


def _revisions(old: bytes) -> dict[str, _Revision]:
    """What the last written feed says of each UID; the head of the feed under ``""``."""
    try:
        calendar = icalendar.Calendar.from_ical(old)
        if str(calendar["prodid"]) != PRODUCT:
            raise ForeignFeedError(f"it was written by {calendar['prodid']}")
        head = _Revision(_content(calendar), (), 0, calendar.decoded("last-modified"))
        return {"": head} | {
            str(item["uid"]): _Revision(
                _content(item), _days(item), int(item.decoded("sequence")), item.decoded("dtstamp")
            )
            for item in calendar.events
        }
    except (ValueError, KeyError, IndexError, TypeError, AttributeError) as error:
        raise ForeignFeedError(f"it cannot be read as a feed ({error})") from error


_REVISION_FIELDS = ("DTSTAMP", "LAST-MODIFIED", "SEQUENCE")


def _content(item: icalendar.Component) -> tuple[str, ...]:
    """Everything an item says, its revision aside."""
    fields = icalendar.Component()
    fields.update(item)
    for name in _REVISION_FIELDS:
        fields.pop(name, None)
    return tuple(str(line) for line in fields.content_lines())


def _days(item: icalendar.Event) -> tuple[str, ...]:
    return tuple(str(item.decoded(name)) for name in ("dtstart", "dtend"))


def utc_midnight(day: date) -> datetime:
    """The stamp of a feed that is written as of a given day."""
    return datetime(day.year, day.month, day.day, tzinfo=UTC)
