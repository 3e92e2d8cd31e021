"""Hired kit in as few blocks as can be: against every plan there is, and in large parts too."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.roster import Job, Kit, Order, Problem, Roster, faults_in, solve
from scheduler.roster.measure import LARGEST, Measure, Sum
from scheduler.roster.solve import Solving
from scheduler.roster.why import Price, Standing
from tests.roster.seasons import season_of_work
from tests.roster.test_large import by_pieces
from tests.roster.test_small_seasons import SEASON, N, days, job, mask, worker

MANY = tuple(worker(name) for name in ("Ana", "Bo", "Cy", "Di", "Eva", "Flor"))
CHIPPER = Kit("chipper", np.ones(N, dtype=np.int64), 100.0, block_days=None)


def chips(name: str, *open_days: int, work_h: float = 1.0, **changes: object) -> Job:
    """An hour of one person and the chipper, on a plot of its own; four fit into any day."""
    told = {"plot": name, "open": mask(*open_days), "team_max": 1, "uses": {"chipper": 1}}
    return job(name, work_h, **(told | changes))


def blocks(used: set[int], kit_days: list[int]) -> int:
    """Runs of used days among the days on which the kit can come."""
    row = [day in used for day in kit_days]
    return sum(here and not before for before, here in zip([False, *row], row, strict=False))


@st.composite
def hires(draw: st.DrawFn) -> Problem:
    """Up to four short jobs with kit, some preferred days, some order, days without kit."""
    names = "abcd"[: draw(st.integers(2, 4))]
    some = st.lists(st.integers(0, N - 1), min_size=1, max_size=N)
    jobs = tuple(
        chips(
            name,
            *draw(some),
            points=np.array(draw(st.lists(st.sampled_from([0.0, 1.0]), min_size=N, max_size=N))),
            uses={"chipper": 1} if draw(st.integers(0, 3)) else {},
        )
        for name in names
    )
    comes = np.array(draw(st.lists(st.sampled_from([1, 1, 1, 0]), min_size=N, max_size=N)))
    orders = tuple(
        Order(a, b, draw(st.integers(0, 2)), draw(st.sampled_from([None, 3])))
        for a, b in product(names, names)
        if a < b and draw(st.integers(0, 3)) == 0
    )
    return Problem(SEASON, jobs, orders, MANY, (replace(CHIPPER, units=comes),))


def every_plan(problem: Problem) -> Iterator[tuple[int, float, int]]:
    """Blocks, points (less is better) and days of every plan with all jobs in; the rules anew."""
    (kit,) = problem.kits
    kit_days = [day for day in range(N) if kit.units[day]]
    can = [
        [d for d in range(N) if one.open[d] and (not one.uses or kit.units[d])]
        for one in problem.jobs
    ]
    for firsts in product(*can):
        at = dict(zip((one.id for one in problem.jobs), firsts, strict=True))
        waits = [(at[o.after] - at[o.before], o) for o in problem.orders]
        if all(o.min_days <= wait <= (o.within_days or N) for wait, o in waits):
            used = {at[one.id] for one in problem.jobs if one.uses}
            liked = sum(one.points[at[one.id]] for one in problem.jobs)
            yield blocks(used, kit_days), -liked, sum(firsts)


@settings(max_examples=150, deadline=None)
@given(hires())
def test_no_plan_has_fewer_blocks_then_more_preferred_days_then_less_waiting(
    problem: Problem,
) -> None:
    plans = list(every_plan(problem))
    roster = solve(problem)
    assert roster.proof == "proven"
    assert faults_in(problem, roster) == ()
    assert bool(plans) == (not roster.left_out)
    if plans:
        firsts = {stint.job_id: stint.first for stint in roster.stints}
        least = min(plans)
        assert len(roster.hires) == least[0]
        assert sum(one.points[firsts[one.id]] for one in problem.jobs) == -least[1]
        assert sum(firsts.values()) == least[2]


def test_a_block_less_is_worth_any_waiting_unless_the_grower_says_how_much() -> None:
    one, other = chips("a", *range(N)), chips("b", 6)
    assert days(solve(Problem(SEASON, (one, other), (), MANY, (CHIPPER,))))["a"] in {(5,), (6,)}
    told = replace(CHIPPER, block_days=4.0)
    assert days(solve(Problem(SEASON, (one, other), (), MANY, (told,))))["a"] == (0,)


def test_the_price_of_an_earlier_day_is_one_block_more_and_so_no_gain() -> None:
    problem = Problem(SEASON, (chips("a", 0, 6), chips("b", 6)), (), MANY, (CHIPPER,))
    roster = solve(problem)
    assert days(roster) == {"a": (6,), "b": (6,)}
    price = Standing(problem, roster).asked("a", 0)
    assert isinstance(price, Price)
    assert (price.hire_blocks, price.waiting_days, price.gains) == (1, -6, False)
    apart = replace(problem, kits=(replace(CHIPPER, block_days=5.0),))
    price = Standing(apart, roster).asked("a", 0)
    assert isinstance(price, Price)
    assert (price.hire_blocks, price.hire_days, price.gains) == (0, 5.0, True)


def test_work_of_several_days_carries_a_block_on_to_what_stands_behind_it() -> None:
    long = chips("m", *range(N), work_h=18.0, fixed_first=0)
    roster = solve(Problem(SEASON, (long, chips("n", 3), chips("o", 7)), (), MANY, (CHIPPER,)))
    assert [use.days for use in roster.hires] == [(0, 1, 2, 3), (7,)]
    assert roster.proof == "proven"


@pytest.mark.parametrize("block_days", [None, 9.0])
def test_a_block_may_begin_within_work_that_bridges_a_day(block_days: float | None) -> None:
    """The one with the pole saw is off on the third day; the kit could come, and parts there."""
    ana = worker("Ana", "pole-saw", hours=[6, 6, 0, 6, 6, 6, 6, 6])
    long = chips("a", *range(N), work_h=18.0, fixed_first=0, team={"pole-saw": 1})
    liked = np.where(mask(7), 5.0, 0.0)
    jobs = (long, chips("b", 4, 5, 6, 7, points=liked), chips("c", 7, uses={}))
    kit = replace(CHIPPER, block_days=block_days)
    roster = solve(Problem(SEASON, jobs, (), (ana, worker("Bo")), (kit,)))
    assert roster.proof == "proven"
    if block_days is None:
        assert [use.days for use in roster.hires] == [(0, 1), (3, 4)]
    else:
        assert [use.days for use in roster.hires] == [(0, 1), (3,), (7,)]


def test_days_waited_for_the_hire_are_not_laid_to_the_preference() -> None:
    jobs = (chips("a", 0, 6, points=np.where(mask(6), 1.0, 0.0)), chips("b", 6))
    problem = Problem(SEASON, jobs, (), MANY, (CHIPPER,))
    (preference,) = solve(problem).preferences
    assert (preference.met, preference.waited_days) == (True, 0)
    apart = replace(problem, kits=(replace(CHIPPER, block_days=0.0),))
    assert solve(apart).preferences[0].waited_days == 6


def test_work_that_may_be_left_out_can_always_have_nothing() -> None:
    job_a = chips("a", 5, 6, published_first=2)
    problem = Problem(SEASON, (job_a,), (), MANY, (CHIPPER,))
    solving = Solving(problem)
    aims = ("moved", "hire_blocks", "waiting_days")
    all_in = Measure(problem, solving.some, solving.costs, aims, all_in=True)
    assert [all_in.least(aim) for aim in aims] == [1, 1, 0]
    some_in = replace(all_in, all_in=False)
    assert [some_in.least(aim) for aim in aims] == [0, 0, 0]
    assert [one.most("hire_blocks") for one in (all_in, some_in)] == [1, 1]


def test_days_on_which_nobody_works_part_no_block() -> None:
    crew = (worker("Ana", hours=[6, 6, 6, 0, 0, 6, 6, 6]),)
    roster = solve(Problem(SEASON, (chips("a", 2), chips("b", 5)), (), crew, (CHIPPER,)))
    assert [use.days for use in roster.hires] == [(2, 5)]


def test_of_a_sum_each_aim_is_told_as_far_as_the_one_before_is_proven() -> None:
    """Blocks of 100, points of 10, days of 1; worked by hand."""
    sums = Sum(("hire_blocks", "preferences", "waiting_days"), (1, 0, 5), (100, 10, 1))
    values = {"hire_blocks": 2, "preferences": 3, "waiting_days": 8}
    proven = sums.bounds(200 + 30 + 8, values)
    assert proven == values
    assert sums.bounds(200 + 30 + 6, values) == {**values, "waiting_days": 6}
    assert sums.bounds(200 + 10 + 5, values) == {"hire_blocks": 2, "preferences": 1}
    assert sums.bounds(100 + 10 + 5, values) == {"hire_blocks": 1}


def test_a_sum_takes_no_more_aims_than_whole_numbers_hold() -> None:
    problem = season_of_work(2, per_plot=12, load=0.3, moon=True, block_days=None)
    solving = Solving(problem)
    aims = ["hire_blocks", "preferences", "waiting_days"]
    measure = Measure(problem, solving.choices, solving.costs, aims, all_in=True)
    whole = measure.summed("hire_blocks")
    assert whole.aims == tuple(aims)
    assert whole.weights[0] * (measure.most("hire_blocks") + 1) <= 2 * LARGEST
    dear = {
        job_id: {first: replace(cost, waiting=cost.waiting << 12) for first, cost in by.items()}
        for job_id, by in solving.costs.items()
    }
    assert replace(measure, costs=dear).summed("hire_blocks").aims == tuple(aims[:2])


@st.composite
def long_hires(draw: st.DrawFn) -> Problem:
    """Short and long jobs, few people, a skill that is not there every day, a cap, fixed days."""
    problem = draw(hires())
    longer = st.sampled_from([1.0, 9.0, 14.0])
    jobs = tuple(
        replace(
            one,
            work_h=draw(longer),
            open=one.open | draw(st.booleans()),
            team=draw(st.sampled_from([{"hands": 1}, {"pole-saw": 1}])),
            heavy=draw(st.booleans()),
            uses={kit: draw(st.integers(1, 2)) for kit in one.uses},
            risk=np.array(draw(st.lists(st.sampled_from([0.0, 0.3]), min_size=N, max_size=N))),
            published_first=draw(st.sampled_from([None, None, 2, 5])),
        )
        for one in problem.jobs
    )
    off = draw(st.lists(st.sampled_from([0.0, 6.0]), min_size=N, max_size=N))
    crew = (worker("Ana", "pole-saw", hours=off), worker("Bo"), worker("Cy"))
    units = np.array(draw(st.lists(st.sampled_from([0, 1, 2]), min_size=N, max_size=N)))
    kit = replace(CHIPPER, units=units, block_days=draw(st.sampled_from([None, 2.0])))
    cap = draw(st.sampled_from([None, 1, 2]))
    return replace(problem, jobs=jobs, workers=crew, kits=(kit,), heavy_in_row=cap)


def told(roster: Roster) -> list[float]:
    return [round(stage.value, 6) for stage in roster.stages]


@settings(max_examples=250, deadline=None)
@given(long_hires())
def test_no_model_proves_what_another_betters(problem: Problem) -> None:
    """With the members of blocks, without them, and by passes and pieces."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("scheduler.roster.blocks.MANY", 0)
        plain = solve(problem)
    roster, pieces = solve(problem), by_pieces(problem, 1.0)
    for one in (plain, roster, pieces):
        assert faults_in(problem, one) == ()
    assert plain.proof == roster.proof == "proven"
    assert told(plain) == told(roster) <= told(pieces)


@settings(max_examples=100, deadline=None)
@given(long_hires())
def test_the_stages_tell_what_the_plan_has(problem: Problem) -> None:
    for effort in (0.02, 1.0):
        roster = by_pieces(problem, effort)
        jobs = {one.id: one for one in problem.jobs}
        out = [job_id for job_id in jobs if job_id in roster.left_out]
        assert roster.stages[0].value == len(out), "one importance"
        values = {stage.aim: stage.value for stage in roster.stages}
        if "frost" in values:
            risks = [jobs[s.job_id].risk[list(s.days)].max() for s in roster.stints]
            assert values["frost"] == pytest.approx(sum(risks))
        if "moved" in values:
            kept = [jobs[s.job_id].published_first in (None, s.first) for s in roster.stints]
            assert values["moved"] == len(kept) - sum(kept)
        if "hire_blocks" in values:
            assert values["hire_blocks"] == len(roster.hires)


def test_frost_and_published_days_stand_above_hire_in_large_parts_too() -> None:
    risk = np.where(mask(0), 0.0, 0.9)
    jobs = (chips("a", 0, 6, risk=risk), chips("b", 6), chips("c", 0, 7, uses={}))
    roster = by_pieces(Problem(SEASON, jobs, (), MANY, (CHIPPER,)), 1.0)
    assert days(roster)["a"] == (0,)
    assert roster.stage("frost").value == 0


@settings(max_examples=60, deadline=None)
@given(hires())
def test_large_parts_never_have_fewer_than_the_least_nor_a_fault(problem: Problem) -> None:
    exact, roster = solve(problem), by_pieces(problem, 2.0)
    assert faults_in(problem, roster) == ()
    if not exact.left_out and not roster.left_out:
        assert len(roster.hires) >= len(exact.hires)
        assert roster.stage("hire_blocks").bound <= len(exact.hires)


@pytest.mark.slow
def test_large_parts_gather_the_blocks_of_the_first_plan_and_keep_them_gathered() -> None:
    problem = season_of_work(8, per_plot=12, load=0.2, block_days=None, seed=3)
    first, better = solve(problem, effort=0.0), by_pieces(problem, 8.0)
    assert faults_in(problem, better) == ()
    assert len(better.hires) < len(first.hires)
    alone = by_pieces(replace(problem, kits=(replace(problem.kits[0], block_days=0.0),)), 8.0)
    assert len(better.hires) <= len(alone.hires)
    assert [stage.value for stage in better.stages] <= [stage.value for stage in first.stages]


@pytest.mark.slow
def test_a_crowded_large_part_places_more_than_the_first_plan() -> None:
    problem = season_of_work(8, per_plot=12, load=3.0, seed=7)
    first, better = solve(problem, effort=0.0), by_pieces(problem, 10.0)
    assert first.left_out
    assert faults_in(problem, better) == ()
    assert [stage.value for stage in better.stages] < [stage.value for stage in first.stages]
