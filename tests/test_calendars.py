"""The demo calendars as their subscribers get them, judged by three readers."""

from datetime import date, datetime, timedelta

import pytest
import vobject
from ical.calendar_stream import IcsCalendarStream

from scheduler.reasons import SeasonPlan
from tests.calendars.entries import planned_days, told_of
from tests.calendars.lint import faults_of
from tests.sites import DEMOS, ROOT

FEEDS = sorted(
    f"{demo}/{path.name}" for demo in DEMOS for path in (ROOT / "calendars" / demo).glob("*.ics")
)

TIMED = (": frost evening, ",)


@pytest.mark.parametrize("feed", FEEDS)
def test_a_demo_feed_is_clean_to_three_readers(feed: str) -> None:
    content = (ROOT / "calendars" / feed).read_bytes()
    assert faults_of(content) == []
    mine = IcsCalendarStream.calendar_from_ics(content.decode())
    other = vobject.readOne(content.decode())
    other.validate()
    days = sorted(((e.dtstart, e.dtend, e.summary) for e in mine.events), key=str)
    others = sorted(
        ((e.dtstart.value, e.dtend.value, e.summary.value) for e in other.vevent_list), key=str
    )
    assert days == others
    assert len(days) > 3
    for first, after, title in days:
        assert isinstance(first, datetime) == any(part in (title or "") for part in TIMED)
        assert first is not None
        assert after is not None
        assert after > first
        assert title is not None
        assert len(title) < 60


@pytest.mark.parametrize("demo", DEMOS)
def test_the_work_feed_shows_every_day_of_work_and_no_other(
    demo: str, request: pytest.FixtureRequest
) -> None:
    plan: SeasonPlan = request.getfixturevalue(demo)
    content = (ROOT / "calendars" / demo / "work.ics").read_text(encoding="utf-8")
    shown: set[tuple[str, date]] = set()
    for event in IcsCalendarStream.calendar_from_ics(content).events:
        visit_id = told_of(event.description or "")
        if visit_id in plan.placed.visits:  # and no booking
            first, after = event.dtstart, event.dtend
            assert isinstance(first, date)
            assert isinstance(after, date)
            n_days = (after - first).days
            shown |= {(visit_id, first + timedelta(days=n)) for n in range(n_days)}
    assert shown == planned_days(plan)


@pytest.mark.parametrize("demo", DEMOS)
def test_every_work_event_tells_who_what_light_and_frost(
    demo: str, request: pytest.FixtureRequest
) -> None:
    plan: SeasonPlan = request.getfixturevalue(demo)
    content = (ROOT / "calendars" / demo / "work.ics").read_text(encoding="utf-8")
    texts = [e.description or "" for e in IcsCalendarStream.calendar_from_ics(content).events]
    work = [text for text in texts if told_of(text) in plan.placed.visits]
    assert len(work) >= len(plan.placed.visits)
    frosty = 0
    for text in work:
        heads = [line.split(":")[0].split(",")[0] for line in text.split("\n")]
        assert {"Who", "Do", "Daylight", "Report"} <= set(heads), text
        exposing = any(
            plan.placed.tasks[t].type.exposes
            for t in plan.placed.groups[told_of(text)]
            if t in plan.placed.stints
        )
        frosty += "Frost" in heads
        assert ("Frost" in heads) <= exposing, text
    assert frosty
