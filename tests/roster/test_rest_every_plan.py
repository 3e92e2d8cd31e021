"""Rest against every plan there is: work that ties down nobody, its rules written anew here."""

from collections.abc import Iterator, Mapping
from itertools import product

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.roster import Job, Kit, Order, Problem, faults_in, solve
from tests.roster.test_rest import WORKED, lasting
from tests.roster.test_single_moves import ends
from tests.roster.test_small_seasons import SEASON, N, days

Plan = dict[str, tuple[int, ...]]


@st.composite
def long_problems(draw: st.DrawFn) -> Problem:
    names = "abcd"[: draw(st.integers(2, 4))]
    comes = np.array(draw(st.lists(st.sampled_from([9, 9, 9, 0]), min_size=N, max_size=N)))
    jobs = tuple(
        lasting(
            name,
            draw(st.integers(1, 4)),
            heavy=draw(st.sampled_from([True, True, False])),
            open=np.array(
                draw(st.lists(st.sampled_from([True] * 9 + [False]), min_size=N, max_size=N))
            ),
            uses={"saw": 1},
            importance=draw(st.sampled_from([3, 7])),
        )
        for name in names
    )
    orders = tuple(
        Order(a, b, draw(st.integers(0, 2)), draw(st.sampled_from([None, 3])))
        for a, b in product(names, names)
        if a < b and draw(st.sampled_from([True, False, False]))
    )
    cap, worked = draw(st.integers(1, 3)), frozenset(draw(WORKED))
    return Problem(SEASON, jobs, orders, (), (Kit("saw", comes),), cap, worked)


def begun(one: Job, first: int, problem: Problem) -> tuple[int, ...]:
    """Day after day; a rest where the cap asks for it; nothing where its days close."""
    cap, spent = problem.heavy_in_row or 0, set(problem.heavy_worked)
    found: list[int] = []
    for day in range(first, N):
        tired = one.heavy and all(day - back in spent for back in range(1, cap + 1))
        works = bool(problem.kits[0].units[day]) and not tired
        if not one.open[day] or (day == first and not works):
            return ()
        if works:
            found.append(day)
            spent.add(day)
        if len(found) == one.n_days:
            return tuple(found)
    return ()


def every_plan(problem: Problem) -> Iterator[Plan]:
    ways = [
        [(), *filter(None, (begun(one, first, problem) for first in range(N)))]
        for one in problem.jobs
    ]
    names = [one.id for one in problem.jobs]
    for chosen in product(*ways):
        plan = {name: there for name, there in zip(names, chosen, strict=True) if there}
        if keeps_order(plan, problem) and keeps_cap(plan, problem):
            yield plan


def keeps_order(plan: Plan, problem: Problem) -> bool:
    for order in problem.orders:
        if order.after in plan:
            if order.before not in plan:
                return False
            wait = plan[order.after][0] - plan[order.before][-1]
            if wait < order.min_days or wait > (99 if order.within_days is None else 3):
                return False
    return True


def keeps_cap(plan: Plan, problem: Problem) -> bool:
    """In words of sevens: a string of days, and too many x in a row with a new one among them."""
    new = {day for name, there in plan.items() if problem.by_id[name].heavy for day in there}
    told = "".join(
        "X" if day in new else "x" if day in problem.heavy_worked else "." for day in range(-9, N)
    )
    runs = told.split(".")
    return not any("X" in run and len(run) > (problem.heavy_in_row or 0) for run in runs)


@settings(max_examples=200, deadline=None)
@given(long_problems())
def test_no_plan_is_better_than_the_solvers(problem: Problem) -> None:
    def lost(placed: Mapping[str, object]) -> tuple[int, int]:
        out = [one.importance for one in problem.jobs if one.id not in placed]
        return out.count(7), out.count(3)

    roster = solve(problem)
    assert faults_in(problem, roster) == ()
    assert roster.proof == "proven"
    plans = list(every_plan(problem))
    least = min(map(lost, plans))
    assert lost(days(roster)) == least
    if least == (0, 0):
        sums = [sum(there[-1] for there in plan.values()) for plan in plans if lost(plan) == least]
        assert ends(roster) == min(sums)
