"""The entries of visits: one a day, short, in the order of use, and true to the plan."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from statistics import median

import pytest
from ical.calendar_stream import IcsCalendarStream
from ical.event import Event as Seen

from scheduler.calendars import feed_bytes, uid_of
from scheduler.calendars.ics import Event
from scheduler.calendars.work_events import done_events, work_events
from scheduler.holding import LogEntry
from scheduler.holding.dayrules import AvoidMonthsRule
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.roster import Price
from scheduler.terms import day_words
from scheduler.words import slug_of
from scheduler.words.visit_text import MOST_WORDS
from scheduler.words.why_day import Reason, reasons_of, short_reason
from tests.calendars.entries import (
    campaigns,
    days_of,
    feeds_by_name,
    planned_days,
    shown_days,
    told_of,
)
from tests.once import feeds_once
from tests.sites import AS_OF, DEMOS, append_to_log, demo, new_site, own_date, planned, published
from tests.worked import book, hired_days, log

ORDER = (
    "WARNING", "Who", "Do", "Safety", "Mind", "Bring", "Frost", "Daylight", "Moon",
    "Why not sooner", "Emergency", "Report",
)  # fmt: skip
NESTS = ("an active nest", "nests are known here")


@pytest.fixture(params=DEMOS)
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    season: SeasonPlan = request.getfixturevalue(request.param)
    return season


@lru_cache(maxsize=4)  # both demos, and the season that a test plans from one of them
def work(plan: SeasonPlan) -> tuple[Event, ...]:
    return tuple(sorted(work_events(plan), key=lambda event: (event.first, event.key)))


def heads_of(event: Event) -> list[str]:
    """The paragraphs of an entry by their heads; the steps in it stand below one of them."""
    lines = [line for line in event.description.split("\n") if not line.startswith("- ")]
    found = [re.match(r"(WARNING|[A-Z][a-z]+(?: [a-z]+)*)[:,]", line) for line in lines]
    return [head[1] for head in found if head]


def paragraph(event: Event, head: str) -> str:
    """What stands behind a head; empty where it is not there."""
    found = re.search(rf"^{head}[:,] (.*)$", event.description, re.MULTILINE)
    return found[1] if found else ""


def seen_in(content: bytes) -> list[Seen]:
    """The events as an independent reader sees them."""
    return list(IcsCalendarStream.calendar_from_ics(content.decode()).events)


def of_visit(events: Sequence[Event], visit_id: str) -> list[Event]:
    return [event for event in events if told_of(event.description) == visit_id]


def test_every_day_of_a_campaign_is_one_event_numbered_on(plan: SeasonPlan) -> None:
    events = work(plan)
    several = 0
    for visit_id in campaigns(plan):
        mine = of_visit(events, visit_id)
        days = sorted(day for visit, day in planned_days(plan) if visit == visit_id)
        assert [(e.first, e.last) for e in mine] == [(day, day) for day in days]
        assert [e.key for e in mine] == [
            f"{plan.placed.holding.plan.id}/{visit_id}/{n}" for n in range(1, len(days) + 1)
        ]
        for n, event in enumerate(mine, start=1):
            assert event.title.endswith(f", day {n} of {len(days)}" if len(days) > 1 else " visit")
            assert event.description.endswith(f"scheduler log SITE {visit_id} --on {event.first}")
        several += len(days) > 1
    assert several >= 2


def test_other_work_is_one_event_for_each_run_of_days(plan: SeasonPlan) -> None:
    events = work(plan)
    other = [v for v in plan.placed.visits if v not in campaigns(plan)]
    assert other
    for visit_id in other:
        mine = of_visit(events, visit_id)
        assert all(one.last + timedelta(days=1) < two.first for one, two in pairwise(mine))
        assert {(visit_id, day) for event in mine for day in days_of(event)} == {
            row for row in planned_days(plan) if row[0] == visit_id
        }
        assert all(event.description.endswith(f"scheduler log SITE {visit_id}") for event in mine)


def test_the_texts_are_short_enough_for_a_phone(plan: SeasonPlan) -> None:
    words = [len(event.description.split()) for event in work(plan)]
    assert len(words) > 40
    assert max(words) <= MOST_WORDS == 200
    assert median(words) <= 120


def test_the_paragraphs_stand_in_the_order_of_use(plan: SeasonPlan) -> None:
    seen = set()
    for event in work(plan):
        heads = [head for head in heads_of(event) if head in ORDER]
        assert heads == sorted(heads, key=ORDER.index), event.key
        assert len(heads) == len(set(heads)), event.key
        assert {"Who", "Do", "Daylight", "Report"} <= set(heads)
        seen |= set(heads)
    assert seen >= set(ORDER) - {"WARNING", "Moon", "Emergency"}
    assert ("Moon" in seen) is plan.placed.holding.site.moon.practice


def test_the_steps_of_a_day_stand_in_the_order_of_work_with_their_hours(plan: SeasonPlan) -> None:
    days = 0
    for event in work(plan):
        visit_id, number = told_of(event.description), plan.placed.season.day_of(event.first)
        ids = [t for t in plan.placed.groups[visit_id] if number in plan.placed.stints[t].days]
        if visit_id not in campaigns(plan) or event.description.count("\n- ") == 0:
            continue
        rows = re.findall(r"^- (.*)$", event.description, re.MULTILINE)
        assert len(rows) == len(ids)
        assert all(map(str.startswith, rows, (plan.placed.tasks[t].title for t in ids)))
        shares = re.findall(r" (\d+\.\d)(?: h)?[,.;]", f"{paragraph(event, 'Who')};")
        hours = sum(
            plan.placed.stints[t].hours[plan.placed.stints[t].days.index(number)] for t in ids
        )
        assert sum(map(float, shares)) == pytest.approx(hours, abs=0.06 * len(shares))
        days += 1
    assert days > 5


def test_standing_cautions_are_told_once_a_visit(plan: SeasonPlan) -> None:
    rules = plan.placed.holding.rules
    standing = {c.short for c in rules.cautions.values() if c.standing}
    daily = {c.short for c in rules.cautions.values() if not c.standing}
    events, told = work(plan), Counter[str]()
    for visit_id in campaigns(plan):
        minds = [paragraph(event, "Mind") for event in of_visit(events, visit_id)]
        for short in standing:
            times = sum(short in mind for mind in minds)
            assert times <= 1, (visit_id, short)
            told[short] += times
        assert not any(short in mind for mind in minds for short in daily)
    assert told["bare ring at every stem"] > 1
    again = [e for e in events if any(short in paragraph(e, "Safety") for short in standing)]
    assert again == []


def test_no_event_names_nests_outside_the_months_of_the_nesting_rule(plan: SeasonPlan) -> None:
    """About March to August in the north, half a year later in the south: UK guidance."""
    southern = plan.placed.holding.site.place.southern
    months = {9, 10, 11, 12, 1, 2} if southern else {3, 4, 5, 6, 7, 8}
    told = [e for e in work(plan) if any(words in e.description for words in NESTS)]
    assert told
    assert {event.first.month for event in told} <= months
    asked = {
        event.key
        for event in work(plan)
        if event.first.month in months
        for t in plan.placed.groups[told_of(event.description)]
        if "nest-check" in plan.placed.tasks[t].type.cautions
        and plan.placed.season.day_of(event.first) in plan.placed.stints[t].days
    }
    assert asked
    assert asked <= {event.key for event in told}


def test_where_birds_nest_later_nests_are_named_later(branasol: SeasonPlan) -> None:
    """From 4.3 months after the winter solstice on, about 1 May."""
    rules = branasol.placed.holding.rules
    rule = rules.rules["nesting-season"]
    assert isinstance(rule, AvoidMonthsRule)
    spans = tuple(replace(span, first=4.3) for span in rule.spans)
    late = replace(rules, rules={**rules.rules, rule.id: replace(rule, spans=spans)})
    plan = plan_season(replace(branasol.placed.holding, rules=late), AS_OF)
    asked = {
        event.first: any(words in event.description for words in NESTS)
        for event in work(plan)
        for t in plan.placed.groups[told_of(event.description)]
        if "nest-check" in plan.placed.tasks[t].type.cautions
        and plan.placed.season.day_of(event.first) in plan.placed.stints[t].days
    }
    assert {day.month for day in asked} >= {4, 5}
    early = [told for day, told in asked.items() if day < date(2027, 4, 28)]
    later = [told for day, told in asked.items() if day > date(2027, 5, 4)]
    assert early
    assert not any(early)
    assert later
    assert all(later)


def last_days(plan: SeasonPlan, reason: Reason) -> tuple[str, ...]:
    """The last day of a reason, and its last free one, in words."""
    free = [day for day, answer in reason.answers if isinstance(answer, Price)]
    dates = (reason.last, *(plan.placed.season.date_of(day) for day in free[-1:]))
    return tuple(map(day_words, dates))


def test_the_reason_in_an_event_is_one_that_why_gives(plan: SeasonPlan) -> None:
    told = {}
    for event in work(plan):
        if reason := paragraph(event, "Why not sooner"):
            told[told_of(event.description)] = reason.removesuffix(".")
    assert len(told) > 20
    by_day = 0
    for visit_id, reason in told.items():
        assert reason == short_reason(plan.placed, visit_id)
        dated = re.fullmatch(r"(until|begun by|on) (\d+ \w+ \d+)(?:: |, )(.*)", reason)
        if dated is None:
            assert reason == "the first day of the plan on which the crew can"
            continue
        kind, day, says = dated.groups()
        (given,) = (r for r in reasons_of(plan.placed, visit_id) if day in last_days(plan, r))
        if kind == "on":  # the last free day; each of its costs stands among those of all of them
            assert given.kind == "price"
            costs = says.partition("price: ")[2].split("; ")
            assert all(" ".join(cost.split()[:4]) in given.says for cost in costs)
        else:
            assert (says.partition("': ")[2] or says) in given.says or given.kind == "stuck"
        # it is the last that is a rule, an order of work or a price
        later = [r for r in reasons_of(plan.placed, visit_id) if r.first > given.last]
        assert not [r for r in later if r.rulings or r.kind in ("price", "waits", "stuck")]
        by_day += 1
    assert by_day > 10


def test_the_reason_does_not_change_from_day_to_day(branasol: SeasonPlan, tmp_path: Path) -> None:
    """A feed that is written daily would else change daily: all is logged, nothing moves."""
    site = demo(tmp_path, "branasol")
    book(site, hired_days(branasol))
    days = sorted({day for _, day in planned_days(branasol)})
    first, second = days[1], days[2]
    log(site, branasol, first)
    texts = []
    for as_of in (first + timedelta(days=1), second):
        plan = planned(site, as_of, published(branasol))
        reasons = {told_of(e.description): paragraph(e, "Why not sooner") for e in work(plan)}
        texts.append({v: why for v, why in reasons.items() if first_day(plan, v) > second})
    assert second - first > timedelta(days=2)
    assert len(texts[0]) > 30
    assert texts[0] == texts[1]


def first_day(plan: SeasonPlan, visit_id: str) -> date:
    return plan.placed.season.date_of(plan.placed.visits[visit_id].first)


def test_only_the_first_day_of_a_visit_tells_why_not_sooner(plan: SeasonPlan) -> None:
    later = [event for event in work(plan) if not event.key.endswith("/1")]
    assert later
    assert [event.key for event in later if "Why not sooner" in heads_of(event)] == []


def test_a_person_gets_the_own_days_and_hours_and_no_others(plan: SeasonPlan) -> None:
    feeds = feeds_by_name(plan)
    assert plan.placed.holding.crew.person
    for person in plan.placed.holding.crew.person:
        feed = feeds[f"person-{slug_of(person.name)}"]
        assert shown_days(feed) == planned_days(plan, person.name) != set()
        for event in feed.events:
            visit_id, days = told_of(event.description), days_of(event)
            each = Counter[str]()
            for task_id in plan.placed.groups[visit_id]:
                stint = plan.placed.stints[task_id]
                for n, people, shares in zip(stint.days, stint.people, stint.each_h, strict=True):
                    if plan.placed.season.date_of(n) in days:
                        each.update(dict(zip(people, shares, strict=True)))
            who = paragraph(event, "Who")
            assert who.startswith(f"you {each[person.name]:.1f} h"), event.key
            assert [name for name in each if name != person.name and name not in who] == []
            assert [p for p in plan.placed.holding.crew.person if p.name in who.split("hired")[0]
                    and p.name not in each] == []  # fmt: skip


def test_a_uid_stays_when_the_whole_visit_moves(branasol: SeasonPlan, tmp_path: Path) -> None:
    """The grower sets another day for the visit, not for one of its steps."""
    visit_id = "fondal.release"
    was = branasol.placed.season.date_of(branasol.placed.visits[visit_id].first)
    later = was + timedelta(days=7)
    site = demo(tmp_path, "branasol")
    own_date(site, visit_id, on=later)
    moved = planned(site, published=published(branasol))
    before, after = (of_visit(work(plan), visit_id) for plan in (branasol, moved))
    assert after[0].first == later
    assert paragraph(after[0], "Why not sooner").startswith("the grower has set it (visitors)")
    uids = [[uid_of("branasol", event.key) for event in events] for events in (before, after)]
    assert min(map(len, uids)) > 2
    assert all(one == two for one, two in zip(*uids, strict=False))
    # steps keep their order, and nothing of the visit stays behind
    assert all(event.first >= later for event in after)
    titles = [re.sub(r"day \d+ of \d+", "", event.title) for event in (before[0], after[0])]
    assert titles[0] == titles[1]
    # readers get another SEQUENCE for other days, and another stamp for what has changed alone
    then, now = datetime(2026, 11, 25, tzinfo=UTC), datetime(2026, 11, 26, tzinfo=UTC)
    old, new = (feeds_by_name(plan)["work"] for plan in (branasol, moved))
    written = feed_bytes(old, None, then)
    seen = {str(e.uid): e for e in seen_in(feed_bytes(new, written, now))}
    stood = {uid_of("branasol", event.key): event for event in old.events}
    kept = 0
    for event in new.events:
        uid = uid_of("branasol", event.key)
        was_event = stood.get(uid)
        if was_event is not None:
            moved_days = (was_event.first, was_event.last) != (event.first, event.last)
            assert seen[uid].sequence == int(moved_days), event.key
            same = replace(was_event, followers=()) == replace(event, followers=())
            assert seen[uid].dtstamp == (then if same else now), event.key
            kept += same
    assert kept > 20


@pytest.mark.parametrize(
    ("visit_id", "n_days"), [("fondal.dormant", 1), ("fondal.release", 1), ("ladeira.release", -1)]
)
def test_when_days_are_logged_the_next_keep_their_uid_and_their_number(
    branasol: SeasonPlan, tmp_path: Path, visit_id: str, n_days: int
) -> None:
    """Day 1, or all days but the last: what is left stands as it was published."""
    days = sorted(day for visit, day in planned_days(branasol) if visit == visit_id)
    logged, left = days[:n_days], days[n_days:]
    site = demo(tmp_path, "branasol")
    book(site, hired_days(branasol))
    log(site, branasol, logged[-1])
    rest = planned(site, logged[-1] + timedelta(days=1), published(branasol))
    before, after = (of_visit(work(plan), visit_id) for plan in (branasol, rest))
    assert [event.first for event in after] == left != []
    for one, two in zip(before[-len(left) :], after, strict=True):
        assert (one.key, one.title) == (two.key, two.title)
        # the words change only where the log speaks: what day 1 has told is not told again
        for head in ("Who", "Mind", "Safety", "Bring", "Daylight", "Why not sooner"):
            assert paragraph(one, head) == paragraph(two, head), head
    done = [
        event for event in done_events(rest.placed) if event.key.startswith(f"2027/{visit_id}/")
    ]
    assert [(e.key, e.first) for e in done] == [(e.key, e.first) for e in before[: len(logged)]]
    titles = {event.title for event in done}
    assert titles == {f"{before[0].title.partition(', day ')[0]}, done"}
    keys = [event.key for feed in feeds_once(rest) if feed.name == "work" for event in feed.events]
    assert len(keys) == len(set(keys))


def test_work_in_an_open_window_begins_its_title_with_it_and_says_so(tmp_path: Path) -> None:
    """Own last frost 10 May; the cut is set for 29 April, its rest waits until frost is over."""
    site = new_site(tmp_path / "site")
    own_date(site, "first-plot.cut-medium", on="2027-04-29")
    plan = planned(site)
    first, *rest = of_visit(work(plan), "first-plot.release")
    assert first.first == date(2027, 4, 29)
    assert first.title.startswith("First plot: FROST RISK until 10 May, release")
    assert first.description.startswith("WARNING: the frost window is still open until 10 May")
    assert paragraph(first, "Frost").startswith("the window is still open")
    assert rest
    for event in rest:
        assert event.first > date(2027, 5, 10)
        assert not event.title.startswith("Frost")
        assert "WARNING" not in event.description
        assert "still open" not in event.description


def test_work_of_two_tasks_keeps_one_event_while_only_the_first_is_done(tmp_path: Path) -> None:
    """Pruned, and not yet whitewashed: what is left keeps the entry, done work has none yet."""
    site, day, pruned = (
        demo(tmp_path, "branasol"),
        date(2027, 5, 10),
        "ladeira.cut-evergreen-fruit",
    )
    visit = f"{pruned}:mandarin"
    append_to_log(site, [LogEntry(date=day, plan="2027", task=visit)])
    plan = planned(site, day)
    assert len(plan.placed.groups[visit]) == 2
    keys = [event.key for event in (*work_events(plan), *done_events(plan.placed))]
    assert len(keys) == len(set(keys))
    (event,) = (event for event in work_events(plan) if f"/{visit}/" in event.key)
    assert "done" not in event.title
