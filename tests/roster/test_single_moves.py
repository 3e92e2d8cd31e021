"""Small random seasons asked one move at a time, with the prices as a second opinion."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.roster import Problem, Roster, solve
from scheduler.roster.conflict import proven_full, room_for_all, smallest
from scheduler.roster.why import Answer, Obstacle, Price, Standing
from tests.roster.test_small_seasons import CREW, SEASON, N, job, mask, problems, published, worker


def left_out(roster: Roster) -> list[float]:
    return [round(stage.value, 3) for stage in roster.stages if stage.aim.startswith("fit")]


def ends(roster: Roster) -> int:
    return sum(stint.last for stint in roster.stints)


def unpreferred(problem: Problem) -> Problem:
    """The same without preferred days."""
    return replace(problem, jobs=tuple(replace(job, points=np.zeros(N)) for job in problem.jobs))


@settings(max_examples=150, deadline=None)
@given(problems())
def test_more_crew_is_never_worse(problem: Problem) -> None:
    """What fits, then the sum of the days on which work ends."""
    plain = unpreferred(problem)
    more = replace(plain, workers=(*plain.workers, worker("Cy", "ground-saw")))
    before, after = solve(plain), solve(more)
    assert left_out(after) <= left_out(before)
    if after.left_out == before.left_out:
        assert ends(after) <= ends(before)


@settings(max_examples=150, deadline=None)
@given(problems(), st.integers(0, 3), st.integers(1, N))
def test_a_later_gate_never_makes_a_better_plan(problem: Problem, which: int, gate: int) -> None:
    plain = unpreferred(problem)
    chosen = plain.jobs[which % len(plain.jobs)]
    later = replace(chosen, open=chosen.open & (np.arange(N) >= gate))
    jobs = tuple(later if job is chosen else job for job in plain.jobs)
    gated, free = solve(replace(plain, jobs=jobs)), solve(plain)
    assert left_out(free) <= left_out(gated)
    if free.left_out == gated.left_out:
        assert ends(free) <= ends(gated)


def elsewhere(problem: Problem, roster: Roster) -> Iterator[tuple[str, Answer, Problem]]:
    """Two jobs on every other day: what is answered, and the season with all of it pinned so."""
    standing = Standing(problem, roster)
    pinned = {stint.job_id: stint.first for stint in roster.stints}
    orders = tuple(o for o in problem.orders if {o.before, o.after} <= set(pinned))
    for stint in roster.stints[:2]:
        for day in set(range(N)) - {stint.first}:
            firsts = pinned | {stint.job_id: day}
            jobs = (job for job in problem.jobs if job.id in pinned)
            there = tuple(replace(job, fixed_first=firsts[job.id]) for job in jobs)
            asked = standing.asked(stint.job_id, day)
            yield stint.job_id, asked, replace(problem, jobs=there, orders=orders)


@settings(max_examples=150, deadline=None)
@given(problems())
def test_in_a_proven_plan_no_price_gains_and_every_answer_is_true(problem: Problem) -> None:
    """A free day is one on which the solver, all else pinned, can place the job, and no other."""
    roster = solve(problem)
    if roster.left_out:  # what is left out leaves choices whose preferred days are not weighed
        problem = unpreferred(problem)
        roster = solve(problem)
    assert roster.proof == "proven"
    for job_id, answer, there in elsewhere(problem, roster):
        assert not (isinstance(answer, Price) and answer.gains)
        if isinstance(answer, Price):
            assert solve(there).left_out == ()
        if isinstance(answer, Obstacle) and problem.by_id[job_id].open.all():
            assert solve(there).left_out != ()


@settings(max_examples=150, deadline=None)
@given(problems())
def test_planning_again_without_a_change_moves_nothing(problem: Problem) -> None:
    first = solve(problem)
    again = solve(published(problem, first))
    assert {s.job_id: s.days for s in again.stints} == {s.job_id: s.days for s in first.stints}
    assert again.left_out == first.left_out


@settings(max_examples=150, deadline=None)
@given(problems())
def test_a_first_plan_and_a_proof_of_fullness_never_meet(problem: Problem) -> None:
    room = room_for_all(problem)
    left = solve(problem).left_out
    assert room is None or left == ()
    assert proven_full(problem) == (left != ())


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


def test_a_closed_day_is_told_before_all_else() -> None:
    """Hand-made: one job on a day of its own, asked about another."""
    problem = Problem(SEASON, (job("a", open=mask(3)),), (), CREW)
    assert Standing(problem, solve(problem)).asked("a", 1) == Obstacle("closed", "", 1)
