"""The feeds of a site: what is in them, whose they are, what their words hold."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st
from ical.calendar_stream import IcsCalendarStream
from ical.event import Event as Seen

from scheduler.calendars import Feed, feed_bytes, uid_of
from scheduler.calendars.ics import Event
from scheduler.reasons import SeasonPlan
from scheduler.words import clean
from scheduler.words.text import MAX_DESCRIPTION
from tests.calendars.entries import (
    days_of,
    feeds_by_name,
    is_visit,
    planned_days,
    shown_days,
    told_of,
)
from tests.calendars.lint import faults_of
from tests.once import feeds_once
from tests.sites import DEMOS, edit, new_site, own_date, planned

NOW = datetime(2026, 11, 25, tzinfo=UTC)


def seen_in(feed: Feed) -> list[Seen]:
    """The events as an independent reader sees them."""
    return list(IcsCalendarStream.calendar_from_ics(feed_bytes(feed, None, NOW).decode()).events)


def test_each_plot_gets_its_work_and_all_work_is_the_sum_of_them(branasol: SeasonPlan) -> None:
    feeds = feeds_by_name(branasol)

    def told(name: str) -> set[tuple[str, date, date]]:
        rows = {(told_of(e.description), e.first, e.last) for e in feeds[name].events}
        return {row for row in rows if row[0]}

    parts = [told(f"plot-{plot.id}") for plot in branasol.placed.holding.plots]
    assert all(parts)
    assert sum(map(len, parts)) == len(set().union(*parts))
    whole = told("work")
    assert {row for row in whole if not row[0].startswith("holding.")} == set().union(*parts)
    assert {row[0] for row in whole} > {row[0] for row in set().union(*parts)}


@pytest.mark.parametrize("demo", DEMOS)
def test_every_feed_is_clean_and_no_uid_stands_in_two_of_them(
    demo: str, request: pytest.FixtureRequest
) -> None:
    plan: SeasonPlan = request.getfixturevalue(demo)
    uids: list[bytes] = []
    feeds = feeds_once(plan, alarms=True, relations=True)
    assert feeds
    for feed in feeds:
        content = feed_bytes(feed, None, NOW)
        assert faults_of(content) == [], feed.name
        found = re.findall(rb"\r\nUID:(.*)\r\n", content)
        assert len(found) == content.count(b"\r\nBEGIN:VEVENT\r\n") > 0, feed.name
        uids += found
    assert len(uids) == len(set(uids))


def test_alarms_and_relations_stand_there_only_if_asked_for(branasol: SeasonPlan) -> None:
    plain = b"".join(feed_bytes(feed, None, NOW) for feed in feeds_once(branasol))
    assert b"VALARM" not in plain
    assert b"RELATED-TO" not in plain
    asked = feeds_by_name(branasol, alarms=True, relations=True)
    work = feed_bytes(asked["work"], None, NOW)
    assert work.count(b"BEGIN:VALARM") == 2 * work.count(b"BEGIN:VEVENT")
    assert b"RELATED-TO" in work
    assert b"VALARM" not in feed_bytes(asked["sky"], None, NOW)


def test_the_last_day_of_a_visit_points_at_the_first_of_those_that_wait_for_it(
    branasol: SeasonPlan,
) -> None:
    """RFC 9253: in the event that comes first; only between visits, as steps have no events."""
    events = {e.key: e for e in feeds_by_name(branasol, relations=True)["work"].events}
    found = set()
    for event in events.values():
        for key, wait_days in event.followers:
            visit_id, other = told_of(event.description), events[key]
            assert event.last == branasol.placed.season.date_of(
                branasol.placed.visits[visit_id].last
            )
            between = (other.first - event.last).days - 1
            # work of one day may follow on that day, which no kind of relation can say
            assert between >= wait_days or (between, wait_days) == (-1, 0)
            found.add((visit_id, told_of(other.description), wait_days))
    # two weeks before the care: common practice, no source
    assert ("ladeira.release", "ladeira.aftercare-early", 11) in found
    assert ("socalco.release", "novo.release", 0) in found
    ties = {
        pair: orders for pair, orders in branasol.placed.problem.ties.items() if len({*pair}) == 2
    }
    pairs = {row[:2] for row in found}
    assert pairs < set(ties)
    for pair in set(ties) - pairs:  # the other may begin while this visit still goes on
        ends = max(branasol.placed.stints[order.before].last for order in ties[pair])
        assert ends < branasol.placed.visits[pair[0]].last, pair


@pytest.mark.parametrize("demo", DEMOS)
def test_a_description_is_short_enough_to_be_whole_and_says_nothing_twice(
    demo: str, request: pytest.FixtureRequest
) -> None:
    plan: SeasonPlan = request.getfixturevalue(demo)
    events = [event for feed in feeds_once(plan) for event in feed.events]
    assert len(events) > 100
    for event in events:
        assert clean(event.description) == event.description, "nothing is cut or cleaned"
        assert len(event.description) < 0.9 * MAX_DESCRIPTION, event.key
        said = [
            part
            for line in event.description.split("\n")
            for part in re.split(r"(?<=[.]) ", line.removeprefix("- "))
            if len(part) > 30
        ]
        assert len(said) == len(set(said)), event.key


@pytest.fixture(scope="module")
def frosty(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    """The grower cuts on 29 April, in a window that closes after 10 May."""
    site = new_site(tmp_path_factory.mktemp("frosty") / "site")
    own_date(site, "first-plot.cut-medium", on="2027-04-29")
    return planned(site)


def test_work_in_an_open_window_warns_in_the_frost_feed_and_for_the_evening(
    frosty: SeasonPlan,
) -> None:
    visit = frosty.placed.visits["first-plot.release"]
    begins, ends = (frosty.placed.season.date_of(day) for day in (visit.first, visit.last))
    assert begins == date(2027, 4, 29)
    assert ends > date(2027, 5, 11), "the rest waits until frost is over"
    feed = feeds_by_name(frosty)["frost"]
    events = {e.key: e for e in feed.events}
    warning = events["2027/first-plot.release/frost-warning/1"]
    assert warning.title == "First plot: FROST RISK until 10 May, release visit"
    assert (warning.first, warning.last) == (begins, date(2027, 5, 10)), "no longer than it holds"
    assert warning.description.startswith(
        "WARNING: the frost window is still open until 10 May 2027"
    )
    evening = events["2027/first-plot.release/frost-evening/1"]
    assert evening.times is not None
    begin, end = evening.times
    assert end == frosty.placed.outlook.sky.sun.sets[frosty.placed.season.day_of(begins)][0]
    # 46.5 N 14.2 E, late April: the Sun sets about 20:05 by summer time (from memory)
    assert abs((end - datetime(2027, 4, 29, 18, 6, tzinfo=UTC)).total_seconds()) < 15 * 60
    assert end - begin == timedelta(hours=2)
    content = feed_bytes(feed, None, NOW)
    assert faults_of(content) == []
    assert f"DTEND:{end.astimezone(UTC):%Y%m%dT%H%M%SZ}".encode() in content


def test_daylight_is_told_for_each_day_of_work_and_binds_what_is_cut_overhead(
    branasol: SeasonPlan,
) -> None:
    overhead = {
        (branasol.placed.visit_of[task_id], branasol.placed.season.date_of(day))
        for task_id, stint in branasol.placed.stints.items()
        if branasol.placed.tasks[task_id].type.overhead
        for day in stint.days
    }
    told = [e for e in feeds_by_name(branasol)["work"].events if is_visit(e)]
    bound = set()
    for event in told:
        line = re.search(r"^Daylight: (.{5}) to (.{5})(.*)\.$", event.description, re.MULTILINE)
        assert line is not None, event.key
        day, sky = branasol.placed.season.day_of(event.first), branasol.placed.outlook.sky
        (rise,), (fall,) = sky.sun.rises[day], sky.sun.sets[day]
        begin, end = (
            datetime.combine(event.first, time.fromisoformat(line[n]), rise.tzinfo) for n in (1, 2)
        )
        early, late = begin - rise, fall - end
        assert timedelta(0) <= min(early, late) <= max(early, late) < timedelta(minutes=1)
        if line[3]:
            assert line[3] == "; no overhead cutting outside it"
            bound |= {(told_of(event.description), day) for day in days_of(event)}
    assert overhead
    assert bound == overhead
    assert len(told) > len(bound)


def test_titles_are_cut_but_keep_which_part_they_are(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site", plot_name="A plot with a name that runs on and on and on")
    own_date(site, "first-plot.cut-medium", on="2027-04-29")
    events = [e for feed in feeds_once(planned(site)) for e in feed.events]
    assert max(len(e.title) for e in events) <= 59
    work = [e for e in events if ".release/" in e.key and is_visit(e)]
    parts = {e.key.rpartition("/")[2]: e.title for e in work}
    assert parts["1"].startswith("A plot with a name that…: FROST RISK until 10")
    *earlier, last = sorted(parts)
    assert earlier[0] == "1"
    assert parts["1"].endswith(f"…, day 1 of {last}")
    assert parts[last].startswith("A plot with a name that runs on")
    assert parts[last].endswith(f"…, day {last} of {last}")


def test_two_people_of_one_name_get_two_feeds(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    edit(site, "crew.toml", 'name = "Helper"', 'name = "ILKA"')
    names = [feed.name for feed in feeds_once(planned(site))]
    assert {"person-ilka", "person-ilka-2"} <= set(names)


def test_a_season_across_new_year_keeps_its_days_in_both_hemispheres(
    branasol: SeasonPlan, klipskadu: SeasonPlan
) -> None:
    for plan in (branasol, klipskadu):
        seen = seen_in(feeds_by_name(plan)["sky"])
        years = {e.dtstart.year for e in seen if e.dtstart}
        assert years == set(range(2026, plan.placed.season.last.year + 1))
        marks = {(e.summary, e.dtstart) for e in seen}
        # 21 December 2026 20:50 UTC and 21 June 2027 14:11 UTC (published almanacs, from memory)
        assert marks > {
            ("December solstice", date(2026, 12, 21)),
            ("June solstice", date(2027, 6, 21)),
        }


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
    items = vobject.readOne(content.decode()).vevent_list
    assert len(items) == len(events)
    for item in items:
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
        told = planned_days(plan)
        assert {2026, 2027} <= {day.year for _, day in told}
        assert shown_days(feeds_by_name(plan)["work"]) == told


def test_a_new_year_gives_nothing_another_uid(tmp_path: Path) -> None:
    """The same plan as of the two sides of midnight: what is still to come keeps its name."""
    site = new_site(tmp_path / "site")
    before, after = (
        {uid_of(feed.site_id, event.key): event.first for feed in feeds for event in feed.events}
        for as_of in (date(2026, 12, 31), date(2027, 1, 1))
        for feeds in [feeds_once(planned(site, as_of))]
    )
    coming = {uid for uid, first in before.items() if first >= date(2027, 1, 1)}
    assert coming
    assert coming <= set(after) <= set(before)


def moved(feed: Feed, days: int) -> Feed:
    later = (
        replace(e, first=e.first + timedelta(days), last=e.last + timedelta(days))
        for e in feed.events
    )
    return replace(feed, events=tuple(later))


@pytest.mark.parametrize("name", ["work", "person-uxia", "plot-fondal", "frost"])
def test_moving_every_day_keeps_every_uid(branasol: SeasonPlan, name: str) -> None:
    feed = feeds_by_name(branasol)[name]
    old = feed_bytes(feed, None, NOW)
    new = feed_bytes(moved(feed, 3), old, NOW + timedelta(days=1))
    before, after = (
        {e.uid: e for e in IcsCalendarStream.calendar_from_ics(content.decode()).events}
        for content in (old, new)
    )
    assert set(before) == set(after)
    timed = {e.uid for e in before.values() if isinstance(e.dtstart, datetime)}
    days = {uid: e.sequence for uid, e in after.items() if uid not in timed}
    assert days
    assert set(days.values()) == {1}
