"""Large parts: the prices' bound holds, pieces only improve, and every plan is checked."""

from dataclasses import replace

import numpy as np
import pytest

from scheduler.roster import Kit, Problem, Roster, faults_in, solve
from scheduler.roster.large import Large
from scheduler.roster.why import Obstacle, Standing
from tests.roster.seasons import season_of_work
from tests.roster.test_small_seasons import CREW, SEASON, N, days, job


@pytest.fixture
def four_plots() -> Problem:
    return season_of_work(4, per_plot=12, load=0.5, seed=3)


def by_pieces(problem: Problem, effort: float = 6.0) -> Roster:
    """The same, made to think every part large."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("scheduler.roster.search.LARGE", 0)
        return solve(problem, effort=effort)


@pytest.mark.slow
def test_prices_give_a_bound_below_the_proven_best_and_pieces_a_plan_above_it(
    four_plots: Problem,
) -> None:
    exact, pieces = solve(four_plots), by_pieces(four_plots)
    assert exact.proof == "proven"
    best = exact.stages[-1].value
    assert pieces.stages[-1].bound <= best + 1e-6
    assert best - 1e-6 <= pieces.stages[-1].value <= 1.05 * best
    assert faults_in(four_plots, pieces) == ()
    first = solve(four_plots, effort=0.0)
    assert [s.value for s in pieces.stages] <= [s.value for s in first.stages]


@pytest.mark.slow
def test_pieces_give_the_same_answer_twice(four_plots: Problem) -> None:
    assert by_pieces(four_plots) == by_pieces(four_plots)


@pytest.mark.slow
@pytest.mark.parametrize("block_days", [0.0, None])
def test_a_plan_made_first_for_a_long_model_changes_no_proof(
    block_days: float | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    problem = season_of_work(3, per_plot=12, load=0.4, seed=3, block_days=block_days)
    exact, prepared = solve(problem), []
    improve = Large.solve

    def noted(self: Large, effort: float, seconds: float | None) -> None:
        improve(self, effort, seconds)
        prepared.append(dict(self.search.known))

    monkeypatch.setattr("scheduler.roster.search.LONG", 0)
    monkeypatch.setattr(Large, "solve", noted)
    again = solve(problem)
    assert again.proof == exact.proof == "proven"
    assert again.stages == exact.stages
    assert faults_in(problem, again) == ()
    (known,) = prepared
    assert known["waiting_days"] > 0


def chipper(block_days: float) -> Problem:
    """Two short jobs on different plots; the second opens two days after the first."""
    one = job("a", 2.0, plot="x", uses={"chipper": 1})
    two = job("b", 2.0, plot="y", uses={"chipper": 1}, open=np.arange(N) >= 2)
    kit = Kit("chipper", np.ones(N, dtype=np.int64), 100.0, block_days)
    return Problem(SEASON, (one, two), (), CREW, (kit,))


def test_a_block_of_hire_less_is_worth_its_days_of_waiting_and_no_more() -> None:
    apart, together = solve(chipper(1.0)), solve(chipper(3.0))
    assert days(apart) == {"a": (0,), "b": (2,)}
    assert days(together)["a"] in {(1,), (2,)}
    assert [len(roster.hires) for roster in (apart, together)] == [2, 1]
    assert apart.proof == together.proof == "proven"


def test_a_day_of_hire_is_paid_once_though_two_jobs_use_it() -> None:
    problem = chipper(0.0)
    jobs = tuple(replace(one, open=np.arange(N) == 2) for one in problem.jobs)
    roster = solve(replace(problem, jobs=jobs))
    assert [(use.days, use.cost) for use in roster.hires] == [((2,), 100.0)]


def test_every_preference_is_listed_with_what_it_cost() -> None:
    points = np.where(np.arange(N) == 3, 3.5, 0.0)
    met = solve(Problem(SEASON, (job("a", points=points),), (), CREW)).preferences
    assert [(p.job_id, p.met, p.waited_days) for p in met] == [("a", True, 3)]
    jobs = (job("a", points=points), job("b", 12.0, plot="y", fixed_first=3))
    problem = Problem(SEASON, jobs, (), CREW)
    missed = solve(problem)
    told = [(p.met, p.points_best, p.waited_days) for p in missed.preferences]
    assert told == [(False, 3.5, 0)]
    assert Standing(problem, missed).preferred("a") == (3, Obstacle("crew", "hands", 3, ("b",)))
