"""Folding of long lines, with the icalendar library as the slow oracle."""

import icalendar
from hypothesis import example, given
from hypothesis import strategies as st
from icalendar import vText

from scheduler.calendars.folding import folded, octets_of
from scheduler.words import clean


@given(st.text(max_size=400))
@example("\\" * 200)
@example("a" * 65 + "\\n" * 40)
@example("^" * 80 + "é" * 60)
@example("€" * 100 + "😀" * 60)
def test_an_event_is_the_same_to_the_octet_as_the_library_writes_it(text: str) -> None:
    event = icalendar.Event()
    event.add("description", vText(clean(text)))
    event.add("x-note", vText(clean(text, lines=False)), parameters={"X-P": "a^b"})
    assert octets_of(event) == event.to_ical()


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=300))
def test_no_line_is_longer_than_75_octets_and_none_is_cut_inside_a_character(text: str) -> None:
    """RFC 5545 3.1."""
    pieces = folded(text).split(b"\r\n")
    assert all(len(piece) <= 75 for piece in pieces)
    assert b"".join(pieces[:1] + [piece[1:] for piece in pieces[1:]]).decode() == text
