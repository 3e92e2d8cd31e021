"""Small random seasons: no plan there is betters the answer, and all that it tells is true."""

from dataclasses import replace

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scheduler.roster import (
    Obstacle,
    Price,
    Problem,
    Roster,
    Standing,
    only_rules,
    proven_full,
    room_for_all,
    smallest,
    solve,
)
from scheduler.roster.check import faults_in
from scheduler.roster.result import AimName
from tests.roster.small import (
    N,
    blocks,
    days,
    every_plan,
    plain,
    plan_of,
    problems,
    published,
    stands,
    with_steps,
    worth,
)

AIMS: tuple[AimName, ...] = ("moved", "frost", "open_days", "shift_days")


@settings(max_examples=60, deadline=None)
@given(problems())
def test_no_plan_that_stands_is_better_and_the_stages_tell_what_it_has(problem: Problem) -> None:
    roster = solve(problem)
    assert faults_in(problem, roster) == ()
    assert roster.proof == "proven"
    mine = worth(problem, plan_of(roster, blocks(problem)))
    plans = sorted((worth(problem, p), n, p) for n, p in enumerate(every_plan(problem)))
    assert mine == next(least for least, _, plan in plans if stands(problem, plan))
    told = {(stage.aim.name, stage.aim.importance): stage.value for stage in roster.stages}
    for aim, value in zip(AIMS, mine[9:], strict=False):
        assert told.get((aim, 0), value) == value
    for level, value in zip(range(9, 0, -1), mine, strict=False):
        assert told.get(("fit", level), 0) == value


@settings(max_examples=30, deadline=None)
@given(problems())
def test_the_answer_is_the_same_twice_and_a_first_plan_has_no_fault(problem: Problem) -> None:
    assert solve(problem) == solve(problem)
    assert faults_in(problem, solve(problem, effort=0.0)) == ()


@settings(max_examples=60, deadline=None)
@given(problems())
def test_every_answer_about_another_day_is_true_and_no_price_gains(problem: Problem) -> None:
    roster = solve(problem)
    standing, choices = Standing(problem, roster), blocks(problem)
    plan = plan_of(roster, choices)
    assume(plan)
    for visit_id, now in plan.items():
        begins = {block.first: block for block in choices[visit_id]}
        for day in set(range(N)) - {now.first}:
            answer = standing.asked(visit_id, day)
            there = plan | {visit_id: begins[day]} if day in begins else {}
            assert isinstance(answer, Price) == (bool(there) and stands(problem, there))
            if isinstance(answer, Price) and not roster.left_out:
                assert worth(problem, plan) <= worth(problem, there)
            if isinstance(answer, Obstacle) and answer.kind == "heavy-row":
                assert len(answer.row) > (problem.heavy_in_row or 0)


@settings(max_examples=40, deadline=None)
@given(problems())
def test_planning_again_without_a_change_moves_nothing(problem: Problem) -> None:
    visits = tuple(replace(visit, published_first=None) for visit in problem.visits)
    fresh = replace(problem, visits=visits)
    first = solve(fresh)
    again = solve(published(fresh, first))
    assert days(again) == days(first)
    assert again.left_out == first.left_out


def left_out(roster: Roster) -> list[float]:
    return [stage.value for stage in roster.stages if stage.aim.name == "fit"]


def no_worse(problem: Problem, other: Problem) -> None:
    """What fits, then the sum of the days on which visits end, is no worse in the first.

    No law: a visit is packed alone, and what it may not do at once it may do better later.
    """
    one, two = solve(plain(problem)), solve(plain(other))
    assert left_out(one) <= left_out(two)
    if one.left_out == two.left_out:
        assert sum(v.last for v in one.visits) <= sum(v.last for v in two.visits)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(problems(), st.integers(0, 8), st.integers(1, N))
def test_a_later_gate_never_makes_a_better_plan(problem: Problem, which: int, gate: int) -> None:
    chosen = problem.steps[which % len(problem.steps)]
    later = replace(chosen, open=chosen.open & (np.arange(N) >= gate))
    visits = (
        replace(visit, steps=tuple(later if step is chosen else step for step in visit.steps))
        for visit in problem.visits
    )
    no_worse(problem, replace(problem, visits=tuple(visits)))


@settings(max_examples=40, deadline=None, derandomize=True)
@given(problems())
def test_a_looser_cap_is_never_worse(problem: Problem) -> None:
    """As long as no visit rests by itself under the tighter one: else its days are others."""
    tight = replace(problem, heavy_in_row=problem.heavy_in_row or 2)
    loose = replace(tight, heavy_in_row=(problem.heavy_in_row or 2) + 1)
    assume(shapes(tight) == shapes(loose))
    no_worse(loose, tight)


def shapes(problem: Problem) -> dict[str, list[tuple[int, ...]]]:
    return {visit_id: [block.days for block in bs] for visit_id, bs in blocks(problem).items()}


@settings(max_examples=30, deadline=None)
@given(problems())
def test_without_heavy_work_or_with_a_wide_cap_nothing_changes(problem: Problem) -> None:
    free = solve(replace(problem, heavy_in_row=None))
    assert solve(with_steps(problem, heavy=False)) == free
    assert days(solve(replace(problem, heavy_in_row=N + 5))) == days(free)


@settings(max_examples=30, deadline=None)
@given(problems())
def test_a_first_plan_and_a_proof_of_fullness_never_meet(problem: Problem) -> None:
    room = room_for_all(only_rules(problem))
    left = solve(problem).left_out
    assert room is None or left == ()
    assert proven_full(only_rules(problem)) == (left != ())


@settings(max_examples=60, deadline=None)
@given(st.sets(st.integers(0, 11), min_size=1), st.sets(st.integers(0, 11), min_size=1))
def test_the_filter_keeps_a_conflict_of_which_nothing_can_be_spared(
    one: set[int], other: set[int]
) -> None:
    """Two conflicts hidden among twelve statements: one of them is found, whole and alone."""

    def conflict(kept: frozenset[int]) -> bool:
        return one <= kept or other <= kept

    found = set(smallest(range(12), conflict))
    assert found in (one, other)
    assert not any(conflict(frozenset(found - {spared})) for spared in found)
