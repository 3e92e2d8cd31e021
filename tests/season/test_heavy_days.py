"""Heavy days in a row: from the grower's files to the plan, and into words."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from scheduler.holding import Holding, LogEntry, read_holding
from scheduler.reasons import SeasonPlan, obstacle_words, plan_season
from scheduler.roster import Obstacle
from scheduler.roster.check import faults_in
from tests.sites import AS_OF, DEMOS, asks_for, demo, new_site, own_date, planned, published

LOG_DAY = date(2026, 11, 24)


def capped(holding: Holding, cap: int | None) -> Holding:
    return replace(holding, crew=replace(holding.crew, heavy_days_in_row=cap))


def longest_row(plan: SeasonPlan) -> int:
    stints = plan.placed.stints.items()
    days = sorted({day for t, s in stints if plan.placed.tasks[t].type.heavy for day in s.days})
    longest = row = 1
    for before, day in pairwise(days):
        row = row + 1 if day == before + 1 else 1
        longest = max(longest, row)
    return longest


@pytest.fixture(params=DEMOS)
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    found: SeasonPlan = request.getfixturevalue(request.param)
    return found


def test_a_demo_season_under_the_tightest_cap_is_proven_and_without_fault(
    plan: SeasonPlan,
) -> None:
    assert longest_row(plan) >= 2
    tight = plan_season(capped(plan.placed.holding, 1), AS_OF)
    assert longest_row(tight) == 1
    assert tight.placed.roster.proof == "proven"
    assert tight.placed.roster.left_out == ()
    assert faults_in(tight.placed.problem, tight.placed.roster) == ()
    assert "heavy-row" in {
        fault.rule for fault in faults_in(tight.placed.problem, plan.placed.roster)
    }


def test_a_cap_that_nothing_breaks_moves_nothing(plan: SeasonPlan) -> None:
    holding, free = plan.placed.holding, plan
    if holding.crew.heavy_days_in_row is not None:
        free = plan_season(capped(holding, None), AS_OF)
    wide = plan_season(capped(holding, 14), AS_OF)
    assert wide.placed.roster.stints == free.placed.roster.stints


def test_work_that_a_new_cap_moves_says_so(tmp_path: Path) -> None:
    site = demo(tmp_path, "branasol")
    asks_for(site, "dormant")
    before = planned(site)
    tight = plan_season(capped(before.placed.holding, 1), AS_OF, published=published(before))
    assert longest_row(before) > 1
    assert any("heavy work rests on" in move.because for move in tight.moves)


def test_a_day_beside_heavy_work_of_another_plot_is_told_with_what_fills_the_row(
    tmp_path: Path,
) -> None:
    """The grower sets a Friday for one plot; on the Thursday the other cannot be begun."""
    site = demo(tmp_path, "branasol")
    asks_for(site, "cut-dormant-tall", plots=("fondal", "ladeira"))
    own_date(site, "fondal.cut-dormant-tall", on=date(2027, 1, 8))
    tight = plan_season(capped(read_holding(site, AS_OF), 1), AS_OF)
    row = tight.placed.standing.asked(
        "ladeira.dormant", tight.placed.season.day_of(date(2027, 1, 7))
    )
    assert isinstance(row, Obstacle)
    assert obstacle_words(tight.placed, "ladeira.dormant", row).startswith(
        "it would make more than 1 heavy day in a row, the cap in crew.toml, with the dormant "
        "visit of O Fondal (hollow) on 8 Jan 2027"
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
    first = told.placed.season.first
    days = {first + timedelta(days=day) for day in told.placed.problem.heavy_worked}
    assert days == {LOG_DAY - timedelta(days=1), LOG_DAY}


def test_rest_and_what_was_logged_are_told_in_words(branasol: SeasonPlan) -> None:
    visit_id = "fondal.dormant"
    worked = replace(branasol.placed.problem, heavy_in_row=2, heavy_worked=frozenset({-2, -1}))
    placed = replace(branasol.placed, problem=worked)
    told = obstacle_words(placed, visit_id, Obstacle("heavy-row", "", 0, row=(-2, -1, 0)))
    assert told == (
        "it would make more than 2 heavy days in a row, the cap in crew.toml, with what was "
        "logged on 29 Nov 2026 to 30 Nov 2026"
    )
    told = obstacle_words(placed, visit_id, Obstacle("rests", "", 0))
    assert told.startswith("begun on 1 Dec 2026, with the rest that heavy_days_in_row asks for")


def test_all_work_overhead_is_heavy_and_no_heavy_work_is_light_on_the_body(
    branasol: SeasonPlan,
) -> None:
    """415 W is the class of sawing and laying; what is heavy: common practice, no source."""
    kinds = branasol.placed.holding.rules.tasks.values()
    overhead = [kind for kind in kinds if kind.overhead]
    assert overhead
    assert all(kind.heavy for kind in overhead)
    assert all(kind.effort_w >= 415 for kind in kinds if kind.heavy)
