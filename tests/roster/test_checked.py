"""No plan is given out unchecked, and what the solver leaves out though it fits is put in."""

from dataclasses import replace
from importlib import import_module
from unittest.mock import patch

import pytest

from scheduler.roster import Problem, Visit, solve
from scheduler.roster import search as searching
from scheduler.roster.check import Breach, BrokenRuleError, faults_in
from scheduler.roster.solve import Solving, effort_for
from tests.roster.seasons import season_of_work
from tests.roster.small import CREW, SEASON, mask, one, step

solving = import_module("scheduler.roster.solve")  # the room gives its function that name


def test_a_plan_that_breaks_a_rule_is_not_given_out() -> None:
    problem = Problem(SEASON, (one("prune"),), (), CREW)
    fault = Breach("window", "prune", 3, "closed")
    with (
        patch.object(solving, "faults_in", return_value=(fault,)),
        pytest.raises(BrokenRuleError, match=r"window of prune \(day 3\): closed"),
    ):
        solve(problem)


def test_a_visit_that_pauses_too_long_is_a_fault() -> None:
    steps = (step("cut", open=mask(0)), step("clear", open=mask(4)))
    loose = Problem(SEASON, (Visit("low.release", steps, pause_days=4),), (), CREW)
    roster = solve(loose)
    assert roster.left_out == ()
    tight = replace(loose, visits=(replace(loose.visits[0], pause_days=3),))
    (fault,) = faults_in(tight, roster)
    assert (fault.rule, fault.about, fault.day) == ("pause", "low.release", 4)
    assert solve(tight).left_out == ("low.release",)


def test_what_fits_beside_a_plan_of_the_solver_is_put_in() -> None:
    problem = season_of_work(4, load=1.2, seed=3)
    search = Solving(problem).search
    whole = dict(search.plan)
    follow = {before for before, after in problem.ties if before != after}
    *_, one, two = (visit_id for visit_id in sorted(whole) if visit_id not in follow)
    some = {visit_id: block for visit_id, block in whole.items() if visit_id not in (one, two)}
    search.plan = {**some, one: whole[one]}
    search.reached = search.amounts(search.plan)
    search.adopt(some)
    assert search.plan.keys() == whole.keys()


def test_a_few_visits_at_a_time_better_a_plan_that_keeps_what_was_reached() -> None:
    search = Solving(season_of_work(4, load=1.2, seed=3)).search
    before, bounds = search.reached, dict(search.bounds)
    *earlier, last = search.terms.values()
    for terms, amount in zip(earlier, before, strict=False):
        search.model.hold(terms, amount)
    with patch.object(searching, "NEAR", 16):
        search.better_in_turn(last, 0.2)
    bettered = search.reached < before  # short words where it fails
    assert bettered
    assert search.reached == search.amounts(search.plan)
    assert 0 < search.spent < 0.25
    assert search.bounds == bounds, "a bound with most visits fixed is none of the whole"


def test_the_effort_grows_no_faster_than_the_visits() -> None:
    efforts = {n: effort_for(season_of_work(n)) for n in (1, 20, 80)}
    assert efforts[1] == 1.0
    assert efforts[80] <= 4 * efforts[20]
