"""Every earlier day has its reason, and each reason holds against the plan itself."""

from datetime import timedelta

import pytest

from scheduler.publish.price_words import busy_records
from scheduler.publish.reasons import Reason, reasons_of, why_record
from scheduler.roster.why import Obstacle, Price
from scheduler.season import SeasonPlan
from tests.sites import DEMOS


@pytest.fixture(params=DEMOS)
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    planned: SeasonPlan = request.getfixturevalue(request.param)
    return planned


@pytest.fixture
def reasons(plan: SeasonPlan) -> dict[str, tuple[Reason, ...]]:
    """The reasons of every sixth task: all of them would take half a minute."""
    return {task_id: reasons_of(plan, task_id) for task_id in list(plan.stints)[::6]}


def days_of(reason: Reason) -> set[int]:
    return {
        (reason.first + timedelta(days=n)).toordinal()
        for n in range((reason.last - reason.first).days + 1)
    }


def test_every_earlier_day_has_one_reason_or_a_rule(
    plan: SeasonPlan, reasons: dict[str, tuple[Reason, ...]]
) -> None:
    for task_id, told in reasons.items():
        closed = set().union(*(days_of(r) for r in told if r.ruling))
        unused = [day for r in told if not r.ruling for day in days_of(r)]
        assert len(unused) == len(set(unused)), "no day has two"
        assert closed.isdisjoint(unused)
        first = plan.season.date_of(plan.stints[task_id].first).toordinal()
        asked = range(max(plan.outlook.as_of, plan.season.first).toordinal(), first)
        assert closed | set(unused) == set(asked)


def test_a_wait_ends_where_it_says_and_the_busy_are_those_of_the_day(
    plan: SeasonPlan, reasons: dict[str, tuple[Reason, ...]]
) -> None:
    """Added up again from the stints alone."""
    seen = set()
    for task_id, told in reasons.items():
        for answer in (a for r in told for _, a in r.answers if isinstance(a, Obstacle)):
            seen.add(answer.kind)
            if answer.kind == "waits":
                ends = plan.stints[answer.about].last
                assert plan.stints[task_id].first >= answer.day >= ends
            if answer.kind == "crew":
                rows = busy_records(plan, task_id, answer)
                skills = answer.about.split("+")
                able = [w.name for w in plan.problem.workers if any(map(w.can, skills))]
                busy = sum(
                    hours
                    for stint in plan.stints.values()
                    for day, names, each in zip(
                        stint.days, stint.people, stint.each_h, strict=True
                    )
                    for name, hours in zip(names, each, strict=True)
                    if stint.job_id != task_id and day == answer.day and name in able
                )
                assert sum(row["work_h"] for row in rows) == pytest.approx(busy, abs=0.1)
                assert busy > 0
    busy_crew = {"crew"} if plan.holding.site.id == "branasol" else set()
    assert {"waits", "nobody"} | busy_crew <= seen


def test_a_job_that_waits_for_a_preferred_day_tells_the_price_of_the_free_days(
    keen: SeasonPlan,
) -> None:
    waits = [p.job_id for p in keen.roster.preferences if p.waited_days]
    assert waits
    for task_id in waits:
        free = [reason for reason in reasons_of(keen, task_id) if reason.kind == "price"]
        assert free
        for reason in free:
            assert "and would lose that" in reason.says
            assert "grower practice, not established science" in reason.says
        prices = [p for reason in free for _, p in reason.answers if isinstance(p, Price)]
        assert not any(price.gains for price in prices), "in a proven plan"
        assert all(0 < price.points <= 1 for price in prices)
    record = why_record(keen, waits[0])
    told = [row for r in record["earlier"] if r["kind"] == "price" for row in r["prices"]]
    assert all(0 < row.get("preference_points_lost", 1.0) <= 1 for row in told)


def test_a_weekend_does_not_part_what_has_one_reason(branasol: SeasonPlan) -> None:
    told = reasons_of(branasol, "fondal.weed-lines")
    assert len([r for r in told if r.kind == "too-early"]) == 1
    assert len(told) <= 6
