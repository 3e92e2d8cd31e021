"""Heavy days in a row: never more than the cap, and told why."""

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scheduler.roster import (
    CrewTeams,
    Obstacle,
    Order,
    Packer,
    Price,
    Problem,
    Roster,
    Standing,
    Stint,
    Visit,
    solve,
)
from scheduler.roster.check import faults_in
from scheduler.roster.result import Wait
from scheduler.roster.solve import Solving
from tests.roster.seasons import season_of_work
from tests.roster.small import MANY, SEASON, days, mask, one, problems, step, worker


def lasting(name: str, n_days: int, **changes: object) -> Visit:
    """Heavy work of one person that fills so many days, on a plot of its own."""
    return one(name, 6.0 * n_days, **({"plot": name, "team_max": 1, "heavy": True} | changes))


def capped(*visits: Visit, cap: int | None = 3, worked: tuple[int, ...] = ()) -> Problem:
    return Problem(SEASON, visits, (), MANY, (), cap, frozenset(worked))


# What a grower would say beforehand, by hand.


def test_work_longer_than_the_cap_rests_a_day_and_goes_on() -> None:
    roster = solve(capped(lasting("a", 5)))
    assert days(roster) == {"a": (0, 1, 2, 4, 5)}
    assert roster.visits[0].waits == (Wait(3, "a", "rests"),)
    assert days(solve(capped(lasting("a", 5, heavy=False)))) == {"a": (0, 1, 2, 3, 4)}
    assert days(solve(capped(lasting("a", 5), cap=None))) == {"a": (0, 1, 2, 3, 4)}


def test_the_steps_of_a_visit_share_one_row_and_light_ones_go_on() -> None:
    """Two heavy days, half a light one; the next heavy step waits for the day after."""
    steps = (
        step("a", 12.0, team_max=1, heavy=True),
        step("b", 3.0, team_max=1),
        step("c", 3.0, team_max=1, heavy=True),
    )
    orders = (Order("a", "b"), Order("b", "c"))
    problem = replace(capped(Visit("v", steps), cap=2), orders=orders)
    assert days(solve(problem)) == {"a": (0, 1), "b": (2,), "c": (3,)}


def test_a_day_off_or_a_closed_day_is_rest_enough() -> None:
    crew = (worker("Ana", hours=[6, 6, 6, 0, 6, 6, 6, 6]),)
    problem = replace(capped(lasting("a", 6)), workers=crew)
    assert days(solve(problem)) == {"a": (0, 1, 2, 4, 5, 6)}
    assert days(solve(capped(lasting("a", 4, open=~mask(2)), cap=2))) == {"a": (0, 1, 3, 4)}


def test_heavy_work_on_two_plots_shares_one_row() -> None:
    """Two heavy days each: three in a row are too many, and one day may bear both."""
    both = solve(capped(lasting("a", 2), lasting("b", 2), cap=2))
    assert set(days(both).values()) == {(0, 1)}
    first, second = lasting("a", 2, open=mask(0, 1)), lasting("b", 2, open=~mask(0, 1))
    assert days(solve(capped(first, second, cap=2))) == {"a": (0, 1), "b": (3, 4)}
    light = lasting("b", 2, open=~mask(0, 1), heavy=False)
    assert days(solve(capped(first, light, cap=2))) == {"a": (0, 1), "b": (2, 3)}


def test_days_worked_before_the_plan_count() -> None:
    assert days(solve(capped(lasting("a", 2, fixed_first=0), worked=(-1, -2)))) == {"a": (0, 2)}
    assert days(solve(capped(lasting("a", 1), worked=(-1, -2, -3)))) == {"a": (1,)}
    assert days(solve(capped(lasting("a", 1), worked=(-1, -3, -4)))) == {"a": (0,)}


def test_days_worked_and_two_visits_fill_one_row_together() -> None:
    first, second = lasting("a", 1, open=mask(0)), lasting("b", 1, open=mask(1, 5))
    assert days(solve(capped(first, second, cap=2, worked=(-1,)))) == {"a": (0,), "b": (5,)}
    assert days(solve(capped(first, second, cap=2))) == {"a": (0,), "b": (1,)}


def test_days_worked_after_the_growers_own_day_count_too() -> None:
    problem = capped(lasting("a", 1, fixed_first=2), cap=1, worked=(3,))
    assert solve(problem).left_out == ("a",)
    assert solve(replace(problem, heavy_worked=frozenset({4}))).left_out == ()


def test_a_day_that_is_heavy_already_is_spent_and_may_be_used_again() -> None:
    problem = capped(lasting("a", 2), cap=2, worked=(-1, 0))
    assert days(solve(problem)) == {"a": (0, 2)}
    assert faults_in(problem, solve(problem)) == ()
    full = capped(lasting("a", 1), cap=2, worked=(-2, -1, 0))
    assert days(solve(full)) == {"a": (0,)}
    assert faults_in(full, solve(full)) == ()


def test_what_was_worked_too_long_is_no_fault_of_the_plan() -> None:
    problem = capped(lasting("a", 1), cap=2, worked=(-4, -3, -2, -1))
    assert days(solve(problem)) == {"a": (1,)}
    assert faults_in(problem, solve(problem)) == ()


def test_what_the_cap_leaves_no_room_for_is_left_out_by_importance() -> None:
    dear = lasting("dear", 2, open=mask(2, 3), importance=9)
    cheap = lasting("cheap", 1, open=mask(1), importance=1)
    assert solve(capped(cheap, dear, cap=2)).left_out == ("cheap",)
    assert solve(capped(cheap, dear, cap=3)).left_out == ()


@settings(max_examples=40, deadline=None)
@given(problems(), st.integers(0, 2))
def test_later_begins_never_end_earlier_and_no_row_is_too_long(
    problem: Problem, which: int
) -> None:
    visit, cap = problem.visits[which % len(problem.visits)], problem.heavy_in_row or 99
    found = Packer(problem, CrewTeams(problem)).blocks(visit)
    assume(found)
    for n in range(len(visit.steps)):
        ends = [(block.parts[n].first, block.parts[n].last) for block in found]
        assert sorted(first for first, _ in ends) == [first for first, _ in ends]
        assert sorted(last for _, last in ends) == [last for _, last in ends]
    for block in found:
        parts = zip(visit.steps, block.parts, strict=True)
        heavy = {day for step, part in parts if step.heavy for day in part.days}
        spent, new = heavy | problem.heavy_worked, heavy - problem.heavy_worked
        assert not any(all(d - back in spent for back in range(cap + 1)) for d in new)


def test_where_rest_would_fall_on_the_better_days_a_later_begin_is_better() -> None:
    """An hour, rest, an hour, rest ... or six hours a day later; by hand."""
    crew = (worker("Ana", hours=[1, 6, 1, 6, 1, 6, 1, 6]),)
    problem = replace(capped(lasting("a", 1), cap=1), workers=crew)
    assert days(solve(problem)) == {"a": (1,)}
    shorter = replace(problem, visits=(one("a", 4.0, plot="a", team_max=1, heavy=True),))
    assert Standing(shorter, solve(shorter)).asked("a", 0) == Obstacle("rests", "", 0)
    first = one("b", 1.0, plot="a", open=mask(2))
    after = replace(shorter, visits=(first, *shorter.visits), orders=(Order("b", "a"),))
    told = Standing(after, solve(after)).asked("a", 1)
    assert told == Obstacle("waits", "b", 2, "b"), "the order of work is told first"


# The checker's own rule, broken.


def rules(problem: Problem, roster: Roster, **there: tuple[int, ...]) -> set[str]:
    stints = tuple(_on(stint, there.get(stint.step_id, stint.days)) for stint in roster.stints)
    return {fault.rule for fault in faults_in(problem, replace(roster, stints=stints))}


def _on(stint: Stint, there: tuple[int, ...]) -> Stint:
    return replace(stint, days=there)


def test_the_checker_sees_a_row_too_long() -> None:
    problem = capped(lasting("a", 4), lasting("b", 1))
    roster = solve(problem)
    assert rules(problem, roster, a=(0, 1, 2, 4), b=(0,)) == set()
    assert rules(problem, roster, a=(0, 1, 2, 3), b=(0,)) == {"heavy-row"}
    assert rules(problem, roster, a=(0, 1, 2, 4), b=(3,)) == {"heavy-row"}
    assert rules(problem, roster, a=(1, 2, 3, 5), b=(0,)) == {"heavy-row"}
    assert rules(problem, roster, a=(1, 2, 3, 5), b=(7,)) == set()


def test_the_checker_counts_what_was_worked_before() -> None:
    problem = capped(lasting("a", 2), cap=2, worked=(-1,))
    roster = solve(problem)
    assert rules(problem, roster, a=(0, 2)) == set()
    assert rules(problem, roster, a=(0, 1)) == {"heavy-row"}
    assert rules(replace(problem, heavy_worked=frozenset()), roster, a=(0, 1)) == set()


# Who stands in the way, and what belongs together.


def test_the_work_that_stands_in_the_row_is_told() -> None:
    two, single = lasting("two", 2, open=mask(2, 3)), lasting("one", 1, open=~mask(2, 3))
    problem = capped(single, two, cap=2)
    standing = Standing(problem, solve(problem))
    for day, row in ((1, (1, 2, 3)), (4, (2, 3, 4))):
        told = standing.asked("one", day)
        assert told == Obstacle("heavy-row", "", day, beside=("two",), row=row)
    assert isinstance(standing.asked("one", 5), Price)
    worked = capped(single, cap=2, worked=(-1, -2))
    told = Standing(worked, solve(worked)).asked("one", 0)
    assert told == Obstacle("rests", "", 0, "one")


def test_only_rows_that_could_grow_too_long_are_asked_about() -> None:
    def asked(*visits: Visit) -> set[int]:
        return set(Solving(capped(*visits, cap=2)).search.model.heavy)

    early = lasting("a", 2, open=mask(0, 1))
    assert asked(early, lasting("b", 2, open=mask(2, 3))) == {0, 1, 2, 3}
    assert asked(early, lasting("b", 2, open=mask(3, 4))) == set()
    assert asked(early, lasting("b", 2, open=mask(2, 3), heavy=False)) == set()


@pytest.mark.parametrize("cap", [1, 2])
def test_a_whole_season_under_a_cap_is_proven(cap: int) -> None:
    problem = season_of_work(4, load=0.5, heavy_in_row=cap, seed=3)
    roster = solve(problem)
    assert faults_in(problem, roster) == ()
    assert roster.proof == "proven"
    free = solve(replace(problem, heavy_in_row=None))
    assert "heavy-row" in {fault.rule for fault in faults_in(problem, free)}
