"""No plan is given out unchecked, and what the solver leaves out though it fits is put in."""

from dataclasses import replace
from unittest.mock import patch

import pytest

from scheduler.roster import Order, Problem, Visit, solve
from scheduler.roster import search as searching
from scheduler.roster.search import Search
from scheduler.roster.solve import BrokenRuleError, Solving, effort_for
from tests.roster.judge import faults_in
from tests.roster.seasons import season_of_work
from tests.roster.small import CREW, SEASON, mask, one, step


@pytest.mark.parametrize("orders", [(), (Order("a", "b", 1),)])
def test_a_plan_that_breaks_a_rule_is_not_given_out(orders: tuple[Order, ...]) -> None:
    """As if the solver had put the one on top of the other."""
    hours = 6.0 if orders else 12.0  # what the crew has, or half of it
    problem = Problem(SEASON, (one("a", hours), one("b", hours)), orders, CREW)

    def crowd(search: Search, _effort: float) -> None:
        first = search.choices["b"][0].first
        search.plan = {
            visit_id: next(block for block in blocks if block.first == first)
            for visit_id, blocks in search.choices.items()
        }

    with patch.object(Search, "run", crowd), pytest.raises(BrokenRuleError, match=r"b$"):
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
