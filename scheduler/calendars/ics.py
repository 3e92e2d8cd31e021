"""Events become an iCalendar feed (RFC 5545, RFC 7986), byte for byte the same each time.

The feed that was written last is the only memory; see ``revisions``. Work is all-day with
an exclusive end; what happens at a time is written in UTC, so no feed needs a time zone.
There is no calendar-level UID, because some readers then take the whole feed for one item,
and no METHOD, which is for messages and not for feeds.
"""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import icalendar
from icalendar import vDuration, vText

from scheduler.calendars.revisions import (
    HEAD,
    PRODUCT,
    ForeignFeedError,
    Revision,
    cancelled,
    content_of,
    lately_past,
    remembered,
    stamped,
)
from scheduler.words import MAX_NAME, MAX_TITLE, clean, clean_category

REFRESH = timedelta(hours=6)  # a hint; many readers ask once a day whatever it says
UNTITLED = "(no title)"  # where cleaning leaves nothing; a phone would show an empty bar
# Our own name space, drawn once at random; every UID follows from it.
NAMESPACE = uuid.UUID("5f1a3c9e-7d42-4f0b-9a55-0d0a6b7f2c11")


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a feed, all-day unless it has times."""

    key: str  # stable name within the site, from plan and task, never from dates
    title: str  # under 60 characters; longer ones are cut
    first: date  # first civil day
    last: date  # last civil day; belongs to the event
    description: str  # plain text
    categories: tuple[str, ...]  # plain words
    location: str = ""  # name of the plot; empty for none
    plot_id: str = ""  # whose calendar it belongs to as well; not written
    busy: bool = False  # whether it takes the crew's time
    color: str = ""  # a CSS3 colour name; a hint, never the only carrier of meaning
    # begin and end, aware, where the time of day matters; written in UTC
    times: tuple[datetime, datetime] | None = None
    # when to remind, from the start of the first day by the reader's clock or from the begin
    alarms: tuple[timedelta, ...] = ()
    # keys of what waits for it, and the days that must pass between (RFC 9253); written only where
    # they stand in the feed
    followers: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Feed:
    """A calendar to subscribe to."""

    site_id: str  # the site's unchanging id
    name: str  # file name without ending, such as ``work`` or ``plot-low``
    title: str  # as phones show it
    description: str  # what it holds, and its cautions
    events: tuple[Event, ...]  # in any order
    # it says what the calendar of all work says, of the one person or plot that there is
    twin: bool = False


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
    """
    memory = remembered(old) if old is not None else {}
    head, calendar = memory.pop(HEAD, None), _head(feed)
    name = str(calendar["x-wr-relcalid"])
    # nobody's phone is to see another holding under an address that it has subscribed to
    if head is not None and str(head.item.get("x-wr-relcalid", name)) != name:
        raise ForeignFeedError("it is the calendar of another holding; give another folder")
    revisions = _revisions(feed, memory, now, keep_cancelled=keep_cancelled)
    if head is None:
        changed = now
    elif memory.keys() - revisions.keys() or content_of(head.item) != content_of(calendar):
        changed = max(now, head.stamp)
    else:
        changed = max([head.stamp, *(revision.stamp for revision in revisions.values())])
    calendar.add("last-modified", changed)
    begin, end, _ = bytes(calendar.to_ical()).partition(b"END:VCALENDAR\r\n")
    return b"".join((begin, *(revision.written for revision in revisions.values()), end))


def _revisions(
    feed: Feed, memory: Mapping[str, Revision], now: datetime, *, keep_cancelled: bool
) -> dict[str, Revision]:
    """The events of a feed by UID, and after them what stays though no plan speaks of it."""
    uids = {event.key: uid_of(feed.site_id, event.key) for event in feed.events}
    assert len(uids) == len(feed.events), f"two events of the feed {feed.name} share a key"
    revisions = {
        uids[event.key]: stamped(_item(event, uids), memory.get(uids[event.key]), now)
        for event in sorted(feed.events, key=lambda event: (event.first, event.last, event.key))
    }
    for uid in sorted(memory.keys() - revisions.keys()):
        stays = lately_past(memory[uid], now)
        if stays is None and keep_cancelled:
            stays = cancelled(memory[uid], now)
        if stays is not None:
            revisions[uid] = stays
    return revisions


def _head(feed: Feed) -> icalendar.Calendar:
    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    # names the calendar as a whole; a UID there makes some readers take it for one item
    calendar.add("x-wr-relcalid", vText(uid_of(feed.site_id, f"feed/{feed.name}")))
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
    # the one place where a closed span of days gets its exclusive end
    begin, end = event.first, event.last + timedelta(days=1)
    if event.times is not None:
        begin, end = (when.astimezone(UTC).replace(microsecond=0) for when in event.times)
    item.add("dtstart", begin)
    item.add("dtend", end)
    item.add("description", vText(clean(event.description)))
    item.add("categories", [clean_category(name) for name in event.categories])
    item.add("status", "CONFIRMED")
    item.add("transp", "OPAQUE" if event.busy else "TRANSPARENT")
    if event.location:
        item.add("location", vText(clean(event.location, MAX_NAME, lines=False)))
    if event.color:
        item.add("color", vText(clean(event.color, MAX_TITLE, lines=False)))
    for key, wait_days in event.followers:
        if key in uids:
            # in the event that comes first, pointing at the one that waits (RFC 9253 section 4)
            gap = {"GAP": f"P{wait_days}D"} if wait_days else {}
            relation = {"RELTYPE": "FINISHTOSTART"} | gap
            item.add("related-to", vText(uids[key]), parameters=relation)
    for offset in event.alarms:
        alarm = icalendar.Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", vText(title))  # RFC 5545 3.6.6 wants one of DISPLAY
        alarm.add("trigger", offset)
        item.add_component(alarm)
    return item
