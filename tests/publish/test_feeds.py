"""The feeds of a site: what is in them, whose they are, what their words hold."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st
from ical.calendar_stream import IcsCalendarStream
from ical.event import Event as Seen

from scheduler.holding import read_holding
from scheduler.publish.feeds import Extras, feeds_of
from scheduler.publish.ics import Event, Feed, feed_bytes, uid_of
from scheduler.publish.text import MAX_DESCRIPTION, clean
from scheduler.season import SeasonPlan, plan_season
from tests.publish.lint import faults_of
from tests.sites import AS_OF, edit, new_site

NOW, PLAIN = datetime(2026, 11, 25, tzinfo=UTC), Extras()


def feeds_by_name(plan: SeasonPlan, extras: Extras = PLAIN) -> dict[str, Feed]:
    return {feed.name: feed for feed in feeds_of(plan, extras)}


def seen_in(feed: Feed) -> list[Seen]:
    """The events as an independent reader sees them."""
    return list(IcsCalendarStream.calendar_from_ics(feed_bytes(feed, None, NOW).decode()).events)


def days_of(event: Event) -> set[date]:
    return {event.first + timedelta(days=n) for n in range((event.last - event.first).days + 1)}


def is_work(event: Event) -> bool:
    return "When it is done: scheduler done SITE " in event.description


def task_of(event: Event) -> str:
    return event.description.rsplit("scheduler done SITE ", 1)[1]


def test_each_person_gets_the_own_days_and_hours_and_no_others(branasol: SeasonPlan) -> None:
    feeds = feeds_by_name(branasol)
    for person in branasol.holding.crew.person:
        slug = {"Uxía": "uxia"}.get(person.name, person.name.lower())
        shown = {(task_of(e), d) for e in feeds[f"person-{slug}"].events for d in days_of(e)}
        planned = {
            (task_id, branasol.season.date_of(day))
            for task_id, stint in branasol.stints.items()
            for day, people in zip(stint.days, stint.people, strict=True)
            if person.name in people
        }
        assert shown == planned
        assert all(
            e.description.startswith("Your hours: ") for e in feeds[f"person-{slug}"].events
        )


def test_each_plot_gets_its_work_and_all_work_is_the_sum_of_them(branasol: SeasonPlan) -> None:
    feeds = feeds_by_name(branasol)
    whole = {(task_of(e), e.first, e.last) for e in feeds["work"].events if is_work(e)}
    parts = [
        {(task_of(e), e.first, e.last) for e in feeds[f"plot-{plot.id}"].events if is_work(e)}
        for plot in branasol.holding.plots
    ]
    assert sum(map(len, parts)) == len(set().union(*parts))
    assert {row for row in whole if not row[0].startswith("holding.")} == set().union(*parts)


@pytest.mark.parametrize("demo", ["branasol", "klipskadu"])
def test_every_feed_is_clean_and_no_uid_stands_in_two_of_them(
    demo: str, request: pytest.FixtureRequest
) -> None:
    plan: SeasonPlan = request.getfixturevalue(demo)
    uids: list[str] = []
    for feed in feeds_of(plan, Extras(alarms=True, relations=True)):
        content = feed_bytes(feed, None, NOW)
        assert faults_of(content) == [], feed.name
        uids += [str(event.uid) for event in seen_in(feed)]
    assert len(uids) == len(set(uids))


def test_alarms_and_relations_stand_there_only_if_asked_for(branasol: SeasonPlan) -> None:
    plain = b"".join(feed_bytes(feed, None, NOW) for feed in feeds_of(branasol))
    assert b"VALARM" not in plain
    assert b"RELATED-TO" not in plain
    asked = feeds_by_name(branasol, Extras(alarms=True, relations=True))
    work = feed_bytes(asked["work"], None, NOW)
    assert work.count(b"BEGIN:VALARM") == 2 * work.count(b"BEGIN:VEVENT")
    assert b"RELATED-TO" in work
    assert b"VALARM" not in feed_bytes(asked["sky"], None, NOW)


def test_a_work_description_holds_all_that_the_crew_asks(branasol: SeasonPlan) -> None:
    described = {
        task_of(e): e.description
        for e in feeds_by_name(branasol)["work"].events
        if is_work(e) and task_of(e) in branasol.tasks
    }
    text = described["fondal.cut-high"]
    order = [
        "Why this day: ", "Work: ", "Who: ", "Order of work: after ", "How: ", "Bring: ",
        "Plants: ", "Material, fresh, coarse to fine: ", "Frost: the window in ", "Light: ",
        "Cautions:\n- ", "When it is done: ",
    ]  # fmt: skip
    places = [text.index(part) for part in order]
    assert places == sorted(places)
    assert "chance of another frost before the next midsummer " in text
    assert "e+0" not in "".join(described.values()), "amounts are written as people write them"
    for task_id, said in described.items():
        task = branasol.tasks[task_id]
        for kit in task.type.kit:
            assert kit in said.split("Bring: ")[1].split("\n")[0], task_id
        assert ("Layers from the ground up" in said) <= (not task.type.cuts), task_id
        laid = ("Mulch by line" in said) + ("Layers from the ground up" in said)
        assert laid <= 1, "what is laid is told once, by line where that is known"
    assert any("Mulch by line" in said for said in described.values())


@pytest.mark.parametrize("demo", ["branasol", "klipskadu"])
def test_a_description_is_short_enough_to_be_whole_and_says_nothing_twice(
    demo: str, request: pytest.FixtureRequest
) -> None:
    plan: SeasonPlan = request.getfixturevalue(demo)
    for feed in feeds_of(plan):
        for event in feed.events:
            assert clean(event.description) == event.description, "nothing is cut or cleaned"
            assert len(event.description) < 0.9 * MAX_DESCRIPTION, event.key
            said = [
                part
                for line in event.description.split("\n")
                for part in re.split(r"(?<=[.]) ", line.removeprefix("- "))
                if len(part) > 30
            ]
            assert len(said) == len(set(said)), event.key


@cache
def frosty(folder: Path) -> SeasonPlan:
    site = new_site(folder / "site")
    with (site / "plan-2027.toml").open("a", encoding="utf-8") as plan:
        plan.write('\n[[own_date]]\ntask = "first-plot.cut-medium"\non = 2027-04-28\nwhy = "x"\n')
    return plan_season(read_holding(site, AS_OF), AS_OF)


def test_work_in_an_open_window_warns_in_the_frost_feed_and_for_the_evening(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    plan = frosty(tmp_path_factory.mktemp("frosty"))
    events = {e.key: e for e in feeds_by_name(plan)["frost"].events}
    warning = events["2027/first-plot.cut-medium/frost-warning/1"]
    assert warning.title.startswith("Frost warning: First plot: Cut the medium")
    assert warning.first == date(2027, 4, 28)
    assert warning.description.startswith("WARNING: ")
    evening = events["2027/first-plot.cut-medium/frost-evening/1"]
    assert evening.times is not None
    begin, end = evening.times
    assert end == plan.outlook.sky.sunset[plan.season.day_of(date(2027, 4, 28))][0]
    # 46.5 N 14.2 E, late April: the Sun sets about 20:05 by summer time (from memory)
    assert abs((end - datetime(2027, 4, 28, 18, 5, tzinfo=UTC)).total_seconds()) < 15 * 60
    assert end - begin == timedelta(hours=2)
    content = feed_bytes(feeds_by_name(plan)["frost"], None, NOW)
    assert faults_of(content) == []
    assert f"DTEND:{end.astimezone(UTC):%Y%m%dT%H%M%SZ}".encode() in content


def test_daylight_is_told_for_every_day_with_work_overhead(branasol: SeasonPlan) -> None:
    lit = [e for e in feeds_by_name(branasol)["sky"].events if e.categories == ("daylight",)]
    overhead = {
        (branasol.season.date_of(day), task_id)
        for task_id, stint in branasol.stints.items()
        if branasol.tasks[task_id].type.overhead
        for day in stint.days
    }
    assert overhead
    assert {(e.first, e.key.split("/")[1]) for e in lit} == overhead
    for event in lit:
        assert event.times is not None
        assert event.times[0].date() == event.times[1].date() == event.first
        assert {(when.second, when.microsecond) for when in event.times} == {(0, 0)}
        day, sky = branasol.season.day_of(event.first), branasol.outlook.sky
        early, late = event.times[0] - sky.sunrise[day][0], sky.sunset[day][0] - event.times[1]
        assert timedelta(0) <= min(early, late) <= max(early, late) < timedelta(minutes=1)


def test_titles_are_cut_but_keep_which_part_they_are(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site", plot_name="A plot with a name that runs on and on and on")
    plan = plan_season(read_holding(site, AS_OF), AS_OF)
    titles = [e.title for feed in feeds_of(plan) for e in feed.events]
    assert max(map(len, titles)) <= 59
    assert any("…" in title for title in titles)
    parts = [
        e for feed in feeds_of(plan) for e in feed.events if e.key.endswith("/2") and is_work(e)
    ]
    assert all(e.title.endswith(")") for e in parts)


def test_two_people_of_one_name_get_two_feeds(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    edit(site, "crew.toml", 'name = "Helper"', 'name = "ILKA"')
    names = [feed.name for feed in feeds_of(plan_season(read_holding(site, AS_OF), AS_OF))]
    assert {"person-ilka", "person-ilka-2"} <= set(names)


def test_a_season_across_new_year_keeps_its_days_in_both_hemispheres(
    branasol: SeasonPlan, klipskadu: SeasonPlan
) -> None:
    for plan in (branasol, klipskadu):
        years = {e.dtstart.year for e in seen_in(feeds_by_name(plan)["sky"]) if e.dtstart}
        assert len(years) == 2
        marks = {
            e.summary: e.dtstart
            for e in seen_in(feeds_by_name(plan)["sky"])
            if e.summary and "solstice" in e.summary
        }
        # 21 December 2026 20:50 UTC and 21 June 2027 14:11 UTC (published almanacs, from memory)
        assert marks["June solstice"] == date(2027, 6, 21)


ZONES = sorted(available_timezones() - {"Factory", "localtime"})


@settings(max_examples=200, deadline=None)
@given(
    st.sampled_from(ZONES),
    st.datetimes(datetime(2026, 1, 1), datetime(2028, 12, 31)),  # noqa: DTZ001  # wall times of a zone drawn beside them
    st.integers(1, 48),
    st.integers(0, 1),
)
def test_a_time_of_any_zone_and_season_is_read_back_as_the_same_instant(
    zone: str, wall: datetime, hours: int, fold: int
) -> None:
    """Every daylight-saving rule of the database, its gaps and doubled hours among them."""
    begin = wall.replace(tzinfo=ZoneInfo(zone), fold=fold, microsecond=0)
    end = (begin.astimezone(UTC) + timedelta(hours=hours)).astimezone(ZoneInfo(zone))
    timed = Event("k", "t", wall.date(), wall.date(), "d", ("c",), times=(begin, end))
    feed = Feed("hill", "sky", "T", "D", (timed,))
    content = feed_bytes(feed, None, NOW)
    assert faults_of(content) == []
    (seen,) = seen_in(feed)
    assert seen.dtstart == begin.astimezone(UTC)
    assert seen.dtend == end.astimezone(UTC)
    assert feed_bytes(feed, content, NOW + timedelta(days=9)) == content


def changes_of(zone: ZoneInfo, first: datetime, last: datetime) -> Iterator[datetime]:
    """The instants at which the clocks of a zone are put, to the second, UTC."""
    at = first
    while at < last:
        after = at + timedelta(days=1)
        if at.astimezone(zone).utcoffset() != after.astimezone(zone).utcoffset():
            low, high = at, after
            while high - low > timedelta(seconds=1):
                middle = (low + (high - low) / 2).replace(microsecond=0)
                same = middle.astimezone(zone).utcoffset() == low.astimezone(zone).utcoffset()
                low, high = (middle, high) if same else (low, middle)
            yield high
        at = after


@pytest.mark.slow
def test_times_round_every_change_of_every_clock_are_the_same_instants_to_a_reader() -> None:
    """All rules of the database, north and south, through a year: gaps and doubled hours."""
    around: list[tuple[datetime, datetime]] = []
    halves = set()
    for name in ZONES:
        zone = ZoneInfo(name)
        for change in changes_of(
            zone, datetime(2027, 1, 1, tzinfo=UTC), datetime(2028, 1, 1, tzinfo=UTC)
        ):
            halves.add((change.month, change.astimezone(zone).dst() != timedelta(0)))
            for minutes in (-60, -1, 0, 30):
                begin = change + timedelta(minutes=minutes)
                around.append(
                    (begin.astimezone(zone), (begin + timedelta(hours=1)).astimezone(zone))
                )
    events = tuple(
        Event(f"{n}", "t", begin.date(), begin.date(), "d", ("c",), times=(begin, end))
        for n, (begin, end) in enumerate(around)
    )
    # clocks go on in March in the north and in September or October in the south
    assert {(3, True), (10, False), (9, True), (4, False)} <= halves
    assert len(events) > 1500
    feed = Feed("hill", "sky", "T", "D", events)
    content = feed_bytes(feed, None, NOW)
    assert faults_of(content) == []
    by_uid = {uid_of("hill", f"{n}"): times for n, times in enumerate(around)}
    for item in vobject.readOne(content.decode()).vevent_list:
        begin, end = by_uid[item.uid.value]
        assert (item.dtstart.value, item.dtend.value) == (
            begin.astimezone(UTC),
            end.astimezone(UTC),
        )


@settings(max_examples=100, deadline=None)
@given(st.dates(date(2026, 1, 1), date(2060, 12, 31)), st.integers(1, 400))
def test_days_are_days_whatever_the_year_brings(first: date, n_days: int) -> None:
    """New Year and 29 February included: as many days are read back as were written."""
    last = first + timedelta(days=n_days - 1)
    feed = Feed("hill", "work", "T", "D", (Event("k", "t", first, last, "d", ("c",)),))
    (seen,) = seen_in(feed)
    assert seen.dtstart == first
    assert seen.dtend is not None
    assert (seen.dtend - seen.dtstart).days == n_days


def test_work_on_both_sides_of_new_year_stands_on_its_days(
    branasol: SeasonPlan, klipskadu: SeasonPlan
) -> None:
    for plan in (branasol, klipskadu):
        planned = {
            (task_id, plan.season.date_of(day))
            for task_id, stint in plan.stints.items()
            for day in stint.days
        }
        assert {day.year for _, day in planned} == {2026, 2027}
        shown = {
            (task_of(e), day)
            for e in feeds_by_name(plan)["work"].events
            if is_work(e)
            for day in days_of(e)
        }
        assert planned <= shown
        assert {day for task_id, day in shown - planned if task_id in plan.stints} == set()


def test_a_new_year_gives_nothing_another_uid(tmp_path: Path) -> None:
    """The same plan as of the two sides of midnight: what is still to come keeps its name."""
    site = new_site(tmp_path / "site")
    before, after = (
        {uid_of(feed.site_id, event.key): event.first for feed in feeds for event in feed.events}
        for as_of in (date(2026, 12, 31), date(2027, 1, 1))
        for feeds in [feeds_of(plan_season(read_holding(site, as_of), as_of))]
    )
    coming = {uid for uid, first in before.items() if first >= date(2027, 1, 1)}
    assert coming
    assert coming <= set(after) <= set(before)


def moved(plan: SeasonPlan, days: int) -> Iterator[Feed]:
    for feed in feeds_of(plan):
        yield replace(
            feed,
            events=tuple(
                replace(e, first=e.first + timedelta(days), last=e.last + timedelta(days))
                for e in feed.events
            ),
        )


def test_moving_every_day_keeps_every_uid(branasol: SeasonPlan) -> None:
    for feed, other in zip(feeds_of(branasol), moved(branasol, 3), strict=True):
        old = feed_bytes(feed, None, NOW)
        new = feed_bytes(other, old, NOW + timedelta(days=1))
        before = {e.uid: e for e in IcsCalendarStream.calendar_from_ics(old.decode()).events}
        after = {e.uid: e for e in IcsCalendarStream.calendar_from_ics(new.decode()).events}
        assert set(before) == set(after)
        timed = {e.uid for e in before.values() if isinstance(e.dtstart, datetime)}
        assert {u: e.sequence for u, e in after.items() if u not in timed} == dict.fromkeys(
            set(after) - timed, 1
        )
