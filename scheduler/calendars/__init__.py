"""The season as calendars: events, their bytes (RFC 5545), and the memory of revisions."""

from scheduler.calendars.ended import ended_feeds, has_ended
from scheduler.calendars.feeds import feeds_of
from scheduler.calendars.ics import Feed, feed_bytes, uid_of, utc_midnight
from scheduler.calendars.items import Item, items_of, sense_of
from scheduler.calendars.revisions import HEAD, ForeignFeedError, Revision, remembered, span_of

__all__ = [
    "HEAD",
    "Feed",
    "ForeignFeedError",
    "Item",
    "Revision",
    "ended_feeds",
    "feed_bytes",
    "feeds_of",
    "has_ended",
    "items_of",
    "remembered",
    "sense_of",
    "span_of",
    "uid_of",
    "utc_midnight",
]
