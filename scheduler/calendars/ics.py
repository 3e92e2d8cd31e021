"""Events become an iCalendar feed (RFC 5545, RFC 7986), byte for byte the same each time.

The feed that was written last is the only memory; see ``revisions``. Work is all-day with
an exclusive end; what happens at a time is written in UTC, so no feed needs a time zone.
There is no calendar-level UID, because some readers then take the whole feed for one item,
and no METHOD, which is for messages and not for feeds.
"""

import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import icalendar
from icalendar import vDuration, vText

from scheduler.calendars.folding import octets_of
from scheduler.calendars.revisions import (
    HEAD,
    PRODUCT,
    ForeignFeedError,
    Revision,
    Stamped,
    cancelled,
    content_of,
    lately_past,
    remembered,
    stamped,
)
from scheduler.words import MAX_NAME, MAX_TITLE, clean, clean_category

__all__ = ["Event", "Feed", "Follower", "ForeignFeedError", "feed_bytes", "uid_of", "utc_midnight"]

REFRESH = timedelta(hours=6)  # a hint; many readers ask once a day whatever it says
MAX_ALARMS = 2
UNTITLED = "(no title)"  # where cleaning leaves nothing; a phone would show an empty bar
# Our own name space, drawn once at random; every UID follows from it.
NAMESPACE = uuid.UUID("5f1a3c9e-7d42-4f0b-9a55-0d0a6b7f2c11")


@dataclass(frozen=True, slots=True)
class Follower:
    """An event that may not start before another has ended.

    Args:
        key: of the event that follows.
        wait_days: days that must pass between; 0 for none.
    """

    key: str
    wait_days: int = 0


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a feed, all-day unless it has times.

    Args:
        key: stable name within the site, from plan and task, never from dates.
        title: under 60 characters; longer ones are cut.
        first: first civil day.
        last: last civil day; belongs to the event.
        description: plain text.
        categories: plain words.
        location: name of the plot; empty for none.
        busy: whether it takes the crew's time.
        tentative: whether it may still move for a reason already known.
        color: a CSS3 colour name; a hint, never the only carrier of meaning.
        times: begin and end, aware, where the time of day matters; written in UTC.
        alarms: when to remind, from the start of the first day by the reader's clock or
            from the begin; at most two.
        followers: what waits for it, RFC 9253; written only where they stand in the feed.

    Raises:
        ValueError: the end lies before the start, times have no zone, too many alarms.
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
    times: tuple[datetime, datetime] | None = None
    alarms: tuple[timedelta, ...] = ()
    followers: tuple[Follower, ...] = ()

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError(f"{self.key} ends on {self.last}, before it begins on {self.first}")
        if self.times is not None:
            begin, end = self.times
            # in UTC: of two times in one zone Python compares what the clocks show
            in_order = begin.tzinfo and end.tzinfo and begin.astimezone(UTC) < end.astimezone(UTC)
            if not in_order:
                raise ValueError(f"{self.key} needs two aware times in order, not {self.times}")
        if len(self.alarms) > MAX_ALARMS:
            raise ValueError(f"{self.key} has {len(self.alarms)} alarms, {MAX_ALARMS} at most")


@dataclass(frozen=True, slots=True)
class Feed:
    """A calendar to subscribe to.

    Args:
        site_id: the site's unchanging id.
        name: file name without ending, such as ``work`` or ``plot-low``.
        title: as phones show it.
        description: what it holds, and its cautions.
        events: in any order.
    """

    site_id: str
    name: str
    title: str
    description: str
    events: tuple[Event, ...]


def uid_of(site_id: str, key: str) -> str:
    """The UID of an event, from its site and key alone.

    >>> uid_of("hill", "2027/low.weed-lines/1") == uid_of("hill", "2027/low.weed-lines/1")
    True
    """
    return str(uuid.uuid5(uuid.uuid5(NAMESPACE, site_id), key))


def feed_bytes(
    feed: Feed, old: bytes | None, now: datetime, *, keep_cancelled: bool = False
) -> bytes:
    """Write a feed.

    Args:
        feed: what it holds.
        old: the feed that was written last, if any.
        now: time stamp of what has changed, aware, UTC.
        keep_cancelled: leave events that are no longer in the plan in the feed, marked as
            cancelled, until their day has passed.

    Returns:
        The bytes of the .ics file; equal to ``old`` where nothing has changed.

    Raises:
        ForeignFeedError: ``old`` is damaged or was not written by this program.
        ValueError: two events share a key.
    """
    memory = remembered(old)
    _refuse_other(feed, memory)
    uids = {event.key: uid_of(feed.site_id, event.key) for event in feed.events}
    if len(uids) != len(feed.events):
        raise ValueError(f"two events of the feed {feed.name} share a key")
    items = [
        stamped(_item(event, uids), memory.get(uids[event.key]), now)
        for event in sorted(feed.events, key=lambda event: (event.first, event.last, event.key))
    ]
    gone = {uid: old for uid, old in memory.items() if uid not in {HEAD, *uids.values()}}
    items += _kept(gone, now, keep_cancelled=keep_cancelled)
    calendar = _head(feed)
    calendar.add("last-modified", _feed_stamp(items, memory, calendar, now))
    head, end, _ = octets_of(calendar).partition(b"END:VCALENDAR\r\n")
    return head + b"".join(item.written for item in items) + end


def _refuse_other(feed: Feed, memory: Mapping[str, Revision]) -> None:
    """Nobody's phone is to see another holding under an address that it has subscribed to."""
    there = memory[HEAD].item.get("x-wr-relcalid") if HEAD in memory else None
    if there is not None and str(there) != _calendar_id(feed):
        raise ForeignFeedError("it is the calendar of another holding; give another folder")


def _calendar_id(feed: Feed) -> str:
    """Names the calendar as a whole; a UID there makes some readers take it for one item."""
    return uid_of(feed.site_id, f"feed/{feed.name}")


def _head(feed: Feed) -> icalendar.Calendar:
    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("x-wr-relcalid", vText(_calendar_id(feed)))
    for name in ("name", "x-wr-calname"):
        calendar.add(name, vText(clean(feed.title, MAX_NAME, lines=False)))
    for name in ("description", "x-wr-caldesc"):
        calendar.add(name, vText(clean(feed.description)))
    # the library leaves out the parameter that RFC 7986 5.7 requires
    calendar.add("refresh-interval", vDuration(REFRESH), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", vDuration(REFRESH))
    return calendar


def _item(event: Event, uids: Mapping[str, str]) -> icalendar.Event:
    item = icalendar.Event()
    title = clean(event.title, MAX_TITLE, lines=False) or UNTITLED
    item.add("uid", uids[event.key])
    item.add("summary", vText(title))
    for name, when in zip(("dtstart", "dtend"), _from_to(event), strict=True):
        item.add(name, when)
    item.add("description", vText(clean(event.description)))
    item.add("categories", [clean_category(name) for name in event.categories])
    item.add("status", "TENTATIVE" if event.tentative else "CONFIRMED")
    item.add("transp", "OPAQUE" if event.busy else "TRANSPARENT")
    if event.location:
        item.add("location", vText(clean(event.location, MAX_NAME, lines=False)))
    if event.color:
        item.add("color", vText(clean(event.color, MAX_TITLE, lines=False)))
    for follower in event.followers:
        if follower.key in uids:
            _add_follower(item, uids[follower.key], follower.wait_days)
    for offset in event.alarms:
        item.add_component(_alarm(title, offset))
    return item


def _from_to(event: Event) -> tuple[date, date]:
    """DTSTART and DTEND: the one place where a closed span of days gets its exclusive end."""
    if event.times is None:
        return event.first, event.last + timedelta(days=1)
    begin, end = (when.astimezone(UTC).replace(microsecond=0) for when in event.times)
    return begin, end


def _add_follower(item: icalendar.Event, uid: str, wait_days: int) -> None:
    # in the event that comes first, pointing at the one that waits (RFC 9253 section 4)
    told = {"RELTYPE": "FINISHTOSTART"} | ({"GAP": f"P{wait_days}D"} if wait_days else {})
    item.add("related-to", vText(uid), parameters=told)


def _alarm(title: str, offset: timedelta) -> icalendar.Alarm:
    alarm = icalendar.Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", vText(title))  # RFC 5545 3.6.6 wants one of DISPLAY
    alarm.add("trigger", offset)
    return alarm


def _kept(
    gone: Mapping[str, Revision], now: datetime, *, keep_cancelled: bool
) -> Iterator[Stamped]:
    """What stays of events that no plan speaks of any more."""
    for uid, old in sorted(gone.items()):
        item = lately_past(uid, old, now)
        if item is None and keep_cancelled:
            item = cancelled(uid, old, now)
        if item is not None:
            yield item


def _feed_stamp(
    items: Sequence[Stamped],
    memory: Mapping[str, Revision],
    calendar: icalendar.Calendar,
    now: datetime,
) -> datetime:
    """When the feed last changed: now where an event has gone, else its youngest event."""
    head = memory.get(HEAD)
    gone = set(memory) - {HEAD} - {item.uid for item in items}
    if head is None:
        return now
    if gone or content_of(head.item) != content_of(calendar):
        return max(now, head.stamp)
    return max([head.stamp, *(item.stamp for item in items)])


def utc_midnight(day: date) -> datetime:
    """The stamp of a feed that is written as of a given day."""
    return datetime(day.year, day.month, day.day, tzinfo=UTC)
