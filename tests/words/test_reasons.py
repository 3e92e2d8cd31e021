"""Every earlier day has its reason, and each reason holds against the plan itself."""

import math
from datetime import date, timedelta
from pathlib import Path

import pytest

from scheduler.reasons import SeasonPlan
from scheduler.roster import Obstacle, Price
from scheduler.terms import day_words
from scheduler.words import why_record, why_table
from scheduler.words.price_words import _busy
from scheduler.words.why_day import DAYS_OFF, Reason, reasons_of
from tests.calendars.entries import campaigns
from tests.sites import DEMOS, edit, new_site, planned

Reasons = dict[str, tuple[Reason, ...]]


@pytest.fixture(scope="module", params=DEMOS)
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    planned: SeasonPlan = request.getfixturevalue(request.param)
    return planned


@pytest.fixture(scope="module")
def reasons(plan: SeasonPlan) -> Reasons:
    return {visit_id: reasons_of(plan.placed, visit_id) for visit_id in plan.placed.visits}


def days_of(reason: Reason) -> list[date]:
    n_days = (reason.last - reason.first).days + 1
    return [reason.first + timedelta(days=n) for n in range(n_days)]


def obstacles(reasons: Reasons) -> list[tuple[str, Reason, int, Obstacle]]:
    return [
        (visit_id, reason, day, answer)
        for visit_id, told in reasons.items()
        for reason in told
        for day, answer in reason.answers
        if isinstance(answer, Obstacle)
    ]


def test_every_earlier_day_has_one_reason(plan: SeasonPlan, reasons: Reasons) -> None:
    assert len(reasons) > 20
    for visit_id, told in reasons.items():
        days = [day for reason in told for day in days_of(reason)]
        since = max(plan.placed.outlook.as_of, plan.placed.season.first)
        until = plan.placed.season.date_of(plan.placed.visits[visit_id].first)
        assert days == [since + timedelta(days=n) for n in range((until - since).days)]
        asked = [plan.placed.season.date_of(day) for reason in told for day, _ in reason.answers]
        assert asked == days


def test_a_closed_day_is_closed_to_a_step_and_its_rules_have_sources(
    plan: SeasonPlan, reasons: Reasons
) -> None:
    closed = [(reason, day, what) for _, reason, day, what in obstacles(reasons) if what.step]
    closed = [row for row in closed if row[2].kind == "closed"]
    assert closed
    for reason, day, what in closed:
        closing = plan.placed.windows[what.step].closing(day)
        assert closing
        assert all(ruling.source for ruling in closing)
        if reason.kind == "closed":
            assert {r.rule_id for r in closing} == {r.rule_id for r in reason.rulings}


def test_what_is_waited_for_comes_before_and_its_end_is_told(
    plan: SeasonPlan, reasons: Reasons
) -> None:
    waits = [row for row in obstacles(reasons) if row[3].kind == "waits"]
    assert waits
    for visit_id, reason, day, what in waits:
        assert what.day > day
        orders = [
            o for o in plan.placed.problem.ties[what.about, visit_id] if o.before == what.step
        ]
        assert orders
        ends = plan.placed.stints[what.step].last
        assert all(plan.placed.stints[o.after].first >= ends + o.min_days for o in orders)
        if reason.kind == "waits":
            assert f"ends on {day_words(plan.placed.season.date_of(ends))}" in reason.says


def test_the_busy_are_those_of_the_day(plan: SeasonPlan, reasons: Reasons) -> None:
    """Added up again from the stints alone."""
    kinds = {what.kind for *_, what in obstacles(reasons)}
    assert {"closed", "nobody", "waits"} <= kinds
    busy_days = [row for row in obstacles(reasons) if row[3].kind == "crew"]
    assert busy_days or plan.placed.holding.site.id != "branasol", "its crew is short"
    for visit_id, _, _, what in busy_days:
        rows = _busy(plan.placed, visit_id, what)
        skills = what.about.split("+")
        able = [w.name for w in plan.placed.problem.workers if any(map(w.can, skills))]
        busy = sum(
            hours
            for stint in plan.placed.stints.values()
            for day, names, each in zip(stint.days, stint.people, stint.each_h, strict=True)
            for name, hours in zip(names, each, strict=True)
            if plan.placed.visit_of[stint.step_id] != visit_id and day == what.day and name in able
        )
        assert math.isclose(sum(hours for *_, hours in rows), busy, abs_tol=0.1)
        assert busy > 0


def test_a_weekend_does_not_part_what_has_one_reason(reasons: Reasons) -> None:
    parted = [
        off
        for told in reasons.values()
        for one, off, other in zip(told, told[1:], told[2:], strict=False)
        if off.kind in DAYS_OFF and len(off.answers) <= 6 and one.says == other.says
    ]
    assert parted == []
    joined = [
        reason
        for told in reasons.values()
        for reason in told
        if reason.kind not in DAYS_OFF
        and any(isinstance(a, Obstacle) and a.kind in DAYS_OFF for _, a in reason.answers)
    ]
    assert len(joined) > 10


def test_a_visit_that_waits_for_a_preferred_day_tells_the_price_of_the_free_days(
    tmp_path: Path,
) -> None:
    """Frost ends on 10 May, the Moon is full on 20 May 2027 (published almanacs, from memory)."""
    site = new_site(tmp_path / "site")
    edit(site, "site.toml", "practice = false", "practice = true")
    plan = planned(site)
    (one,) = [p for p in plan.placed.roster.preferences if p.visit_id == "first-plot.release"]
    assert one.met
    assert plan.placed.season.date_of(plan.placed.visits[one.visit_id].first) > date(2027, 5, 20)
    told = [
        r for r in reasons_of(plan.placed, one.visit_id) if "lose its preferred days" in r.says
    ]
    assert told
    for reason in told:
        assert reason.kind == "price"
        assert reason.last <= date(2027, 5, 20)
        assert "grower practice, not established science" in reason.says
        prices = [answer for _, answer in reason.answers if isinstance(answer, Price)]
        assert prices
        assert any(price.points > 0 for price in prices)


def test_why_speaks_of_a_whole_visit_or_of_one_step(branasol: SeasonPlan) -> None:
    visit_id = next(v for v in campaigns(branasol) if len(branasol.placed.groups[v]) > 4)
    ids = branasol.placed.groups[visit_id]
    whole = why_table(branasol, visit_id)
    assert [line for line in whole.foot if line.startswith("Open for ")]
    for task_id in ids:
        heads = [line for line in whole.foot if line.strip().startswith(
            f"{branasol.placed.tasks[task_id].type.title} ({task_id})")]  # fmt: skip
        assert len(heads) == 1
    step = why_table(branasol, ids[1])
    assert (step.title, step.rows) == (whole.title, whole.rows), "a step begins with its visit"
    assert f"({ids[1]})" in "\n".join(step.foot)
    assert f"({ids[2]})" not in "\n".join(step.foot)
    records = why_record(branasol, visit_id), why_record(branasol, ids[1])
    assert [r["visit"] for r in records] == [visit_id, visit_id]
    assert set(records[1]["days"]) < set(records[0]["days"])


def test_why_tells_what_is_laid_once_and_by_line_where_that_is_known(branasol: SeasonPlan) -> None:
    lays = [t for t in branasol.placed.tasks.values() if t.type.id.startswith("lay-")]
    assert lays
    by_line = 0
    for task in branasol.placed.tasks.values():
        said = "\n".join(why_table(branasol, task.id).foot)
        assert "e+0" not in said, "amounts are written as people write them"
        laid = ("Mulch by line" in said) + ("Layers from the ground up" in said)
        assert laid <= (task in lays or not task.type.cuts), task.id
        by_line += "Mulch by line" in said
    assert by_line
