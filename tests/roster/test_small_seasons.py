"""Small random seasons: the checker finds nothing, and no plan that fits is better."""

from dataclasses import replace
from datetime import date
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.roster import Job, Kit, Order, Problem, Roster, Stint, Worker, faults_in, solve
from scheduler.terms import Season

N = 8
SEASON = Season(date(2027, 5, 3), N)


def job(name: str, work_h: float = 6.0, **changes: object) -> Job:
    told: dict[str, object] = {
        "id": name,
        "plot": "low",
        "work_h": work_h,
        "team": {"hands": 1},
        "team_max": 2,
        "open": np.ones(N, dtype=bool),
        "points": np.zeros(N),
        "risk": np.zeros(N),
    }
    return Job(**(told | changes))  # type: ignore[arg-type]  # fields by name


def worker(name: str, *skills: str, hours: list[float] | None = None) -> Worker:
    return Worker(name, frozenset(skills), np.array(hours or [6.0] * N))


def mask(*days: int) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    return np.isin(np.arange(N), days)


def days(roster: Roster) -> dict[str, tuple[int, ...]]:
    return {stint.job_id: stint.days for stint in roster.stints}


def published(problem: Problem, roster: Roster) -> Problem:
    """The same problem after its answer was published."""
    pinned = {stint.job_id: stint.first for stint in roster.stints}
    jobs = (replace(one, published_first=pinned.get(one.id)) for one in problem.jobs)
    return replace(problem, jobs=tuple(jobs))


CREW = (worker("Ana", "ground-saw"), worker("Bo"))


def test_a_chain_of_small_jobs_fits_into_one_day_in_order() -> None:
    jobs = (job("a", 4.0), job("b", 4.0), job("c", 4.0))
    problem = Problem(SEASON, jobs, (Order("a", "b"), Order("b", "c")), CREW)
    assert days(solve(problem)) == {"a": (0,), "b": (0,), "c": (0,)}


def test_work_that_fills_the_day_sends_what_follows_to_the_next() -> None:
    problem = Problem(SEASON, (job("a", 12.0), job("b", 2.0)), (Order("a", "b"),), CREW)
    assert days(solve(problem)) == {"a": (0,), "b": (1,)}


def test_work_is_spread_over_the_fewest_days_and_bridges_days_off() -> None:
    crew = (worker("Ana", hours=[6, 0, 0, 6, 6, 6, 6, 6]),)
    problem = Problem(SEASON, (job("a", 9.0),), (), crew)
    roster = solve(problem)
    assert days(roster) == {"a": (0, 3)}
    assert roster.stints[0].hours == pytest.approx((4.5, 4.5))


def test_work_does_not_bridge_a_day_that_a_rule_closes() -> None:
    crew = (worker("Ana"),)
    problem = Problem(SEASON, (job("a", 9.0, open=mask(0, 2, 3)),), (), crew)
    assert days(solve(problem)) == {"a": (2, 3)}


def test_a_skill_is_only_asked_of_those_who_have_it() -> None:
    saw = {"ground-saw": 1}
    jobs = (
        job("a", 6.0, team=saw, team_max=1, plot="x"),
        job("b", 6.0, team=saw, team_max=1, plot="y"),
    )
    roster = solve(Problem(SEASON, jobs, (), CREW))
    assert sorted(stint.first for stint in roster.stints) == [0, 1]
    assert {stint.people for stint in roster.stints} == {(("Ana",),)}


def test_kit_goes_from_job_to_job_within_a_day_but_is_in_one_place_at_a_time() -> None:
    kit = (Kit("climber", np.ones(N, dtype=np.int64)),)
    short = [job(name, 4.0, plot=name, uses={"climber": 1}) for name in "ab"]
    long = [job(name, 8.0, plot=name, uses={"climber": 1}) for name in "ab"]
    four = tuple(worker(name) for name in ("Ana", "Bo", "Cy", "Di"))
    together = solve(Problem(SEASON, tuple(short), (), four, kit))
    assert sorted(stint.first for stint in together.stints) == [0, 0]
    apart = solve(Problem(SEASON, tuple(long), (), four, kit))
    assert sorted(stint.first for stint in apart.stints) == [0, 1]


def test_the_growers_own_day_stands_whatever_the_window_says() -> None:
    problem = Problem(SEASON, (job("a", open=mask(5, 6), fixed_first=2),), (), CREW)
    assert days(solve(problem)) == {"a": (2,)}


def test_shortest_and_longest_gaps_are_kept() -> None:
    jobs = (job("a", 2.0, open=mask(0, 1, 2, 3, 4)), job("b", 2.0, open=mask(6, 7)))
    problem = Problem(SEASON, jobs, (Order("a", "b", min_days=2, within_days=3),), CREW)
    assert days(solve(problem)) == {"a": (3,), "b": (6,)}


def test_what_does_not_fit_is_left_out_by_importance_with_what_waits_for_it() -> None:
    one_day = mask(3)
    jobs = (
        job("dear", 12.0, open=one_day, importance=9),
        job("cheap", 12.0, open=one_day, importance=1),
        job("after", 1.0),
    )
    roster = solve(Problem(SEASON, jobs, (Order("cheap", "after"),), CREW))
    assert roster.left_out == ("after", "cheap")
    assert days(roster) == {"dear": (3,)}


def test_a_circle_in_the_order_is_reported() -> None:
    jobs = (job("a"), job("b"), job("c"))
    roster = solve(Problem(SEASON, jobs, (Order("a", "b"), Order("b", "a")), CREW))
    assert roster.circles == (("a", "b"),)
    assert set(days(roster)) == {"c"}


def test_a_preferred_day_comes_before_an_early_finish() -> None:
    points = np.where(mask(6), 0.5, 0.0)
    assert days(solve(Problem(SEASON, (job("a", points=points),), (), CREW))) == {"a": (6,)}


def test_a_block_of_hire_less_comes_before_a_preferred_day() -> None:
    """One chipper for two plots: both on the only day they share, though one prefers another."""
    use = {"uses": {"chipper": 1}}
    jobs = (
        job("a", 2.0, plot="x", open=mask(0, 5), points=np.where(mask(0), 9.0, 0.0), **use),
        job("b", 2.0, plot="y", open=mask(5), **use),
    )
    kit = Kit("chipper", np.ones(N, dtype=np.int64), 100.0, block_days=None)
    roster = solve(Problem(SEASON, jobs, (), CREW, (kit,)))
    assert days(roster) == {"a": (5,), "b": (5,)}
    assert [stage.aim for stage in roster.stages][-3:] == [
        "hire_blocks",
        "preferences",
        "waiting_days",
    ]
    assert (roster.stage("hire_blocks").value, roster.stage("preferences").value) == (1, 9)
    assert roster.proof == "proven"


def test_preferred_days_are_weighed_to_the_end_where_work_is_left_out_too() -> None:
    """One job cannot stand so soon after the first; days of waiting may still fall below none."""
    jobs = (
        job("a", 1.0, open=mask(3, 7), points=np.where(mask(3), 2.0, 0.0)),
        job("b", 1.0, open=mask(6)),
        job("c", 1.0, open=mask(5, 6)),
        job("d", 1.0, open=mask(6)),
    )
    orders = (Order("a", "b"), Order("a", "d", 0, 2), Order("c", "d"))
    roster = solve(Problem(SEASON, jobs, orders, (worker("Ana", "ground-saw"),)))
    assert roster.left_out == ("d",)
    assert roster.proof == "proven"
    days = {stint.job_id: stint.first for stint in roster.stints}
    assert days == {"a": 3, "b": 6, "c": 5}


def test_a_chance_of_frost_outweighs_any_preference() -> None:
    risk = np.where(mask(6), 0.0, 0.3)
    points = np.where(mask(0), 9.0, 0.0)
    assert days(solve(Problem(SEASON, (job("a", points=points, risk=risk),), (), CREW))) == {
        "a": (6,)
    }


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    """Up to four one-or-two-day jobs, two workers, some order, one kit."""
    names = "abcd"[: draw(st.integers(2, 4))]
    jobs = tuple(
        job(
            name,
            draw(st.sampled_from([1.0, 4.0, 6.0, 14.0])),
            plot=draw(st.sampled_from(["low", "high"])),
            team=draw(st.sampled_from([{"hands": 1}, {"ground-saw": 1}, {"hands": 2}])),
            open=np.array(draw(st.lists(st.booleans(), min_size=N, max_size=N))),
            points=np.array(draw(st.lists(st.sampled_from([0.0, 2.0]), min_size=N, max_size=N))),
            uses={"saw": 1} if draw(st.booleans()) else {},
            importance=draw(st.sampled_from([3, 7])),
        )
        for name in names
    )
    orders = tuple(
        Order(a, b, draw(st.integers(0, 1)), draw(st.sampled_from([None, 2])))
        for a, b in product(names, names)
        if a < b and draw(st.booleans())
    )
    off = draw(st.lists(st.sampled_from([0.0, 5.0, 6.0]), min_size=N, max_size=N))
    workers = (worker("Ana", "ground-saw"), worker("Bo", hours=off))
    return Problem(SEASON, jobs, orders, workers, (Kit("saw", np.ones(N, dtype=np.int64)),))


@settings(max_examples=80, deadline=None)
@given(problems())
def test_the_checker_finds_no_fault_and_the_answer_is_the_same_twice(problem: Problem) -> None:
    roster = solve(problem)
    assert faults_in(problem, roster) == ()
    assert solve(problem) == roster
    assert roster.proof == "proven"


@settings(max_examples=60, deadline=None)
@given(problems())
def test_more_crew_never_leaves_more_out(problem: Problem) -> None:
    def lost(solved: Roster) -> list[int]:
        by_id = {job.id: job for job in problem.jobs}
        return sorted((by_id[name].importance for name in solved.left_out), reverse=True)

    more = replace(problem, workers=(*problem.workers, worker("Cy", "ground-saw")))
    assert lost(solve(more)) <= lost(solve(problem))


@settings(max_examples=60, deadline=None)
@given(problems(), st.integers(0, 3), st.integers(1, N))
def test_a_later_gate_never_gives_an_earlier_end_of_the_season(
    problem: Problem, which: int, gate: int
) -> None:
    chosen = problem.jobs[which % len(problem.jobs)]
    later = replace(chosen, open=chosen.open & (np.arange(N) >= gate))
    jobs = tuple(later if job is chosen else job for job in problem.jobs)
    gated = solve(replace(problem, jobs=jobs))
    stint = gated.stint(chosen.id)
    assert stint is None or stint.first >= gate


@settings(max_examples=60, deadline=None)
@given(problems())
def test_in_a_proven_plan_no_single_earlier_move_gains(problem: Problem) -> None:
    """Each job alone must end earlier while all others keep their days; points are taken away."""
    plain = replace(problem, jobs=tuple(replace(job, points=np.zeros(N)) for job in problem.jobs))
    roster = solve(plain)
    placed = {stint.job_id: stint for stint in roster.stints}
    orders = tuple(o for o in plain.orders if {o.before, o.after} <= set(placed))
    for stint in roster.stints:
        jobs = tuple(
            replace(
                one,
                open=one.open & (np.arange(N) < stint.last)
                if one.id == stint.job_id
                else mask(*placed[one.id].days),
            )
            for one in plain.jobs
            if one.id in placed
        )
        assert solve(replace(plain, jobs=jobs, orders=orders)).left_out != ()


def broken(stint: Stint, **changes: object) -> Stint:
    return replace(stint, **changes)  # type: ignore[arg-type]  # fields by name


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"days": (1,)}, "window"),
        ({"hours": (3.0,)}, "work"),
        ({"people": (("Nobody",),)}, "person-absent"),
        ({"people": (("Bo",),)}, "team-skill"),
        ({"elapsed_h": (9.0,)}, "ground"),
    ],
)
def test_the_checker_sees_each_fault(changes: dict[str, object], rule: str) -> None:
    saw = job("a", 6.0, team={"ground-saw": 1}, team_max=1, open=mask(0))
    problem = Problem(SEASON, (saw,), (), CREW)
    roster = solve(problem)
    assert faults_in(problem, roster) == ()
    wrong = replace(roster, stints=(broken(roster.stints[0], **changes),))
    assert rule in {fault.rule for fault in faults_in(problem, wrong)}


def test_the_checker_sees_order_kit_ground_and_missing_work() -> None:
    kit = (Kit("saw", np.ones(N, dtype=np.int64)),)
    jobs = (job("a", 10.0, uses={"saw": 1}), job("b", 10.0, uses={"saw": 1}))
    problem = Problem(SEASON, jobs, (Order("a", "b", 1, 2),), CREW, kit)
    roster = solve(problem)
    a, b = roster.stints

    def rules(*stints: Stint) -> set[str]:
        return {fault.rule for fault in faults_in(problem, replace(roster, stints=stints))}

    same_day = broken(b, days=a.days)
    assert {"kit", "ground", "order-least", "person-hours"} <= rules(a, same_day)
    assert "order-most" in rules(a, broken(b, days=(6,)))
    assert "missing" in rules(a)
