"""Our feeds before four independent readers: what each must see, word for word."""

from datetime import UTC, datetime, timedelta
from functools import lru_cache

import pytest
import vobject
from ical.calendar_stream import IcsCalendarStream

from scheduler.calendars import feed_bytes, uid_of
from scheduler.reasons import SeasonPlan
from scheduler.words import MAX_TITLE, clean
from tests.calendars.judges import ical_js_says, libical_says
from tests.calendars.test_ics import ALL_OF_IT, HOSTILE, THEN, event, feed
from tests.once import feeds_once

NOW = datetime(2026, 11, 25, tzinfo=UTC)


def plain_feeds(plan: SeasonPlan) -> dict[str, bytes]:
    return {f.name: feed_bytes(f, None, NOW) for f in feeds_once(plan)}


@lru_cache(maxsize=2)
def full_feeds(plan: SeasonPlan) -> dict[str, bytes]:
    feeds = feeds_once(plan, alarms=True, relations=True)
    return {f.name: feed_bytes(f, None, NOW) for f in feeds}


def hostile() -> bytes:
    return feed_bytes(
        feed(event(title=HOSTILE, description=HOSTILE, location=HOSTILE)), None, THEN
    )


@pytest.mark.parametrize("demo", ["branasol", "klipskadu"])
def test_vobject_finds_every_feed_valid_and_sees_what_was_meant(
    demo: str, request: pytest.FixtureRequest
) -> None:
    plan: SeasonPlan = request.getfixturevalue(demo)
    feeds = feeds_once(plan, alarms=True, relations=True)
    assert feeds
    for meant in feeds:
        seen = vobject.readOne(feed_bytes(meant, None, NOW).decode())
        assert seen.validate(raiseException=True)
        days = {
            event.uid.value: (event.summary.value, event.dtstart.value, event.dtend.value)
            for event in seen.vevent_list
        }
        assert days == {
            uid_of(meant.site_id, e.key): (
                clean(e.title, MAX_TITLE, lines=False),
                *(
                    (e.first, e.last + timedelta(days=1))
                    if e.times is None
                    else (when.replace(microsecond=0) for when in e.times)
                ),
            )
            for e in meant.events
        }, meant.name


@pytest.mark.parametrize("demo", ["branasol", "klipskadu"])
def test_libical_finds_no_error_and_no_broken_restriction(
    demo: str, request: pytest.FixtureRequest
) -> None:
    plan = request.getfixturevalue(demo)
    for feeds in (plain_feeds(plan), full_feeds(plan), {"hostile": hostile()}):
        assert feeds
        for name, content in feeds.items():
            told = libical_says(content)
            assert told == (0, True, content.count(b"\r\nBEGIN:VEVENT\r\n")), name


def test_libical_does_see_faults() -> None:
    """A judge that never objects is none."""
    good = feed_bytes(feed(event(**ALL_OF_IT), event("next")), None, THEN)
    assert libical_says(good)[:2] == (0, True)
    for good_part, bad in (
        (b"CALSCALE:GREGORIAN", b"METHOD:PUBLISH"),
        (b"TRIGGER:-PT6H", b"TRIGGER:soon"),
        (b"\r\nVERSION:2.0", b""),
    ):
        errors, fits, _ = libical_says(good.replace(good_part, bad))
        assert errors or not fits, bad


@pytest.mark.parametrize("demo", ["branasol", "klipskadu"])
def test_ical_js_sees_what_the_python_reader_sees(
    demo: str, request: pytest.FixtureRequest
) -> None:
    feeds = full_feeds(request.getfixturevalue(demo))
    assert feeds
    for name, content in feeds.items():
        mine = {
            str(e.uid): [
                e.dtstart.strftime("%Y-%m-%d") if not isinstance(e.dtstart, datetime)
                else e.dtstart.strftime("%Y-%m-%dT%H:%M:%SZ"),
                e.summary, e.description, len(e.alarm),
            ]
            for e in IcsCalendarStream.calendar_from_ics(content.decode()).events
            if e.dtstart is not None
        }  # fmt: skip
        theirs = {
            uid: [start, title, description, alarms]
            for uid, start, _, title, description, alarms in ical_js_says(content)
        }
        assert theirs == mine, name


def test_four_readers_get_hostile_text_back_as_it_was_cleaned() -> None:
    content, wanted = hostile(), clean(HOSTILE)
    (ical_seen,) = IcsCalendarStream.calendar_from_ics(content.decode()).events
    assert ical_seen.description == wanted
    assert vobject.readOne(content.decode()).vevent.description.value == wanted
    assert [row[4] for row in ical_js_says(content)] == [wanted]
