"""Visits on small random holdings: whole, without fault, and open for no longer than must be."""

from dataclasses import replace
from random import Random
from typing import TypeVar

import numpy as np
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from scheduler.roster import Obstacle, Problem, Roster, Standing, only_rules, room_for_all, solve
from scheduler.roster.check import faults_in
from tests.roster.small import N, blocks, days, problems, published, worker

T = TypeVar("T")
often = settings(
    max_examples=30,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.filter_too_much],
)


@often
@given(problems(), st.sampled_from([0.0, 60.0]))
def test_no_roster_has_half_a_visit_or_a_fault(problem: Problem, effort: float) -> None:
    roster = solve(problem, effort=effort)
    assert faults_in(problem, roster) == ()
    placed = days(roster)
    for visit in problem.visits:
        ids = {step.id for step in visit.steps}
        assert ids <= placed.keys() or not ids & placed.keys()
        assert (visit.id in roster.left_out) == (not ids & placed.keys())


@often
@given(problems())
def test_nobody_is_alone_where_the_team_asks_for_two(problem: Problem) -> None:
    roster = solve(problem)
    pairs = [stint for stint in roster.stints if problem.by_id[stint.step_id].n_people > 1]
    assume(pairs)
    for stint in pairs:
        for hours, elapsed_h, each_h in zip(
            stint.hours, stint.elapsed_h, stint.each_h, strict=True
        ):
            assert hours >= 2 * elapsed_h - 1e-6
            assert len(each_h) >= 2
            assert max(each_h) <= elapsed_h + 1e-6, "so at no time one person alone"


def without(problem: Problem, day: int) -> Problem:
    """The same, nobody there on a day."""
    dry = np.arange(N) != day
    workers = (replace(worker, hours=worker.hours * dry) for worker in problem.workers)
    return replace(problem, workers=tuple(workers))


@often
@given(problems(), st.integers(0, N - 1))
def test_a_day_of_rain_drops_no_visit_that_fits_the_season(problem: Problem, n: int) -> None:
    before = solve(problem)
    worked = sorted({day for stint in before.stints for day in stint.days})
    assume(worked)
    rainy = without(problem, worked[n % len(worked)])
    kept = solve(published(rainy, before))
    assert faults_in(rainy, kept) == ()
    assert lost(problem, kept) == lost(problem, solve(only_rules(rainy)))
    assert room_for_all(only_rules(rainy)) is None or kept.left_out == ()


def lost(problem: Problem, roster: Roster) -> list[int]:
    """The importance of what is left out, the largest first."""
    levels = (problem.visit_by_id[visit_id].importance for visit_id in roster.left_out)
    return sorted(levels, reverse=True)


@settings(often, max_examples=15)
@given(problems())
def test_a_visit_open_longer_than_need_be_has_something_in_the_way(problem: Problem) -> None:
    """Every begin of the least span is taken, or dearer in what stands above the open days."""
    visits = tuple(replace(visit, lies_open=True) for visit in problem.visits)
    problem = replace(problem, visits=visits)
    roster = solve(problem)
    longer = [visit for visit in roster.visits if visit.span_days > visit.least_span_days]
    assume(longer)
    standing, choices = Standing(problem, roster), blocks(problem)
    for visit in longer:
        begins = [b.first for b in choices[visit.visit_id] if b.span_days == visit.least_span_days]
        assert begins
        for first in begins:
            answer = standing.asked(visit.visit_id, first)
            assert isinstance(answer, Obstacle) or (answer.moved, answer.risk) > (0, 0.0)


@often
@given(problems(), st.randoms(use_true_random=False))
def test_the_order_of_entry_does_not_matter(problem: Problem, random: Random) -> None:
    other = replace(
        problem,
        visits=shuffled(problem.visits, random),
        orders=shuffled(problem.orders, random),
        workers=shuffled(problem.workers, random),
        kits=shuffled(problem.kits, random),
    )
    assert solve(other) == solve(problem)


def shuffled(entries: tuple[T, ...], random: Random) -> tuple[T, ...]:
    return tuple(random.sample(entries, len(entries)))


@often
@given(problems())
def test_more_crew_never_keeps_visits_open_longer(problem: Problem) -> None:
    """No law: packed alone with the largest team, a visit may crowd another out.

    Of seven thousand crowded seasons ten were so; with a cap of heavy days there are more.
    """
    visits = tuple(replace(visit, lies_open=True) for visit in only_rules(problem).visits)
    problem = replace(only_rules(problem), visits=visits, heavy_in_row=None)
    helped = replace(problem, workers=(*problem.workers, worker("Cy", "ground-saw")))
    before, after = solve(problem), solve(helped)
    assert before.proof == after.proof == "proven"
    assert lost(problem, after) <= lost(problem, before)
    if not before.left_out:
        assert after.stage("open_days").value <= before.stage("open_days").value
