"""Small seasons of eight days, and every plan that there is for them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, replace
from datetime import date
from itertools import combinations, pairwise, product

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from scheduler.roster import (
    Block,
    CrewTeams,
    Kit,
    Order,
    Packer,
    Problem,
    Roster,
    Step,
    Visit,
    Worker,
)
from scheduler.roster.check import faults_in
from scheduler.roster.names import stints_of
from scheduler.terms import Season

N = 8
SEASON = Season(date(2027, 5, 3), N)
OF_VISIT = {field.name for field in fields(Visit)} - {"id", "steps"}
Plan = dict[str, Block]  # by visit id


def step(name: str, work_h: float = 6.0, **changes: object) -> Step:
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
    return Step(**(told | changes))  # type: ignore[arg-type]  # fields by name


def one(name: str, work_h: float = 6.0, **changes: object) -> Visit:
    """A visit of one step; changes of either."""
    of_visit = {key: value for key, value in changes.items() if key in OF_VISIT}
    of_step = {key: value for key, value in changes.items() if key not in OF_VISIT}
    return Visit(name, (step(name, work_h, **of_step),), **of_visit)  # type: ignore[arg-type]  # by name


def worker(name: str, *skills: str, hours: Sequence[float] = (6.0,) * N) -> Worker:
    return Worker(name, frozenset(skills), np.array(hours, dtype=np.float64))


def mask(*days: int) -> NDArray[np.bool_]:
    return np.isin(np.arange(N), days)


CREW = (worker("Ana", "ground-saw"), worker("Bo"))
MANY = tuple(worker(name) for name in ("Ana", "Bo", "Cy", "Di", "Eva", "Flor"))


def days(roster: Roster) -> dict[str, tuple[int, ...]]:
    """Days by step id."""
    return {stint.step_id: stint.days for stint in roster.stints}


def firsts(roster: Roster) -> dict[str, int]:
    """First days by visit id."""
    return {visit.visit_id: visit.first for visit in roster.visits}


def published(problem: Problem, roster: Roster) -> Problem:
    """The same problem after its answer was published."""
    told = firsts(roster)
    visits = (replace(v, published_first=told.get(v.id)) for v in problem.visits)
    return replace(problem, visits=tuple(visits))


def with_steps(problem: Problem, **changes: object) -> Problem:
    """The same problem, all steps changed so."""
    visits = (
        replace(v, steps=tuple(replace(s, **changes) for s in v.steps))  # type: ignore[arg-type]
        for v in problem.visits
    )
    return replace(problem, visits=tuple(visits))


def plain(problem: Problem) -> Problem:
    """The same without published or preferred days, frost, hire, hurry, or spans kept short."""
    visits = (replace(v, published_first=None, hurry=1, lies_open=False) for v in problem.visits)
    kits = tuple(replace(kit, block_days=0.0) for kit in problem.kits)
    bare = replace(problem, visits=tuple(visits), kits=kits)
    return with_steps(bare, points=np.zeros(N), risk=np.zeros(N))


# Every plan there is.


def blocks(problem: Problem) -> dict[str, list[Block]]:
    """Every block of every visit."""
    packer = Packer(problem, CrewTeams(problem))
    return {visit.id: packer.blocks(visit) for visit in problem.visits}


def plan_of(roster: Roster, choices: Mapping[str, list[Block]]) -> Plan:
    """A roster as blocks."""
    told = firsts(roster)
    return {v: next(b for b in choices[v] if b.first == first) for v, first in told.items()}


def stands(problem: Problem, plan: Plan) -> bool:
    """Whether the checker finds no fault in a plan, and everybody's hours have names."""
    stints = stints_of(CrewTeams(problem), plan)
    if isinstance(stints, list):
        return False
    out = tuple(visit.id for visit in problem.visits if visit.id not in plan)
    return faults_in(problem, Roster((), stints, out, (), "gap", (), (), (), 0.0)) == ()


def every_plan(problem: Problem) -> Iterator[Plan]:
    """Every choice of one block, or none, for each visit that keeps the order of work."""
    choices = blocks(problem)
    for chosen in product(*([None, *found] for found in choices.values())):
        plan = {block.visit.id: block for block in chosen if block is not None}
        if all(_keeps(order, plan, problem) for order in problem.orders):
            yield plan


def _keeps(order: Order, plan: Plan, problem: Problem) -> bool:
    before, after = (problem.visit_of[end].id for end in (order.before, order.after))
    if after not in plan:
        return True
    if before not in plan:
        return False
    wait = plan[after].by_step[order.after].first - plan[before].by_step[order.before].last
    most = N if order.within_days is None else order.within_days
    return order.min_days <= wait <= most


def worth(problem: Problem, plan: Plan) -> tuple[float, ...]:
    """What a plan has of the aims in their order, reckoned anew; less is better.

    Points and waiting count from none: where work is left out they say nothing.
    """
    out = [visit.importance for visit in problem.visits if visit.id not in plan]
    there = [block for _, block in sorted(plan.items())]
    kept = [(b.first, b.visit.published_first) for b in there]
    shifts = [abs(first - day) for first, day in kept if day is not None]
    worked = [
        (step, day, work_min / 60)
        for block in there
        for step, part in zip(block.visit.steps, block.parts, strict=True)
        for day, work_min in zip(part.days, part.work_min, strict=True)
    ]
    frost: dict[str, float] = {}
    for step, day, _ in worked:
        visit_id = problem.visit_of[step.id].id
        frost[visit_id] = max(frost.get(visit_id, 0.0), step.risk[day])
    hire = sum(kit.block_days * _blocks_of_hire(kit, problem, worked) for kit in problem.kits)
    points = sum(step.points[day] * work_h for step, day, work_h in worked)
    return (
        *(out.count(level) for level in range(9, 0, -1)),
        sum(shift > 0 for shift in shifts),
        round(sum(frost.values()), 6),
        sum(block.last - block.first + 1 for block in there if block.visit.lies_open),
        sum(shifts),
        0 if out else -round(points, 6),
        0 if out else sum(block.visit.hurry * block.last for block in there) + hire,
    )


def _blocks_of_hire(kit: Kit, problem: Problem, worked: list[tuple[Step, int, float]]) -> int:
    """Runs of used days among those on which the kit can come and somebody works."""
    used = {day for step, day, _ in worked if step.uses.get(kit.id)}
    works = [any(w.hours[day] > 0 for w in problem.workers) for day in range(N)]
    told = "".join("x" if d in used else "." for d in range(N) if kit.units[d] and works[d])
    return len([run for run in told.split(".") if run])


# Random seasons.

TEAMS = ({"hands": 1}, {"ground-saw": 1}, {"hands": 2}, {"ground-saw": 1, "hands": 1})
SOME = st.sets(st.integers(0, N - 1), max_size=4)


@st.composite
def _visits(draw: st.DrawFn, name: str) -> Visit:
    plot = draw(st.sampled_from(["low", "high"]))
    steps = tuple(
        step(
            f"{name}{n}",
            draw(st.sampled_from([1.0, 4.0, 6.0, 14.0])),
            plot=plot,
            team=draw(st.sampled_from(TEAMS)),
            open=~mask(*draw(SOME)),
            points=np.where(mask(*draw(SOME)), 2.0, 0.0),
            risk=np.where(mask(*draw(SOME)), 0.3, 0.0) * draw(st.booleans()),
            uses={"saw": 1} if draw(st.booleans()) else {},
            heavy=draw(st.booleans()),
        )
        for n in range(draw(st.integers(1, 3)))
    )
    if draw(st.integers(0, 7)) == 7:
        steps = (replace(steps[0], fixed_first=draw(st.integers(0, N - 1))), *steps[1:])
    return Visit(
        name,
        steps,
        importance=draw(st.sampled_from([3, 7])),
        published_first=draw(st.sampled_from([None, None, 2, 5])),
        hurry=draw(st.sampled_from([1, 3])),
        lies_open=draw(st.booleans()),
        pause_days=draw(st.sampled_from([None, None, 1, 3])),
    )


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    """Up to three visits of up to three steps, two people, a kit, some order, heavy work."""
    visits = [draw(_visits(name)) for name in "abc"[: draw(st.integers(1, 3))]]
    orders = [
        Order(before.id, after.id, draw(st.integers(0, 2)), draw(st.sampled_from([None, 3])))
        for visit in visits
        for before, after in pairwise(visit.steps)
    ]
    for before, after in combinations(visits, 2):
        if draw(st.booleans()):
            apart = before.steps[0].plot != after.steps[0].plot
            ends = draw(st.sampled_from(before.steps)).id, draw(st.sampled_from(after.steps)).id
            orders.append(
                Order(*ends, draw(st.integers(int(apart), 2)), draw(st.sampled_from([None, 3])))
            )
    hours = st.lists(st.sampled_from([6.0, 6.0, 5.0, 0.0]), min_size=N, max_size=N)
    workers = (worker("Ana", "ground-saw", hours=draw(hours)), worker("Bo", hours=draw(hours)))
    comes = (~mask(*draw(SOME))).astype(np.int64)
    minutes = draw(st.sampled_from([None, None, 120, 270]))
    saw = Kit(
        "saw",
        comes,
        100.0,
        draw(st.sampled_from([0.0, 2.0])),
        None if minutes is None else np.full(N, minutes),
    )
    return Problem(
        SEASON,
        tuple(visits),
        tuple(orders),
        workers,
        (saw,),
        draw(st.sampled_from([None, 1, 2])),
        frozenset(draw(st.sets(st.integers(-3, -1), max_size=2))),
    )
