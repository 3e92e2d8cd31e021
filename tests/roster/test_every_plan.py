"""Small random seasons: no plan that there is, and no single move, is better than the answer."""

from hypothesis import given, settings

from scheduler.roster import Problem, faults_in, solve
from tests.roster.small import blocks, every_plan, plan_of, problems, stands, worth


@settings(max_examples=4000, deadline=None)
@given(problems())
def test_no_plan_that_stands_is_better(problem: Problem) -> None:
    roster = solve(problem)
    assert faults_in(problem, roster) == ()
    assert roster.proof == "proven"
    mine = worth(problem, plan_of(roster, blocks(problem)))
    plans = sorted(((worth(problem, plan), n, plan) for n, plan in enumerate(every_plan(problem))), key=lambda p: p[:2])
    best = next(worth for worth, _, plan in plans if stands(problem, plan))
    assert mine == best
