"""How calendars reach their readers: a folder, private links, a small server, a push."""

from scheduler.ways_out.address import LOOPBACK, address_of
from scheduler.ways_out.folder import (
    LossError,
    Manner,
    Written,
    left_lines,
    published_in_folders,
    stamp_of,
    write_feeds,
    written_lines,
    written_record,
)
from scheduler.ways_out.page_files import ForeignPageError, write_owner_pages, write_page_files
from scheduler.ways_out.push import push_feed, report_lines
from scheduler.ways_out.share import ShareError, share_feeds, share_pages
from scheduler.ways_out.webdav import PushError, Server
