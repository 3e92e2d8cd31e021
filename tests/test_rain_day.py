"""What goes wrong in a season: a day of rain, somebody ill, a firm that comes a day later.

The plan is published, the firms are booked for its days, and all work before the visit is logged
as it was planned. Then the day comes. What growers do then is common practice, no source: the
visit is worked whole on later days, and the firm is asked at once.
"""

import re
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import pytest

from scheduler.calendars.work_events import work_events
from scheduler.reasons import SeasonPlan
from scheduler.roster.check import faults_in
from scheduler.terms import day_words
from tests.calendars.entries import told_of
from tests.sites import demo, planned, published
from tests.worked import Booked, away, book, close, hired_days, log, weekday_after

pytestmark = pytest.mark.slow
VISITS = {"branasol": "fondal.release", "klipskadu": "vlei.release"}
WEEK = timedelta(days=7)


class Season(NamedTuple):
    """A demo whose season has come to the first day of climbers in a visit.

    Args:
        site: its files.
        plan: the plan that was published.
        visit_id: the visit.
        booked: the climbers' days, with the kind of visit.
        day: the first of them in this visit.
    """

    site: Path
    plan: SeasonPlan
    visit_id: str
    booked: Booked
    day: date

    def now(self) -> SeasonPlan:
        """Planned anew that morning, the published days kept where that can be."""
        return planned(self.site, self.day, published(self.plan))


@pytest.fixture(params=VISITS)
def season(request: pytest.FixtureRequest, tmp_path: Path) -> Season:
    """Everything is logged but the visit's own days from the climbers' first on."""
    plan: SeasonPlan = request.getfixturevalue(request.param)
    visit_id = VISITS[request.param]
    site, booked = demo(tmp_path, request.param), hired_days(plan)
    steps = [
        plan.placed.stints[t] for t in plan.placed.groups[visit_id] if plan.placed.tasks[t].hired
    ]
    day = plan.placed.season.date_of(min(step.first for step in steps))
    assert any(on == day for on, _ in booked)
    log(site, plan, day - timedelta(days=1))
    return Season(site, plan, visit_id, booked, day)


def is_whole(plan: SeasonPlan, before: SeasonPlan, visit_id: str) -> None:
    """All that is left of a visit stands in one go, and nothing has lost its place."""
    assert faults_in(plan.placed.problem, plan.placed.roster) == ()
    assert not set(plan.placed.roster.left_out) & set(before.placed.visits)
    left = [t for t in before.placed.groups[visit_id] if t not in plan.placed.done]
    assert left
    days = sorted({day for t in left for day in plan.placed.stints[t].days})
    pauses = [two - one for one, two in pairwise(days)]
    assert max(pauses, default=1) <= plan.placed.holding.rules.figure("visit-pause")


def first_of(plan: SeasonPlan, visit_id: str) -> date:
    return plan.placed.season.date_of(plan.placed.visits[visit_id].first)


def asked(plan: SeasonPlan) -> list[tuple[str, str]]:
    return [(n.about, n.says) for n in plan.notices if n.code == "ask-hire"]


def days_in(says: str) -> list[date]:
    """The days that a notice asks a firm for."""
    told = re.search(r": ask .* for (.*); else it moves to ", says)
    assert told, says
    months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    parts = [day.split() for day in told[1].split(" and ")]
    return [date(int(year), 1 + months.index(month), int(day)) for day, month, year in parts]


def test_nothing_moves_where_the_day_is_dry(season: Season) -> None:
    book(season.site, season.booked)
    plan = season.now()
    assert [move for move in plan.moves if move.visit_id in season.plan.placed.visits] == []
    assert asked(plan) == []
    is_whole(plan, season.plan, season.visit_id)


def test_a_day_of_rain_moves_the_visit_whole_and_says_what_to_ask_the_firm_for(
    season: Season,
) -> None:
    book(season.site, season.booked)
    close(season.site, season.day)
    plan = season.now()
    is_whole(plan, season.plan, season.visit_id)
    now = first_of(plan, season.visit_id)
    assert now > season.day
    (move,) = [move for move in plan.moves if move.visit_id == season.visit_id]
    assert (move.was, move.now) == (season.day, now)
    assert "rain" in move.because
    # the booked days no longer do, and the notice of the firm keeps it from the next ones
    assert now - season.day > 2 * WEEK
    ((about, says),) = asked(plan)
    assert about == season.visit_id
    assert says.endswith(f"; else it moves to {day_words(now)}.")
    days = days_in(says)
    assert season.day < days[0] < season.day + 2 * WEEK
    assert not {*days} & {on for on, _ in season.booked}, "what is booked needs no asking"
    # in the calendar the same events stand on the later days
    events = [e for e in work_events(plan) if told_of(e.description) == season.visit_id]
    numbers = [int(event.key.rpartition("/")[2]) for event in events]
    first = 1 + len(plan.placed.logged_days(season.visit_id))
    assert numbers == list(range(first, first + len(events)))


def test_a_firm_that_says_yes_brings_the_visit_forward_again(season: Season) -> None:
    book(season.site, season.booked)
    close(season.site, season.day)
    ((_, says),) = asked(season.now())
    kind = season.plan.placed.tasks[season.plan.placed.groups[season.visit_id][0]].type.visit
    text = (season.site / "crew.toml").read_text(encoding="utf-8")
    more = "".join(f'{{ first = {d}, last = {d}, visit = "{kind}" }}, ' for d in days_in(says))
    (season.site / "crew.toml").write_text(text.replace("booked = [", f"booked = [{more}"))
    plan = season.now()
    is_whole(plan, season.plan, season.visit_id)
    assert season.day < first_of(plan, season.visit_id) < season.day + 2 * WEEK
    assert asked(plan) == []


def test_somebody_ill_for_the_days_of_a_visit_loses_no_work_its_place(season: Season) -> None:
    """The one with most hours in it."""
    book(season.site, season.booked)
    hours: dict[str, float] = {}
    for task_id in season.plan.placed.groups[season.visit_id]:
        stint = season.plan.placed.stints[task_id]
        for people, each in zip(stint.people, stint.each_h, strict=True):
            for name, share in zip(people, each, strict=True):
                hours[name] = hours.get(name, 0.0) + share
    name = max(hours, key=lambda name: hours[name])
    last = season.plan.placed.season.date_of(season.plan.placed.visits[season.visit_id].last)
    away(season.site, name, season.day, last)
    plan = season.now()
    is_whole(plan, season.plan, season.visit_id)
    ill = {plan.placed.season.day_of(season.day) + n for n in range((last - season.day).days + 1)}
    there = [
        day
        for stint in plan.placed.stints.values()
        for day, people in zip(stint.days, stint.people, strict=True)
        if day in ill and name in people
    ]
    assert there == []
    moved = [move for move in plan.moves if move.visit_id == season.visit_id]
    if first_of(plan, season.visit_id) - season.day > 2 * WEEK:
        assert moved
        assert [about for about, _ in asked(plan)] == [season.visit_id]
    for move in moved:
        assert move.because


def test_climbers_who_come_a_day_later_take_the_visit_along(season: Season) -> None:
    """No weekend among the days they give instead; what they are booked for is worked."""
    later: Booked = []
    for on, kind in season.booked:
        day = on if on < season.day else weekday_after(on)
        while (day, kind) in later:
            day = weekday_after(day)
        later.append((day, kind))
    book(season.site, sorted(later))
    plan = season.now()
    is_whole(plan, season.plan, season.visit_id)
    now = first_of(plan, season.visit_id)
    assert season.day <= now < season.day + WEEK
    assert asked(plan) == []
    given = {on for on, _ in later if on >= season.day}
    climbed = {
        plan.placed.season.date_of(day)
        for task_id in plan.placed.groups[season.visit_id]
        if task_id in plan.placed.stints and plan.placed.tasks[task_id].hired
        for day in plan.placed.stints[task_id].days
    }
    assert climbed
    assert climbed <= given
