"""Single visits against the same stated in whole to another solver, and what help does to them."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from itertools import combinations, pairwise

import numpy as np
import pytest
from ortools.sat.python import cp_model

from scheduler.roster import HANDS, CrewTeams, Kit, Order, Packer, Problem, Step, Visit, Worker
from scheduler.terms import Season

N = 14
TEAMS = ({HANDS: 1}, {HANDS: 2}, {"saw": 1}, {"saw": 1, HANDS: 1}, {"saw": 1, "chips": 1})


def a_visit(seed: int) -> Problem:
    """Up to four steps one after another, three people with days off, a kit, closed days."""
    rng = np.random.default_rng(seed)

    def but(share: float) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        return rng.random(N) > share

    steps = tuple(
        Step(
            f"step-{n}",
            "plot",
            float(rng.integers(2, 50)) / 2,
            TEAMS[rng.integers(len(TEAMS))],
            int(rng.integers(1, 4)),
            but(0.1),
            np.zeros(N),
            np.zeros(N),
            {"kit": 1} if rng.random() < 0.2 else {},
            heavy=bool(rng.random() < 0.5),
        )
        for n in range(rng.integers(1, 5))
    )
    orders = (
        Order(one.id, other.id, int(rng.choice([0, 0, 0, 1, 2])), [None, 3, 5][rng.integers(3)])
        for one, other in pairwise(steps)
    )
    skills = (frozenset({"saw"}), frozenset({"saw", "chips"}), frozenset({"chips"}))
    workers = (
        Worker(f"worker-{n}", own, but(0.25) * float(rng.integers(6, 17)) / 2)
        for n, own in enumerate(skills)
    )
    kit = Kit("kit", but(0.2).astype(np.int64))
    cap = [None, 1, 2, 3][rng.integers(4)]
    season = Season(date(2027, 5, 3), N)
    return Problem(season, (Visit("v", steps),), tuple(orders), tuple(workers), (kit,), cap)


def packed(problem: Problem) -> int | None:
    """The fewest days of any block; None where there is none."""
    blocks = Packer(problem, CrewTeams(problem)).blocks(problem.visits[0])
    return min((block.span_days for block in blocks), default=None)


class Textbook:
    """A visit in the plain way: minutes of each person, step and day, the span made least.

    For each step and day a size of team, minutes by the clock, and what each person gives;
    people may take turns, but fill no two places at once (Hall's condition over the skills).

    Args:
        problem: of one visit.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem, self.model, self.n = problem, cp_model.CpModel(), problem.season.n_days
        self.minutes = np.array([60 * worker.hours for worker in problem.workers], dtype=int)
        self.clock: dict[int, list[cp_model.IntVar]] = {day: [] for day in range(self.n)}
        self.given: dict[tuple[int, int], list[cp_model.IntVar]] = {}
        self.heavy: dict[int, list[cp_model.IntVar]] = {day: [] for day in range(self.n)}
        self.ends = {step.id: self._step(step) for step in problem.steps}
        self._limits()
        self._orders()

    def _step(self, step: Step) -> tuple[cp_model.LinearExpr, cp_model.LinearExpr]:
        """Everything of one step; its first and last day."""
        model, worked, work = self.model, [], []
        for day in range(self.n):
            there = step.open[day] and all(
                kit.units[day] >= step.uses.get(kit.id, 0) for kit in self.problem.kits
            )
            on, minutes = self._on(step, day) if there else (model.new_constant(0), 0)
            worked.append(on)
            work.append(minutes)
            if step.heavy:
                self.heavy[day].append(on)
        model.add(sum(work) >= round(60 * step.work_h))
        begin, end = ([model.new_bool_var("") for _ in range(self.n)] for _ in range(2))
        for row in (begin, end):
            model.add_exactly_one(row)
            for day, literal in enumerate(row):
                model.add_implication(literal, worked[day])
        days = range(self.n)
        first, last = (cp_model.LinearExpr.weighted_sum(row, days) for row in (begin, end))
        for day, on in enumerate(worked):
            model.add(first <= day).only_enforce_if(on)
            model.add(last >= day).only_enforce_if(on)
        return first, last

    def _on(self, step: Step, day: int) -> tuple[cp_model.IntVar, cp_model.IntVar]:
        """Whether a step is worked on on a day, and with how many person-minutes."""
        model, longest = self.model, int(self.minutes[:, day].max())
        on, clock = model.new_bool_var(""), model.new_int_var(0, longest, "")
        work = model.new_int_var(0, longest * len(self.minutes), "")
        sizes = range(step.n_people, max(step.team_max, step.n_people) + 1)
        chosen = [model.new_bool_var("") for _ in sizes]
        model.add(sum(chosen) == on)
        model.add(clock == 0).only_enforce_if(~on)
        model.add(clock >= 1).only_enforce_if(on)
        model.add(work == 0).only_enforce_if(~on)
        for size, literal in zip(sizes, chosen, strict=True):
            model.add(work == size * clock).only_enforce_if(literal)
        gives = [model.new_int_var(0, int(has), "") for has in self.minutes[:, day]]
        for n, give in enumerate(gives):
            model.add(give <= clock)
            self.given.setdefault((n, day), []).append(give)
        model.add(sum(gives) == work)
        for skills in subsets(step.team.keys() - {HANDS}):
            able = [
                g for g, w in zip(gives, self.problem.workers, strict=True) if w.skills & skills
            ]
            model.add(sum(able) >= sum(step.team[skill] for skill in skills) * clock)
        self.clock[day].append(clock)
        return on, work

    def _limits(self) -> None:
        """Everybody's hours, the ground of the plot, rest from heavy work."""
        for (n, day), gives in self.given.items():
            self.model.add(sum(gives) <= int(self.minutes[n, day]))
        for day, clocks in self.clock.items():
            self.model.add(sum(clocks) <= int(self.minutes[:, day].max()))
        cap = self.problem.heavy_in_row
        if cap is not None:
            heavy = [self.model.new_bool_var("") for _ in range(self.n)]
            for day, literals in self.heavy.items():
                for literal in literals:
                    self.model.add_implication(literal, heavy[day])
            for day in range(self.n - cap):
                self.model.add(sum(heavy[day : day + cap + 1]) <= cap)

    def _orders(self) -> None:
        for order in self.problem.orders:
            wait = self.ends[order.after][0] - self.ends[order.before][1]
            self.model.add(wait >= order.min_days)
            if order.within_days is not None:
                self.model.add(wait <= order.within_days)

    def least(self) -> int | None:
        """The fewest days there are; None where it cannot be done."""
        steps = self.problem.steps
        self.model.minimize(self.ends[steps[-1].id][1] - self.ends[steps[0].id][0] + 1)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(self.model)
        assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
        return round(solver.objective_value) if status == cp_model.OPTIMAL else None


def subsets(skills: Iterable[str]) -> list[set[str]]:
    names = sorted(skills)
    return [set(some) for n in range(len(names)) for some in combinations(names, n + 1)]


def test_no_block_is_longer_than_a_textbook_model_needs() -> None:
    """CP-SAT of OR-tools has the best; a day more at most, and in four of five cases none."""
    more = []
    for seed in range(40):
        problem = a_visit(seed)
        least, mine = Textbook(problem).least(), packed(problem)
        assert (least is None) == (mine is None)
        if least is not None and mine is not None:
            assert least <= mine <= least + 1
            more.append(mine - least)
    assert len(more) > 30
    assert more.count(0) >= 0.8 * len(more)


@pytest.mark.xfail(strict=True, reason="the crew works as soon as it can, where to wait is better")
@pytest.mark.parametrize("seed", [59, 93, 329])
def test_known_visits_that_wait_too_long(seed: int) -> None:
    """Of 700 of these visits four are so, and one has no block; all under a cap of heavy days."""
    problem = a_visit(seed)
    least, mine = Textbook(problem).least(), packed(problem)
    assert least is not None
    assert mine is not None
    assert mine <= least + 1


def test_one_more_person_never_makes_a_visit_alone_longer() -> None:
    """Without a cap: rest may fall on the better days."""
    n_shorter = 0
    for seed in range(100):
        problem = replace(a_visit(seed), heavy_in_row=None)
        helper = Worker("worker-9", frozenset({"saw", "chips"}), np.full(N, 8.0))
        alone, helped = (
            packed(problem),
            packed(replace(problem, workers=(*problem.workers, helper))),
        )
        if alone is not None:
            assert helped is not None
            assert helped <= alone
            n_shorter += helped < alone
    assert n_shorter > 30
