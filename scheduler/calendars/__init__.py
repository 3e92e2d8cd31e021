"""The season as calendars: events, their bytes (RFC 5545), and the memory of revisions."""

from scheduler.calendars.feeds import feeds_of, person_feeds
from scheduler.calendars.ics import Feed, feed_bytes, uid_of
from scheduler.calendars.items import items_of, sense_of
from scheduler.calendars.revisions import HEAD, ForeignFeedError, remembered, span_of
