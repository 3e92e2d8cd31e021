"""Feeds: valid to three judges, steady between writes, safe against any text."""

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import vobject
from ical.calendar_stream import IcsCalendarStream

from scheduler.calendars import Feed, ForeignFeedError, feed_bytes, uid_of
from scheduler.calendars.ics import Event
from tests.calendars.lint import faults_of

THEN = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
LATER = THEN + timedelta(days=3)


def event(key: str = "2027/low.weed-lines/1", **changes: Any) -> Event:
    told: dict[str, Any] = {
        "key": key,
        "title": "Low: Weed the tree lines",
        "first": date(2027, 2, 27),
        "last": date(2027, 3, 1),
        "description": "Why this day: first, second; third.\n\nHow: with a hoe.",
        "categories": ("release",),
        "location": "Low (hollow)",
        "busy": True,
        "color": "seagreen",
    }
    return Event(**(told | changes))


def feed(*events: Event) -> Feed:
    return Feed("hill", "work", "Hill: work", "A feed of tests.", events)


def field(content: bytes, name: str) -> list[str]:
    lines = content.replace(b"\r\n ", b"").decode().split("\r\n")
    return [line.split(":", 1)[1] for line in lines if re.match(rf"{name}[;:]", line)]


def test_a_feed_is_clean_to_the_lint_and_to_two_independent_parsers() -> None:
    content = feed_bytes(feed(event(), event("other", last=date(2027, 2, 27))), None, THEN)
    assert faults_of(content) == []
    parsed = IcsCalendarStream.calendar_from_ics(content.decode())
    assert sorted((e.dtstart, e.dtend) for e in parsed.events) == [
        (date(2027, 2, 27), date(2027, 2, 28)),
        (date(2027, 2, 27), date(2027, 3, 2)),
    ]
    other = vobject.readOne(content.decode())
    other.validate()
    assert {e.summary.value for e in other.vevent_list} == {"Low: Weed the tree lines"}


def test_the_end_is_exclusive_and_the_days_are_dates() -> None:
    content = feed_bytes(feed(event()), None, THEN)
    assert b"DTSTART;VALUE=DATE:20270227\r\n" in content
    assert b"DTEND;VALUE=DATE:20270302\r\n" in content


def test_an_unchanged_plan_gives_identical_bytes_at_any_later_time() -> None:
    content = feed_bytes(feed(event()), None, THEN)
    assert feed_bytes(feed(event()), content, LATER) == content


def test_a_moved_day_raises_sequence_and_keeps_the_uid() -> None:
    old = feed_bytes(feed(event(), event("still")), None, THEN)
    moved = event(first=date(2027, 3, 1), last=date(2027, 3, 2))
    new = feed_bytes(feed(moved, event("still")), old, LATER)
    assert sorted(field(old, "UID")) == sorted(field(new, "UID"))
    assert sorted(field(new, "SEQUENCE")) == ["0", "1"]
    assert sorted(field(new, "DTSTAMP")) == ["20261125T080000Z", "20261128T080000Z"]


def test_a_changed_word_moves_only_the_time_stamps() -> None:
    old = feed_bytes(feed(event()), None, THEN)
    new = feed_bytes(feed(event(description="Other words.")), old, LATER)
    assert field(new, "SEQUENCE") == ["0"]
    assert field(new, "DTSTAMP") == ["20261128T080000Z"]


def test_what_nobody_logged_stays_for_some_weeks_after_its_day() -> None:
    old = feed_bytes(feed(event(), event("past")), None, THEN)
    at = {
        day: field(feed_bytes(feed(event()), old, datetime(2027, *day, tzinfo=UTC)), "UID")
        for day in ((3, 1), (3, 2), (4, 30), (5, 2))
    }
    assert [len(uids) for uids in at.values()] == [1, 2, 2, 1]


def test_a_dropped_event_leaves_the_feed_and_moves_its_stamp() -> None:
    old = feed_bytes(feed(event(), event("gone")), None, THEN)
    new = feed_bytes(feed(event()), old, LATER)
    assert len(field(new, "UID")) == 1
    assert field(new, "LAST-MODIFIED")[0] == "20261128T080000Z"


def test_the_order_of_events_does_not_matter() -> None:
    one = feed_bytes(feed(event("a"), event("b")), None, THEN)
    assert one == feed_bytes(feed(event("b"), event("a")), None, THEN)


@pytest.mark.parametrize("old", [b"", b"garbage", b"BEGIN:VCALENDAR\r\n", b"\xff\xfe"])
def test_a_damaged_file_is_refused(old: bytes) -> None:
    with pytest.raises(ForeignFeedError):
        feed_bytes(feed(event()), old, THEN)


def test_a_feed_of_another_program_is_refused() -> None:
    foreign = feed_bytes(feed(event()), None, THEN).replace(b"//scheduler//", b"//elsewhere//")
    with pytest.raises(ForeignFeedError, match="elsewhere"):
        feed_bytes(feed(event()), foreign, THEN)


def test_uids_come_from_site_and_key_alone() -> None:
    assert uid_of("hill", "a") != uid_of("dale", "a")
    assert uid_of("hill", "a") == uid_of("hill", "a")


HOSTILE = (
    "a\r\nBEGIN:VEVENT\r\nUID:forged\nX:1\x00\x07\x1b\x7f\x85\u2028\u202e\ufeff\ud800"
    "\\N \\n ; , : \" 'end  "
)


ALL_OF_IT: dict[str, Any] = {
    "alarms": (timedelta(hours=-6), timedelta(hours=7)),
    "followers": (("next", 14), ("in another feed", 0)),
}


def test_a_relation_stands_in_what_comes_first_and_points_at_what_waits() -> None:
    content = feed_bytes(feed(event(**ALL_OF_IT), event("next")), None, THEN)
    lines = content.replace(b"\r\n ", b"").decode().split("\r\n")
    related = [line for line in lines if line.startswith("RELATED-TO")]
    assert len(related) == 1, "what stands in another feed is not pointed at"
    assert related[0].endswith(":" + uid_of("hill", "next"))
    assert "GAP=P14D" in related[0]
    first = lines[: lines.index("END:VEVENT")]
    assert related[0] in first
    assert f"UID:{uid_of('hill', '2027/low.weed-lines/1')}" in first


def test_times_are_written_in_utc_and_days_never_are() -> None:
    zone = ZoneInfo("Australia/Lord_Howe")
    evening = (datetime(2027, 4, 4, 1, 45, tzinfo=zone), datetime(2027, 4, 4, 3, 0, tzinfo=zone))
    content = feed_bytes(feed(event(times=evening)), None, THEN)
    assert field(content, "DTSTART") == ["20270403T144500Z"]  # tzdata: UTC+11 until 02:00
    assert field(content, "DTEND") == ["20270403T163000Z"]  # and UTC+10:30 after
    assert faults_of(content) == []


def test_two_events_of_one_key_are_refused() -> None:
    with pytest.raises(AssertionError, match="share a key"):
        feed_bytes(feed(event(), event()), None, THEN)


def test_cancelled_work_is_kept_only_if_asked_and_only_until_its_day() -> None:
    old = feed_bytes(feed(event(**ALL_OF_IT), event("next")), None, THEN)
    kept = feed_bytes(feed(event("next")), old, LATER, keep_cancelled=True)
    assert faults_of(kept) == []
    assert "Cancelled: Low: Weed the tree lines" in field(kept, "SUMMARY")
    assert sorted(field(kept, "SEQUENCE")) == ["0", "1"]
    assert b"VALARM" not in kept
    assert b"RELATED-TO" not in kept
    again = LATER + timedelta(days=5)
    assert feed_bytes(feed(event("next")), kept, again, keep_cancelled=True) == kept
    on_its_last_day = datetime(2027, 3, 1, 23, tzinfo=UTC)
    assert feed_bytes(feed(event("next")), kept, on_its_last_day, keep_cancelled=True) == kept
    passed = feed_bytes(
        feed(event("next")), kept, on_its_last_day + timedelta(hours=1), keep_cancelled=True
    )
    assert len(field(passed, "UID")) == 1
    assert len(field(feed_bytes(feed(event("next")), kept, again), "UID")) == 1


def test_cancelled_work_that_comes_back_counts_as_a_heavy_change() -> None:
    old = feed_bytes(feed(event(), event("next")), None, THEN)
    kept = feed_bytes(feed(event("next")), old, LATER, keep_cancelled=True)
    back = feed_bytes(feed(event(), event("next")), kept, LATER)
    assert sorted(field(back, "SEQUENCE")) == ["0", "2"]
    assert field(back, "STATUS") == ["CONFIRMED", "CONFIRMED"]


@pytest.mark.parametrize(
    "damage",
    [
        (b"SEQUENCE:0", b"SEQUENCE:no"),
        (b"DTSTART;VALUE=DATE:20270227", b"DTSTART;VALUE=DATE:2027"),
        (b"\r\nUID:", b"\r\nX-UID:"),
        (b"END:VCALENDAR\r\n", b""),
        (b"END:VCALENDAR\r\n", b"END:VCALENDAR\r\nmore"),
        (b"LAST-MODIFIED:20261125T080000Z", b"LAST-MODIFIED:20261125"),
    ],
)
def test_a_feed_with_one_broken_line_is_refused(damage: tuple[bytes, bytes]) -> None:
    content = feed_bytes(feed(event()), None, THEN)
    with pytest.raises(ForeignFeedError):
        feed_bytes(feed(event()), content.replace(*damage), LATER)


def test_a_feed_cut_off_anywhere_is_refused() -> None:
    content = feed_bytes(feed(event(), event("next")), None, THEN)
    for end in range(1, len(content), 7):
        with pytest.raises(ForeignFeedError):
            feed_bytes(feed(event()), content[:end], LATER)


def test_a_feed_whose_lines_stand_in_another_order_has_not_changed() -> None:
    """A newer library may sort otherwise; readers must not hear of changes for that."""
    content = feed_bytes(feed(event()), None, THEN)
    two = b"STATUS:CONFIRMED\r\nTRANSP:OPAQUE\r\n"
    other = content.replace(two, b"TRANSP:OPAQUE\r\nSTATUS:CONFIRMED\r\n")
    assert other != content
    assert feed_bytes(feed(event()), other, LATER) == other
