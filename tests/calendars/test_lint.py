"""The lint sees each fault it has a rule for: a mutant of a clean feed for each."""

import re

import pytest

from scheduler.calendars import feed_bytes, uid_of
from tests.calendars.lint import ALARM_NEEDS, HEAD_NEEDS, MAX_TEXT, NEEDS, RULES, faults_of
from tests.calendars.test_ics import ALL_OF_IT, LATER, THEN, event, feed

UID, NEXT = uid_of("hill", "2027/low.weed-lines/1").encode(), uid_of("hill", "next").encode()
STAMP = b"20261125T080000Z"


def clean_feed() -> bytes:
    """Everything a feed can hold; folded lines are put together where no mutant needs them."""
    return feed_bytes(feed(event(**ALL_OF_IT), event("next")), None, THEN)


MUTANTS = [
    ("line-end", b"END:VCALENDAR\r\n", b"END:VCALENDAR"),
    ("bare-break", b"\r\n", b"\n"),
    ("bare-break", b"hoe.", b"hoe.\rX"),
    ("long-line", b"Low: Weed", b"Low" + b"x" * 80),
    ("content-line", b"\r\nSUMMARY:", b"\r\nno colon here\r\nSUMMARY:"),
    ("content-line", b"\r\nSUMMARY:", b"\r\n\r\nSUMMARY:"),
    ("utf-8", b"Low: Weed", b"Low\xe9"),
    ("utf-8", b"Low: Weed", b"Low\xc3\r\n \xa9"),
    ("control", b"Low: Weed", b"Low\x07 Weed"),
    ("control", b"Low: Weed", b"Low\x7f Weed"),
    ("unseen", b"Low: Weed", b"Low: \xe2\x80\xaeWeed"),
    ("unseen", b"Low: Weed", b"Low: \xc2\x85Weed"),
    ("unseen", b"BEGIN:VCALENDAR", b"\xef\xbb\xbfBEGIN:VCALENDAR"),
    ("nesting", b"END:VCALENDAR\r\n", b""),
    ("nesting", b"END:VALARM\r\n", b""),
    ("nesting", b"BEGIN:VEVENT", b"BEGIN:VTODO"),
    ("nesting", b"END:VCALENDAR\r\n", b"END:VCALENDAR\r\nX:1\r\n"),
    ("nesting", b"BEGIN:VCALENDAR\r\n", b"X:1\r\nBEGIN:VCALENDAR\r\n"),
    ("nesting", b"END:VCALENDAR\r\n", b"END:VCALENDAR\r\n" * 2),
    ("version", b"VERSION:2.0", b"VERSION:1.0"),
    ("method", b"CALSCALE:GREGORIAN", b"METHOD:PUBLISH"),
    ("calendar-uid", b"CALSCALE:GREGORIAN", b"UID:whole"),
    ("twins", b"X-WR-CALNAME:Hill", b"X-WR-CALNAME:Dale"),
    ("twins", b"X-PUBLISHED-TTL:PT6H", b"X-PUBLISHED-TTL:PT7H"),
    ("twins", b"X-WR-CALDESC:A feed", b"X-WR-CALDESC:Feed"),
    ("refresh", b"REFRESH-INTERVAL;VALUE=DURATION:", b"REFRESH-INTERVAL:"),
    ("refresh", b"DURATION:PT6H", b"DURATION:PT0H"),
    ("refresh", b"DURATION:PT6H", b"DURATION:-PT6H"),
    ("property", b"CALSCALE:GREGORIAN", b"SOURCE:https://example.org/x.ics"),
    ("property", b"STATUS:CONFIRMED", b"ORGANIZER:mailto:x@example.org"),
    ("property", b"STATUS:CONFIRMED", b"ATTACH:https://example.org"),
    ("property", b"ACTION:DISPLAY", b"ACTION:DISPLAY\r\nATTACH:x"),
    ("needs", b"SEQUENCE:0\r\n", b"SEQUENCE:0\r\nSEQUENCE:0\r\n"),
    ("once", b"LOCATION:Low", b"LOCATION:High\r\nLOCATION:Low"),
    ("once", b"COLOR:seagreen", b"COLOR:seagreen\r\nCOLOR:silver"),
    ("uid-form", b"UID:", b"UID:Low Weed "),
    ("uid-shared", NEXT, UID),
    ("stamp-utc", b"DTSTAMP:" + STAMP, b"DTSTAMP:20261125T080000"),
    ("stamp-utc", b"LAST-MODIFIED:" + STAMP, b"LAST-MODIFIED:20261125"),
    ("stamp-equal", b"DTSTAMP:" + STAMP, b"DTSTAMP:20261125T090000Z"),
    ("stamp-head", STAMP, b"20261126T080000Z"),
    ("day-or-utc", b"DTSTART;VALUE=DATE:20270227", b"DTSTART:20270227T000000Z"),
    ("day-or-utc", b"DTSTART;VALUE=DATE:20270227", b"DTSTART;TZID=Europe/Madrid:20270227T080000"),
    ("no-such-day", b"DATE:20270227", b"DATE:20270229"),
    ("no-such-day", STAMP, b"20261125T250000Z"),
    ("end-later", b"DTEND;VALUE=DATE:20270302", b"DTEND;VALUE=DATE:20270227"),
    ("sequence", b"SEQUENCE:0", b"SEQUENCE:-1"),
    ("bare-separator", b"Low: Weed", b"Low, Weed"),
    ("bare-separator", b"first\\, second", b"first; second"),
    ("escape", b"Low: Weed", b"Low\\: Weed"),
    ("blank-end", b"tree lines\r\n", b"tree lines \r\n"),
    ("blank-end", b"a hoe.\r\n", b"a hoe.\\n\r\n"),
    ("title", b"Low: Weed", b"Low: " + b"Weed " * 9),
    ("title", b"Low: Weed", b"Low:\\nWeed"),
    ("title", b"SUMMARY:Low: Weed the tree lines", b"SUMMARY:"),
    ("long-text", b"How: with", b"\r\n ".join([b"x" * 70] * (MAX_TEXT // 70 + 1)) + b"\r\n  with"),
    ("category", b"CATEGORIES:release", b"CATEGORIES:one\\, two"),
    ("markup", b"How: with", b"<b>How</b>: with"),
    ("status", b"STATUS:CONFIRMED", b"STATUS:MAYBE"),
    ("transp", b"TRANSP:OPAQUE", b"TRANSP:MAYBE"),
    ("cancelled", b"STATUS:CONFIRMED", b"STATUS:CANCELLED"),
    ("cancelled", b"CONFIRMED\r\nTRANSP:OPAQUE", b"CANCELLED\r\nTRANSP:TRANSPARENT"),
    ("color", b"COLOR:seagreen", b"COLOR:#00aa00"),
    ("relation-kind", b"RELTYPE=FINISHTOSTART", b"RELTYPE=DEPENDS-ON"),
    ("many-alarms", b"BEGIN:VALARM", b"BEGIN:VALARM\r\nEND:VALARM\r\nBEGIN:VALARM"),
    ("alarm-fixed", b"TRIGGER:-PT6H", b"TRIGGER:20270101T000000Z"),
    ("alarm-fixed", b"TRIGGER:-PT6H", b"TRIGGER;RELATED=END:-PT6H"),
]  # fmt: skip
MUTANTS += [
    (rule, b"\r\n%b" % name.encode(), b"\r\nX-%b" % name.encode())
    for rule, names in (
        ("head-needs", HEAD_NEEDS), ("needs", NEEDS), ("alarm-needs", ALARM_NEEDS),
    )
    for name in names
]  # fmt: skip


def rules_broken(content: bytes) -> set[str]:
    return {fault.partition(":")[0] for fault in faults_of(content)}


@pytest.mark.parametrize(("rule", "good", "bad"), MUTANTS)
def test_the_lint_sees_each_fault(rule: str, good: bytes, bad: bytes) -> None:
    content = clean_feed()
    assert good in content
    assert faults_of(content) == []
    at = content.rindex(b"BEGIN:VEVENT") if rule == "stamp-head" else 0  # an event, not the head
    mutant = content[:at] + content[at:].replace(good, bad)
    assert rule in rules_broken(mutant)


def test_a_relation_to_nothing_and_an_empty_calendar_are_seen() -> None:
    content = clean_feed()
    astray = re.sub(rb"(FINISHTOSTART:|;GAP=P14D:)[0-9a-f]{8}", rb"\g<1>deadbeef", content)
    assert rules_broken(astray) == {"relation-to"}
    first, _, rest = content.partition(b"BEGIN:VEVENT")
    assert rules_broken(first + rest[rest.rindex(b"END:VCALENDAR") :]) == {"empty"}


def test_every_rule_has_its_mutant() -> None:
    assert {rule for rule, _, _ in MUTANTS} | {"relation-to", "empty"} == set(RULES)


def test_a_feed_with_a_memory_is_as_clean_as_a_new_one() -> None:
    moved = event(first=event().last, **ALL_OF_IT)
    kept = feed_bytes(feed(moved), clean_feed(), LATER, keep_cancelled=True)
    assert faults_of(kept) == []
