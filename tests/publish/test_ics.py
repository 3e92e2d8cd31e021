"""Feeds: valid to three judges, steady between writes, safe against any text."""

import re
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st
from ical.calendar_stream import IcsCalendarStream

from scheduler.publish.ics import Event, Feed, ForeignFeedError, feed_bytes, uid_of
from scheduler.publish.text import clean
from tests.publish.lint import faults_of

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


def test_a_dropped_event_leaves_the_feed_and_moves_its_stamp() -> None:
    old = feed_bytes(feed(event(), event("gone")), None, THEN)
    new = feed_bytes(feed(event()), old, LATER)
    assert len(field(new, "UID")) == 1
    assert field(new, "LAST-MODIFIED")[0] == "20261128T080000Z"


def test_the_order_of_events_does_not_matter() -> None:
    one = feed_bytes(feed(event("a"), event("b")), None, THEN)
    assert one == feed_bytes(feed(event("b"), event("a")), None, THEN)


@pytest.mark.parametrize("old", [b"garbage", b"BEGIN:VCALENDAR\r\n", b"\xff\xfe"])
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


def test_hostile_text_cannot_forge_a_line() -> None:
    nasty = event(
        title=HOSTILE,
        description=HOSTILE * 50,
        categories=(HOSTILE,),
        location=HOSTILE,
        color=clean(HOSTILE, 20, lines=False),
    )
    content = feed_bytes(Feed("hill", "work", HOSTILE, HOSTILE, (nasty,)), None, THEN)
    assert [f for f in faults_of(content) if "COLOR" not in f] == []
    assert field(content, "UID") == [uid_of("hill", nasty.key)]


def test_hostile_text_cannot_forge_a_line_without_assertions_either() -> None:
    """The library guards some properties with assert, which python -O takes away."""
    script = (
        "from tests.publish import test_ics as t;"
        "t.test_hostile_text_cannot_forge_a_line();"
        "from tests.publish.lint import faults_of;"
        "n = t.event(title=t.HOSTILE);"
        "c = t.feed_bytes(t.Feed('h', 'work', t.HOSTILE, t.HOSTILE, (n,)), None, t.THEN);"
        "import sys; sys.exit(1 if faults_of(c) else 0)"
    )
    subprocess.run([sys.executable, "-O", "-W", "ignore", "-c", script], check=True)


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=300), st.text(max_size=300))
def test_any_text_gives_a_clean_feed(title: str, description: str) -> None:
    content = feed_bytes(feed(event(title=title, description=description)), None, THEN)
    assert faults_of(content) == []
    assert feed_bytes(feed(event(title=title, description=description)), content, LATER) == content


MUTANTS = [
    (b"\r\n", b"\n", "bare CR or LF"),
    (b"\r\nVERSION:2.0", b"", "VERSION"),
    (b"\r\nPRODID:", b"\r\nX-PRODID:", "PRODID"),
    (b"CALSCALE:GREGORIAN", b"METHOD:PUBLISH", "METHOD"),
    (b"CALSCALE:GREGORIAN", b"UID:whole", "calendar-level UID"),
    (b"REFRESH-INTERVAL;VALUE=DURATION:", b"REFRESH-INTERVAL:", "REFRESH-INTERVAL"),
    (b"\r\nUID:", b"\r\nX-UID:", "UID is missing"),
    (b"\r\nDTSTAMP:", b"\r\nX-STAMP:", "DTSTAMP is missing"),
    (b"DTSTART;VALUE=DATE:20270227", b"DTSTART:20270227T000000Z", "all-day"),
    (b"DTEND;VALUE=DATE:20270302", b"DTEND;VALUE=DATE:20270227", "not later"),
    (b"STATUS:CONFIRMED", b"STATUS:MAYBE", "STATUS"),
    (b"COLOR:seagreen", b"COLOR:#00aa00", "COLOR"),
    (b"Low: Weed", b"Low\x07 Weed", "control"),
    (b"Low: Weed", b"Low, Weed", "comma"),
    (b"Low: Weed", b"Low" + b"x" * 80, "75 octets"),
    (b"Low: Weed", b"Low\xe9", "UTF-8"),
    (b"\r\nSUMMARY:", b"\r\nno colon here\r\nSUMMARY:", "no content line"),
    (b"125T080000Z\r\nLOCATION", b"125T090000Z\r\nLOCATION", "LAST-MODIFIED"),
    (b"END:VCALENDAR\r\n", b"", "VCALENDAR"),
]  # fmt: skip


@pytest.mark.parametrize(("good", "bad", "word"), MUTANTS)
def test_the_lint_sees_each_fault(good: bytes, bad: bytes, word: str) -> None:
    content = feed_bytes(feed(event()), None, THEN)
    assert good in content
    assert any(word in fault for fault in faults_of(content.replace(good, bad)))


def test_the_lint_sees_two_events_of_one_uid() -> None:
    content = feed_bytes(feed(event("a"), event("b")), None, THEN)
    twice = content.replace(uid_of("hill", "a").encode(), uid_of("hill", "b").encode())
    assert any("share" in fault for fault in faults_of(twice))
