"""Pieces of a large plan keep what stands, and large parts keep the order of the aims."""

from dataclasses import replace

import numpy as np

from scheduler.roster import Problem
from scheduler.roster.large import Large
from scheduler.roster.passes import Crowded
from scheduler.roster.piece import Piece, Whole
from scheduler.roster.search import Search
from scheduler.roster.solve import Solving
from scheduler.roster.spans import suits
from tests.roster.seasons import season_of_work
from tests.roster.test_blocks import CHIPPER, MANY, chips
from tests.roster.test_small_seasons import SEASON, N, mask

# Three hours each of the one chipper: two fill its day of six hours.
THREE = tuple(chips(name, *range(N), work_h=3.0) for name in "abc")


def whole(**firsts: int) -> Whole:
    """The plan in which the three begin on these days; a day of waiting costs 1."""
    problem = Problem(SEASON, THREE, (), MANY, (replace(CHIPPER, block_days=0.0),))
    (search,) = Solving(problem).searches()
    search.plan = {j: search.choices[j][day] for j, day in firsts.items()}
    paid = {j: {p.first: p.first for p in ps} for j, ps in search.choices.items()}
    return Whole(search, search.choices, paid)


def solved(plan: Whole, *free: str) -> dict[str, int]:
    piece = Piece(plan, free)
    piece.solve(1.0)
    return {job_id: p.first for job_id, p in piece.plan.items()}


def test_a_piece_takes_no_more_of_the_kit_than_there_is() -> None:
    assert sorted(solved(whole(a=2, b=3, c=4), *"abc").values()) == [0, 0, 1]


def test_a_piece_may_have_what_its_own_jobs_had_and_nothing_of_what_stands() -> None:
    assert solved(whole(a=0, b=0, c=2), "b", "c") in (
        {"a": 0, "b": 0, "c": 1},
        {"a": 0, "b": 1, "c": 0},
    )
    assert solved(whole(a=0, b=0, c=2), "c") == {"a": 0, "b": 0, "c": 1}


def test_a_limit_learned_on_the_way_counts_from_then_on() -> None:
    plan = whole(a=0, b=1, c=2)
    limit = plan.search.limits[0]
    plan.add(replace(limit, day=1, room=0, uses=tuple(
        (j, k, 1) for j in "c" for k, p in enumerate(plan.search.choices[j]) if p.first in {0, 1}
    )))  # fmt: skip
    assert solved(plan, "c") == {"a": 0, "b": 1, "c": 2}


def hired() -> Search:
    """Chips of two plots under a chance of frost, the chipper to come as seldom as can be."""
    risk = np.where(mask(0, 1), 0.2, 0.0)
    jobs = (chips("a", *range(N), risk=risk), chips("b", 6), chips("c", 3, uses={}))
    solving = Solving(Problem(SEASON, jobs, (), MANY, (CHIPPER,)))
    return next(search for search in solving.searches() if "a" in search.choices)


def test_blocks_bind_large_parts_only_in_what_stands_below_them() -> None:
    search = hired()
    used = {p.first for j, p in search.plan.items() if j in "ab"}
    frost = Large(search, search.measure.summed("frost"))
    assert {p.first for p in frost.choices["a"]} == set(range(N))
    waiting = Large(search, search.measure.summed("waiting_days"))
    assert {p.first for p in waiting.choices["a"]} == used


def test_spans_are_not_for_kit_that_is_to_be_gathered() -> None:
    alone = [replace(chips(name, *range(N)), n_days=1, team={}, team_max=0) for name in "ab"]
    for block_days, fits in ((0.0, True), (3.0, False), (None, False)):
        kit = replace(CHIPPER, block_days=block_days)
        problem = Problem(SEASON, tuple(alone), (), (), (kit,))
        assert suits(problem, Solving(problem).choices, all_in=True) is fits


def test_passes_place_more_of_what_does_not_fit_as_a_whole() -> None:
    problem = season_of_work(8, per_plot=12, load=3.0, seed=7)
    search = max(Solving(problem).searches(), key=lambda one: len(one.choices))
    before = len(search.plan)
    assert before < len(search.choices)
    Crowded(search).solve(2.0, None)
    assert len(search.plan) > before
    assert 0 < search.spent <= 2.0
