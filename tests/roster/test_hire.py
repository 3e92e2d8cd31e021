"""Hired kit: a block of days less is worth its days of waiting, and no more than they are."""

from dataclasses import replace

import numpy as np

from scheduler.roster import Kit, Price, Problem, Standing, Visit, solve
from scheduler.roster.result import Aim
from scheduler.roster.search import Search
from scheduler.roster.solve import Solving
from tests.roster.small import MANY, SEASON, N, firsts, mask, one, worker

CHIPPER = Kit("chipper", np.ones(N, dtype=np.int64), 100.0, block_days=3.0)
HIRE = "hire_and_waiting"


def chips(name: str, *open_days: int, work_h: float = 1.0, **changes: object) -> Visit:
    """An hour of one person and the chipper, on a plot of its own; four fit into any day."""
    told = {"plot": name, "open": mask(*open_days), "team_max": 1, "uses": {"chipper": 1}}
    return one(name, work_h, **(told | changes))


def season(*visits: Visit, block_days: float = 3.0) -> Problem:
    return Problem(SEASON, visits, (), MANY, (replace(CHIPPER, block_days=block_days),))


def test_a_block_less_is_worth_its_days_of_waiting_and_no_more() -> None:
    """Three days of waiting save a block."""
    visits = chips("a", 0, 3), chips("b", 3)
    for block_days, first, n_blocks in ((2.9, 0, 2), (3.1, 3, 1)):
        roster = solve(season(*visits, block_days=block_days))
        assert firsts(roster) == {"a": first, "b": 3}
        assert len(roster.hires) == n_blocks
        assert roster.proof == "proven"


def test_frost_published_and_preferred_days_stand_above_a_block_less() -> None:
    likes, fears = np.where(mask(0), 0.1, 0.0), np.where(mask(0), 0.0, 0.9)
    for told in ({"points": likes}, {"risk": fears}, {"published_first": 0}):
        roster = solve(season(chips("a", 0, 6, **told), chips("b", 6), block_days=99.0))
        assert firsts(roster) == {"a": 0, "b": 6}


def test_the_price_of_an_earlier_day_is_a_block_more_and_so_no_gain() -> None:
    problem = season(chips("a", 0, 6), chips("b", 6), block_days=7.0)
    roster = solve(problem)
    assert firsts(roster) == {"a": 6, "b": 6}
    price = Standing(problem, roster).asked("a", 0)
    assert isinstance(price, Price)
    assert (price.hire_days, price.waiting_days) == (7.0, -6)


def test_a_day_of_waiting_counts_more_where_work_is_in_a_hurry() -> None:
    """Six days of waiting for a block that is worth seven: too much if each counts twice."""
    problem = season(chips("a", 0, 6, hurry=2), chips("b", 6), block_days=7.0)
    roster = solve(problem)
    assert firsts(roster) == {"a": 0, "b": 6}
    price = Standing(problem, roster).asked("a", 6)
    assert isinstance(price, Price)
    assert (price.hire_days, price.waiting_days) == (-7.0, 6)


def test_work_of_several_days_carries_a_block_on_to_what_stands_behind_it() -> None:
    long = chips("m", *range(N), work_h=18.0, fixed_first=0)
    roster = solve(season(long, chips("n", 3), chips("o", 7)))
    assert [use.days for use in roster.hires] == [(0, 1, 2, 3), (7,)]
    assert roster.proof == "proven"


def test_a_block_may_begin_within_work_that_bridges_a_day() -> None:
    """The one with the pole saw is off on the third day; the kit could come, and parts there."""
    ana = worker("Ana", "pole-saw", hours=[6, 6, 0, 6, 6, 6, 6, 6])
    long = chips("a", *range(N), work_h=18.0, fixed_first=0, team={"pole-saw": 1})
    visits = (long, chips("b", 4, 5, 6, 7), chips("c", 7, uses={}))
    roster = solve(Problem(SEASON, visits, (), (ana, worker("Bo")), (CHIPPER,)))
    assert [use.days for use in roster.hires] == [(0, 1), (3, 4)]
    assert roster.proof == "proven"


def test_days_on_which_nobody_works_part_no_block() -> None:
    crew = (worker("Ana", hours=[6, 6, 6, 0, 0, 6, 6, 6]),)
    roster = solve(Problem(SEASON, (chips("a", 2), chips("b", 5)), (), crew, (CHIPPER,)))
    assert [use.days for use in roster.hires] == [(2, 5)]


def test_a_day_of_hire_is_paid_once_though_two_visits_use_it() -> None:
    roster = solve(season(chips("a", 2), chips("b", 2)))
    assert [(use.days, use.cost) for use in roster.hires] == [((2,), 100.0)]


def test_work_that_may_be_left_out_can_always_have_nothing() -> None:
    search = Solving(season(chips("a", 5, 6, published_first=2))).search
    parts = (search.problem, search.crew, search.choices, search.costs, search.plan)
    assert search.all_in
    assert search.bounds[Aim("moved")] == 1
    assert Search(*parts, all_in=False).bounds[Aim("moved")] == 0
