"""Text of any kind: nothing that somebody types can forge a line, break a reader or take long."""

import subprocess
import sys
from typing import Any

import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st
from ical.calendar_stream import IcsCalendarStream

from scheduler.calendars import Feed, feed_bytes, uid_of
from scheduler.words import MAX_TITLE, clean, clean_category
from scheduler.words.text import MAX_CATEGORY, MAX_DESCRIPTION
from tests.calendars.lint import faults_of
from tests.calendars.test_ics import HOSTILE, LATER, THEN, event, feed, field

# what is typed, and what readers get of it as a title
PIECES = {
    "a line break": ("a\r\nBEGIN:VEVENT\r\nUID:forged", "a BEGIN:VEVENT UID:forged"),
    "a lone CR": ("a\rBEGIN:VEVENT", "a BEGIN:VEVENT"),
    "next line and separators": ("a\x85b\u2028c\u2029d\x0be\x0cf", "a b c d e f"),
    "controls": ("a\x00b\x07c\x1bd\x7fe\x90f", "abcdef"),
    "lone surrogates": ("a\ud800b\udfffc", "abc"),
    "direction marks": ("a\u202eb\u2066c\u200ed\u061ce", "abcde"),
    "byte order mark": ("\ufeffa", "a"),
    "nothing to be seen": ("a\u200bb\u2060c\ufffad", "abcd"),
    "backslash N": ("C:\\Notes\\new\\", "C:/Notes/new/"),
    "a fold": ("a\r\n b\r\n\tc", "a b c"),
    "separators": ("a;b,c:d", "a;b,c:d"),
    "quotes": ("\"a\" 'b' ^n ^'", "\"a\" 'b' ^n ^'"),
    "escapes that are none": ("a\\n\\;\\,\\\\b", "a/n/;/,//b"),
    "marks that join": ("n\u0303 \U0001f333", "n\u0303 \U0001f333"),
    "private and unassigned": ("a\ue000b\U000e0fffc", "abc"),
    "nothing at all": (" \r\n\t\u200b ", "(no title)"),
}


def everywhere(text: str) -> Feed:
    nasty = event(title=text, description=text, categories=(text,), location=text)
    return Feed("hill", "work", text or "x", text or "x", (nasty,))


def faults_with(text: str) -> list[str]:
    """Faults of a feed that has a text wherever somebody can type one."""
    content = feed_bytes(everywhere(text), None, THEN)
    forged = [] if field(content, "UID") == [uid_of("hill", event().key)] else ["a forged UID"]
    again = feed_bytes(everywhere(text), content, LATER)
    return [*faults_of(content), *forged, *([] if again == content else ["it is not steady"])]


@pytest.mark.parametrize(("typed", "shown"), PIECES.values(), ids=PIECES.keys())
def test_readers_get_what_can_be_shown_and_nothing_else(typed: str, shown: str) -> None:
    assert faults_with(typed) == []
    content = feed_bytes(everywhere(typed), None, THEN).decode()
    (one,) = IcsCalendarStream.calendar_from_ics(content).events
    assert one.summary == shown
    assert vobject.readOne(content).vevent.summary.value == shown


SIZES = {
    "letters": "x" * 1_000_000,
    "letters of two bytes": "ñ" * 1_000_000,
    "pictures": "\U0001f333" * 1_000_000,
    "blanks and a letter": " " * 1_000_000 + "x",
    "tabs between": "a" + "\t" * 1_000_000 + "b",
    "line breaks": "\r\n" * 500_000 + "x",
    "blanks and breaks": " \n" * 500_000,
    "backslashes": "\\" * 1_000_000,
    "separators": ";" * 1_000_000,
    "marks that are taken out": "\u202e" * 1_000_000,
}
PATIENCE_S = 100.0  # ten are usual; a pattern that tries every blank takes half an hour


WITHOUT_ASSERT = """
import sys
assert False, "assertions must be off, or this shows nothing"
from tests.calendars.test_hostile import *
texts = [HOSTILE, HOSTILE * 50, *(typed for typed, _ in PIECES.values())]
long = [feed_bytes(feed(event(title=x, description=x)), None, THEN) for x in SIZES.values()]
faults = [fault for text in texts for fault in faults_with(text)]
print(faults + [fault for content in long for fault in faults_of(content)])
print(max(map(len, long)))
"""


@pytest.mark.slow
def test_no_text_can_forge_a_line_or_take_long_without_assertions_either() -> None:
    """The library guards some properties with assert, which ``python -O`` takes away.

    A megabyte is cut: to 4000 characters, of four bytes at most, and folds.
    """
    done = subprocess.run(
        [sys.executable, "-O", "-W", "ignore", "-c", WITHOUT_ASSERT],
        capture_output=True, text=True, check=False, timeout=PATIENCE_S,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    faults, longest = done.stdout.splitlines()
    assert faults == "[]"
    assert int(longest) < 5 * MAX_DESCRIPTION


def test_a_colour_that_is_none_is_no_way_in_either() -> None:
    content = feed_bytes(feed(event(color=HOSTILE)), None, THEN)
    assert {fault.partition(":")[0] for fault in faults_of(content)} == {"color"}


ANY = st.text(st.characters(exclude_categories=()), max_size=300)  # lone surrogates among them


@settings(max_examples=150, deadline=None)
@given(ANY, ANY)
def test_any_text_gives_a_clean_and_steady_feed(title: str, description: str) -> None:
    told: dict[str, Any] = {"title": title, "description": description, "location": title}
    asked = feed(event(**told, categories=(title, description)))
    content = feed_bytes(asked, None, THEN)
    # a grower may write <A> in a note, and it is shown as it was written; only our words may not
    assert [fault for fault in faults_of(content) if not fault.startswith("markup")] == []
    assert feed_bytes(asked, content, LATER) == content
    (seen,) = IcsCalendarStream.calendar_from_ics(content.decode()).events
    assert 0 < len(seen.summary or "") <= MAX_TITLE < 60
    assert seen.description == clean(description)


@given(ANY)
def test_cleaning_twice_is_cleaning_once(text: str) -> None:
    for once in (clean(text), clean(text, MAX_TITLE, lines=False), clean_category(text)):
        assert clean(once) == once
    assert len(clean_category(text)) <= MAX_CATEGORY
    assert not set(clean_category(text)) & set(",;:\\\n")
