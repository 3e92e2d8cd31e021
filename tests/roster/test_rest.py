"""Heavy days in a row: never more than the cap, and told why."""

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scheduler.roster import Job, Order, Problem, Roster, Stint, faults_in, solve
from scheduler.roster.placements import placements_of
from scheduler.roster.solve import Solving
from scheduler.roster.teams import Crew
from scheduler.roster.why import Obstacle, Price, Standing
from tests.roster.seasons import season_of_work
from tests.roster.test_single_moves import elsewhere, ends, left_out, unpreferred
from tests.roster.test_small_seasons import (
    CREW,
    SEASON,
    N,
    days,
    job,
    mask,
    problems,
    published,
    worker,
)

NO_KIT: dict[str, int] = {}


def lasting(name: str, n_days: int, **changes: object) -> Job:
    """Heavy work that lasts so many days and ties down nobody."""
    told: dict[str, object] = {"plot": name, "n_days": n_days, "team": NO_KIT, "heavy": True}
    return job(name, 0.0, **(told | changes))


def capped(*jobs: Job, cap: int | None = 3, worked: tuple[int, ...] = ()) -> Problem:
    return Problem(SEASON, jobs, (), CREW, (), cap, frozenset(worked))


# What a grower would say beforehand, by hand.


def test_work_longer_than_the_cap_rests_a_day_and_goes_on() -> None:
    assert days(solve(capped(lasting("a", 5)))) == {"a": (0, 1, 2, 4, 5)}
    assert days(solve(capped(lasting("a", 5, heavy=False)))) == {"a": (0, 1, 2, 3, 4)}
    assert days(solve(capped(lasting("a", 5), cap=None))) == {"a": (0, 1, 2, 3, 4)}


def test_a_day_off_is_rest_enough() -> None:
    crew = (worker("Ana", hours=[6, 6, 6, 0, 6, 6, 6, 6]),)
    problem = replace(capped(job("a", 36.0, team_max=1, heavy=True)), workers=crew)
    assert days(solve(problem)) == {"a": (0, 1, 2, 4, 5, 6)}


def test_rest_on_a_day_closed_to_the_work_is_no_bridge() -> None:
    assert days(solve(capped(lasting("a", 4, open=~mask(2)), cap=2))) == {"a": (3, 4, 6, 7)}


def test_heavy_work_on_two_plots_shares_one_row() -> None:
    """Two heavy days each: three in a row are too many, and one day may bear both."""
    assert sorted(days(solve(capped(lasting("a", 2), lasting("b", 2), cap=2))).values()) == [
        (0, 1),
        (0, 1),
    ]
    one, two = lasting("a", 2, open=mask(0, 1)), lasting("b", 2, open=~mask(0, 1))
    assert days(solve(capped(one, two, cap=2))) == {"a": (0, 1), "b": (3, 4)}
    light = replace(two, heavy=False)
    assert days(solve(capped(one, light, cap=2))) == {"a": (0, 1), "b": (2, 3)}


def test_days_worked_before_the_plan_count() -> None:
    assert days(solve(capped(lasting("a", 2, fixed_first=0), worked=(-1, -2)))) == {"a": (0, 2)}
    assert days(solve(capped(lasting("a", 1), worked=(-1, -2, -3)))) == {"a": (1,)}
    assert days(solve(capped(lasting("a", 1), worked=(-1, -3, -4)))) == {"a": (0,)}


def test_days_worked_and_two_jobs_fill_one_row_together() -> None:
    one, two = lasting("a", 1, open=mask(0)), lasting("b", 1, open=mask(1, 5))
    assert days(solve(capped(one, two, cap=2, worked=(-1,)))) == {"a": (0,), "b": (5,)}
    assert days(solve(capped(one, two, cap=2))) == {"a": (0,), "b": (1,)}


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


def test_a_cap_below_one_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 1"):
        capped(lasting("a", 1), cap=0)


# Random seasons.

WORKED = st.sets(st.integers(-4, -1), max_size=3)


@st.composite
def heavy_problems(draw: st.DrawFn) -> Problem:
    """The small seasons, some of the work longer, some of it heavy, under a cap."""
    problem = draw(problems())
    jobs = tuple(
        replace(
            one,
            work_h=draw(st.sampled_from([one.work_h, 26.0])),
            heavy=draw(st.sampled_from([True, True, False])),
            open=one.open | draw(st.booleans()),
        )
        for one in problem.jobs
    )
    cap, worked = draw(st.integers(1, 3)), frozenset(draw(WORKED))
    return replace(problem, jobs=jobs, heavy_in_row=cap, heavy_worked=worked)


@settings(max_examples=150, deadline=None)
@given(heavy_problems())
def test_the_checker_finds_no_fault_and_the_answer_is_the_same_twice(problem: Problem) -> None:
    roster = solve(problem)
    assert faults_in(problem, roster) == ()
    assert solve(problem) == roster
    assert roster.proof == "proven"
    assert faults_in(problem, solve(problem, effort=0.0)) == ()


@settings(max_examples=60, deadline=None)
@given(heavy_problems())
def test_pieces_and_prices_keep_the_cap_too(problem: Problem) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("scheduler.roster.search.LARGE", 0)
        roster = solve(problem, effort=3.0)
    exact = solve(problem)
    assert faults_in(problem, roster) == ()
    assert roster.stages[-1].bound <= exact.stages[-1].value + 1e-6
    assert left_out(roster) >= left_out(exact), "passes alone may leave out more, never less"


@settings(max_examples=100, deadline=None)
@given(heavy_problems())
def test_planning_again_without_a_change_moves_nothing(problem: Problem) -> None:
    first = solve(problem)
    again = solve(published(problem, first))
    assert days(again) == days(first)


@settings(max_examples=100, deadline=None)
@given(heavy_problems())
def test_a_looser_cap_is_never_worse(problem: Problem) -> None:
    """As long as no job rests by itself under the tighter one: else its days are others."""
    problem = unpreferred(problem)
    looser = replace(problem, heavy_in_row=(problem.heavy_in_row or 0) + 1)
    assume(shapes(problem) == shapes(looser))
    before, after = solve(problem), solve(looser)
    assert left_out(after) <= left_out(before)
    if after.left_out == before.left_out:
        assert ends(after) <= ends(before)


def shapes(problem: Problem) -> dict[str, list[tuple[int, ...]]]:
    bare = replace(problem, heavy_worked=frozenset())
    crew = Crew(bare)
    return {one.id: [p.days for p in placements_of(one, bare, crew)] for one in bare.jobs}


@settings(max_examples=100, deadline=None)
@given(heavy_problems())
def test_without_heavy_work_or_with_a_wide_cap_nothing_changes(problem: Problem) -> None:
    free = solve(replace(problem, heavy_in_row=None))
    light = tuple(replace(one, heavy=False) for one in problem.jobs)
    assert solve(replace(problem, jobs=light)) == free
    wide = replace(problem, heavy_in_row=N + 5, heavy_worked=frozenset())
    assert days(solve(wide)) == days(free)


@settings(max_examples=100, deadline=None)
@given(heavy_problems())
def test_every_answer_about_another_day_is_true(problem: Problem) -> None:
    """A free day is one on which the solver, all else pinned, can place the job, and no other."""
    problem = unpreferred(problem)
    roster = solve(problem)
    for job_id, answer, there in elsewhere(problem, roster):
        room = solve(there).left_out == ()
        if isinstance(answer, Price):
            assert not answer.gains
            assert room
        if isinstance(answer, Obstacle) and answer.kind == "heavy-row":
            assert not (room and problem.by_id[job_id].open.all())
            assert len(answer.row) > (problem.heavy_in_row or 0)


# The placements alone.


@settings(max_examples=300, deadline=None)
@given(heavy_problems(), st.lists(st.sampled_from([0.0, 1.0, 6.0]), min_size=N, max_size=N))
def test_later_begins_never_end_earlier_and_no_row_is_too_long(
    problem: Problem, hours: list[float]
) -> None:
    problem = replace(problem, workers=(worker("Ana", "ground-saw", hours=hours), CREW[1]))
    crew, cap = Crew(problem), problem.heavy_in_row or 0
    for one in problem.jobs:
        found = placements_of(one, problem, crew)
        every = placements_of(one, problem, crew, ends_later=True)
        lasts = [p.last for p in found]
        assert lasts == sorted(lasts)
        assert [p for p in every if p in found] == found
        for gone in (p for p in every if p not in found):
            assert any(p.first > gone.first and p.last < gone.last for p in found)
        for p in found if one.heavy else ():
            spent = {*p.days, *problem.heavy_worked}
            assert not any(all(d - b in spent for b in range(cap + 1)) for d in p.days)


def test_where_rest_would_fall_on_the_better_days_a_later_begin_is_better() -> None:
    """An hour, rest, an hour, rest ... or six hours a day later; by hand."""
    crew = (worker("Ana", hours=[1, 6, 1, 6, 1, 6, 1, 6]),)
    problem = replace(capped(job("a", 6.0, team_max=1, heavy=True), cap=1), workers=crew)
    assert days(solve(problem)) == {"a": (1,)}
    assert Standing(problem, solve(problem)).asked("a", 0) == Obstacle("rest-short", "", 0)
    shorter = replace(problem, jobs=(replace(problem.jobs[0], work_h=4.0),))
    assert Standing(shorter, solve(shorter)).asked("a", 0) == Obstacle("rests", "", 0)
    first = job("b", 1.0, plot="low", open=mask(2))
    after = replace(shorter, jobs=(first, *shorter.jobs), orders=(Order("b", "a"),))
    told = Standing(after, solve(after)).asked("a", 0)
    assert told == Obstacle("waits", "b", 2), "the order of work is told first"


# The checker's own rules, each broken once.


def rules(problem: Problem, roster: Roster, **there: tuple[int, ...]) -> set[str]:
    stints = tuple(_on(stint, there.get(stint.job_id, stint.days)) for stint in roster.stints)
    return {fault.rule for fault in faults_in(problem, replace(roster, stints=stints))}


def _on(stint: Stint, there: tuple[int, ...]) -> Stint:
    zero, nobody = (0.0,) * len(there), ((),) * len(there)
    return replace(stint, days=there, hours=zero, elapsed_h=zero, people=nobody, each_h=nobody)


def test_the_checker_sees_a_row_too_long_and_rest_that_is_none() -> None:
    problem = capped(lasting("a", 4), lasting("b", 1))
    roster = solve(problem)
    assert rules(problem, roster, a=(0, 1, 2, 4), b=(0,)) == set()
    assert rules(problem, roster, a=(0, 1, 2, 3), b=(0,)) == {"heavy-row"}
    assert rules(problem, roster, a=(0, 1, 2, 4), b=(3,)) == {"heavy-row"}
    assert rules(problem, roster, a=(1, 2, 3, 5), b=(0,)) == {"heavy-row"}
    assert rules(problem, roster, a=(1, 2, 3, 5), b=(7,)) == set()
    assert rules(problem, roster, a=(0, 1, 3, 4), b=(0,)) == {"days-off-only"}, "too soon"
    assert rules(problem, roster, a=(0, 1, 2, 5), b=(0,)) == {"days-off-only"}, "too long"


def test_the_checker_lets_only_heavy_work_under_a_cap_rest() -> None:
    for problem in (capped(lasting("a", 4, heavy=False)), capped(lasting("a", 4), cap=None)):
        assert rules(problem, solve(problem), a=(0, 1, 2, 4)) == {"days-off-only"}
        assert rules(problem, solve(problem), a=(0, 1, 2, 3)) == set()


def test_the_checker_counts_what_was_worked_before() -> None:
    problem = capped(lasting("a", 2), cap=2, worked=(-1,))
    roster = solve(problem)
    assert rules(problem, roster, a=(0, 2)) == set(), "the rest is needed"
    assert rules(problem, roster, a=(0, 1)) == {"heavy-row"}
    free = replace(problem, heavy_worked=frozenset())
    assert rules(free, roster, a=(0, 2)) == {"days-off-only"}


# Who stands in the way, and what belongs together.


def test_the_work_that_stands_in_the_row_is_told() -> None:
    two, one = lasting("two", 2, open=mask(2, 3)), lasting("one", 1, open=~mask(2, 3))
    problem = capped(one, two, cap=2)
    standing = Standing(problem, solve(problem))
    assert standing.asked("one", 1) == Obstacle("heavy-row", "", 1, ("two",), (1, 2, 3))
    assert standing.asked("one", 4) == Obstacle("heavy-row", "", 4, ("two",), (2, 3, 4))
    assert isinstance(standing.asked("one", 5), Price)
    worked = capped(one, cap=2, worked=(-1, -2))
    told = Standing(worked, solve(worked)).asked("one", 0)
    assert told == Obstacle("heavy-row", "", 0, (), (-2, -1, 0))


def test_only_jobs_whose_rows_could_touch_belong_together() -> None:
    def parts(*jobs: Job) -> list[set[str]]:
        return [set(search.choices) for search in Solving(capped(*jobs, cap=2)).searches()]

    early, late = lasting("a", 2, open=mask(0, 1)), lasting("b", 2, open=mask(2, 3))
    assert parts(early, late) == [{"a", "b"}]
    assert parts(early, replace(late, open=mask(3, 4))) == [{"a"}, {"b"}]
    assert parts(early, replace(late, heavy=False)) == [{"a"}, {"b"}]


@pytest.mark.slow
@pytest.mark.parametrize("cap", [1, 2])
def test_a_whole_season_under_a_cap_is_proven_and_by_pieces_near_it(cap: int) -> None:
    problem = season_of_work(4, per_plot=12, load=0.5, heavy_in_row=cap, seed=3)
    exact = solve(problem)
    assert faults_in(problem, exact) == ()
    assert exact.proof == "proven"
    assert "heavy-row" in {f.rule for f in faults_in(problem, solve(uncapped(problem)))}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("scheduler.roster.search.LARGE", 0)
        pieces = solve(problem, effort=6.0)
    assert faults_in(problem, pieces) == ()
    best = exact.stages[-1].value
    assert pieces.stages[-1].bound <= best + 1e-6
    assert best - 1e-6 <= pieces.stages[-1].value <= 1.1 * best


def uncapped(problem: Problem) -> Problem:
    return replace(problem, heavy_in_row=None)
