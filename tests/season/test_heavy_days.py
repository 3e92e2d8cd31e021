"""Heavy days in a row: from the grower's files to the plan, and into words."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from scheduler.holding import Holding, LogEntry, read_holding
from scheduler.holding.plan import OwnDate
from scheduler.publish.reasons import why_table
from scheduler.roster import faults_in
from scheduler.roster.why import Obstacle
from scheduler.season import SeasonPlan, obstacle_words, plan_season
from tests.roster.test_steady import published
from tests.sites import AS_OF, DEMOS, new_site

LOG_DAY = date(2026, 11, 24)


def capped(holding: Holding, cap: int | None) -> Holding:
    return replace(holding, crew=replace(holding.crew, heavy_days_in_row=cap))


def longest_row(plan: SeasonPlan) -> int:
    stints = plan.stints.items()
    days = sorted({day for t, s in stints if plan.tasks[t].type.heavy for day in s.days})
    longest = row = 1
    for before, day in pairwise(days):
        row = row + 1 if day == before + 1 else 1
        longest = max(longest, row)
    return longest


@pytest.fixture(params=DEMOS)
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    planned: SeasonPlan = request.getfixturevalue(request.param)
    return planned


def test_a_demo_season_under_the_tightest_cap_is_proven_and_without_fault(
    plan: SeasonPlan,
) -> None:
    assert longest_row(plan) >= 2
    tight = plan_season(capped(plan.holding, 1), AS_OF)
    assert longest_row(tight) == 1
    assert tight.roster.proof == "proven"
    assert tight.roster.left_out == ()
    assert faults_in(tight.problem, tight.roster) == ()
    assert "heavy-row" in {fault.rule for fault in faults_in(tight.problem, plan.roster)}


def test_a_cap_that_nothing_breaks_moves_nothing(plan: SeasonPlan) -> None:
    free = plan_season(capped(plan.holding, None), AS_OF)
    wide = plan_season(capped(plan.holding, 14), AS_OF)
    assert wide.roster.stints == free.roster.stints


def test_work_that_a_new_cap_moves_says_so(branasol: SeasonPlan) -> None:
    tight = plan_season(capped(branasol.holding, 1), AS_OF, published=published(branasol))
    assert tight.moves
    assert any(
        "more than 1 heavy day in a row, the cap in crew.toml, with '" in move.because
        for move in tight.moves
    )


def test_why_tells_which_work_fills_the_row(branasol: SeasonPlan) -> None:
    """The grower cuts on one plot on a Friday; on the other it cannot be the Thursday."""
    friday = date(2027, 1, 8)
    own = OwnDate(task="fondal.cut-dormant-tall", on=friday, why="told")
    plan = branasol.holding.plan
    plan = replace(plan, says=replace(plan.says, own_date=(*plan.says.own_date, own)))
    holding = replace(capped(branasol.holding, 1), plan=plan)
    tight = plan_season(holding, AS_OF)
    assert tight.stints["socalco.cut-dormant-tall"].first == tight.season.day_of(friday)
    day, says = why_table(tight, "socalco.cut-dormant-tall").rows[-1]
    assert day == "7 Jan 2027"
    assert says.startswith(
        "it would make more than 1 heavy day in a row, the cap in crew.toml, with 'Cut tall "
        "leafless trees' in O Fondal (hollow) on 8 Jan 2027"
    )


def test_heavy_work_of_the_days_before_the_plan_counts(tmp_path: Path) -> None:
    """Logged on the three days up to today: of whatever plan, and only what is heavy."""
    site = new_site(tmp_path / "site")
    holding = capped(read_holding(site, AS_OF), 3)
    log = [
        LogEntry(date=LOG_DAY - timedelta(days=1), plan="2026", task="first-plot.chip"),
        LogEntry(date=LOG_DAY, plan="2027", task="first-plot.cut-high", percent=30),
        LogEntry(date=AS_OF, plan="2027", task="first-plot.weed-lines"),
        LogEntry(date=AS_OF, plan="2027", task="first-plot.no-such-work"),
        LogEntry(date=AS_OF + timedelta(days=1), plan="2027", task="first-plot.chip"),
    ]
    told = plan_season(replace(holding, log=tuple(log)), AS_OF)
    first = told.season.first
    days = {first + timedelta(days=day) for day in told.problem.heavy_worked}
    assert days == {LOG_DAY - timedelta(days=1), LOG_DAY}


def test_rest_and_what_was_logged_are_told_in_words(branasol: SeasonPlan) -> None:
    task_id = "fondal.cut-dormant-tall"
    worked = replace(branasol.problem, heavy_in_row=2, heavy_worked=frozenset({-2, -1}))
    placed = replace(branasol, problem=worked)
    told = obstacle_words(placed, task_id, Obstacle("heavy-row", "", 0, (), (-2, -1, 0)))
    assert told == (
        "it would make more than 2 heavy days in a row, the cap in crew.toml, with what was "
        "logged on 29 Nov 2026 to 30 Nov 2026"
    )
    told = obstacle_words(placed, task_id, Obstacle("rests", "", 0))
    assert told.startswith("begun on 1 Dec 2026, with the rest that heavy_days_in_row asks for")


def test_all_work_overhead_is_heavy_and_no_heavy_work_is_light_on_the_body(
    branasol: SeasonPlan,
) -> None:
    """415 W is the class of sawing and laying; what is heavy: common practice, no source."""
    for kind in branasol.holding.rules.tasks.values():
        assert kind.heavy or not kind.overhead
        assert kind.effort_w >= 415 or not kind.heavy
