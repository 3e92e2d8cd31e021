"""The demo calendars as their subscribers get them, judged by three readers."""

from datetime import date, datetime, timedelta

import pytest
import vobject
from ical.calendar_stream import IcsCalendarStream

from scheduler.season import SeasonPlan
from tests.publish.lint import faults_of
from tests.sites import DEMOS, ROOT

FEEDS = sorted(
    f"{demo}/{path.name}" for demo in DEMOS for path in (ROOT / "calendars" / demo).glob("*.ics")
)

TIMED = ("Daylight for ", "Frost evening: ")


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
        assert isinstance(first, datetime) == (title or "").startswith(TIMED)
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
        assert event.description is not None
        if "scheduler done SITE " in event.description:
            task = event.description.rsplit("scheduler done SITE ", 1)[1]
            if task not in plan.tasks:
                continue  # a booking
            first, after = event.dtstart, event.dtend
            assert isinstance(first, date)
            assert isinstance(after, date)
            n_days = (after - first).days
            shown |= {(task, first + timedelta(days=n)) for n in range(n_days)}
    planned = {
        (task_id, plan.season.date_of(day))
        for task_id, stint in plan.stints.items()
        for day in stint.days
    }
    assert shown == planned


def test_every_work_event_tells_reason_cautions_and_frost(branasol: SeasonPlan) -> None:
    content = (ROOT / "calendars" / "branasol" / "work.ics").read_text(encoding="utf-8")
    for event in IcsCalendarStream.calendar_from_ics(content).events:
        text = event.description or ""
        task = branasol.tasks.get(text.rsplit("scheduler done SITE ", 1)[-1])
        if task is None:
            continue
        assert text.startswith("Why this day: ")
        assert "person-hours" in text
        assert ("Cautions:\n- " in text) == bool(task.cautions)
        assert ("Frost: the window in " in text) == bool(task.type.exposes)
