"""Blocks are packed once for problems that agree, and anew wherever their days could differ."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.roster import Kit, Order, Packer, Problem, Visit
from scheduler.roster.placements import Placement
from tests.roster.small import CREW, SEASON, N, blocks, mask, one, problems, step, worker

OF_STEP = ("work_h", "plot", "team", "open", "uses", "heavy", "fixed_first")
OF_PROBLEM = ("workers", "kits", "heavy_in_row", "heavy_worked", "orders")
SAW = Kit("saw", np.ones(N, dtype=np.int64))


def parts(problem: Problem) -> dict[str, list[tuple[Placement, ...]]]:
    return {visit_id: [block.parts for block in bs] for visit_id, bs in blocks(problem).items()}


def anew(problem: Problem) -> dict[str, list[tuple[Placement, ...]]]:
    return parts(replace(problem, packed={}))


@settings(max_examples=40, deadline=None, derandomize=True)
@given(problems(), problems(), st.sampled_from([*OF_STEP, *OF_PROBLEM, "pause_days"]))
def test_no_problem_is_given_the_blocks_of_another(
    problem: Problem, other: Problem, part: str
) -> None:
    assert parts(problem) == anew(problem)
    first, theirs = problem.visits[0], other.visits[0]
    if part in OF_STEP:
        changed = replace(first.steps[0], **{part: getattr(theirs.steps[0], part)})
        first = replace(first, steps=(changed, *first.steps[1:]))
    elif part == "pause_days":
        first = replace(first, pause_days=theirs.pause_days)
    alike = replace(problem, visits=(first, *problem.visits[1:]))
    if part == "orders":
        there = {step.id for step in problem.steps}
        orders = [o for o in other.orders if {o.before, o.after} <= there]
        alike = replace(alike, orders=tuple(orders))
    elif part in OF_PROBLEM:
        alike = replace(alike, **{part: getattr(other, part)})
    assert alike.packed is problem.packed
    assert parts(alike) == anew(alike)


def two_steps(**changes: object) -> Visit:
    return Visit("v", (replace(step("cut", 14.0), **changes), step("haul")))  # type: ignore[arg-type]  # fields by name


CHANGES = {
    "the work": lambda p: replace(p, visits=(two_steps(work_h=20.0), *p.visits[1:])),
    "the open days": lambda p: replace(p, visits=(two_steps(open=mask(3, 4, 6)), *p.visits[1:])),
    "an own day": lambda p: replace(p, visits=(two_steps(fixed_first=2), *p.visits[1:])),
    "the team": lambda p: replace(p, visits=(two_steps(team_max=1), *p.visits[1:])),
    "heavy work": lambda p: replace(p, visits=(two_steps(heavy=True), *p.visits[1:])),
    "kit": lambda p: replace(p, visits=(two_steps(uses={"saw": 1}), *p.visits[1:]), kits=(SAW,)),
    "a pause": lambda p: replace(p, visits=(replace(p.visits[0], pause_days=1), *p.visits[1:])),
    "people": lambda p: replace(p, workers=(worker("Ana"),)),
    "skills": lambda p: replace(p, workers=(worker("Ana"), worker("Bo"))),
    "hours": lambda p: replace(p, workers=(worker("Ana", hours=(3.0,) * N), worker("Bo"))),
    "the order": lambda p: replace(p, orders=(Order("cut", "haul", 2),)),
    "what is set beside it": lambda p: replace(p, visits=(p.visits[0], one("w", fixed_first=3))),
}  # each changes something that packing looks at


@pytest.mark.parametrize("what", CHANGES)
def test_what_packing_looks_at_is_packed_anew(what: str) -> None:
    told = Problem(SEASON, (two_steps(), one("w", plot="high")), (Order("cut", "haul"),), CREW)
    before = parts(told)
    changed = CHANGES[what](told)
    n_packed = len(told.packed)
    assert parts(changed) == anew(changed)
    assert len(told.packed) > n_packed, "the old blocks were taken for the new ones"
    assert parts(told) == before


def test_what_packing_does_not_look_at_is_packed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    visit = two_steps()
    told = Problem(SEASON, (visit,), (Order("cut", "haul"),), CREW)
    (before,) = blocks(told).values()
    assert before
    monkeypatch.delattr(Packer, "_packed")
    steps = (replace(visit.steps[0], points=np.ones(N), risk=np.ones(N)), visit.steps[1])
    wanted = replace(visit, importance=9, published_first=2, steps=steps)
    (after,) = blocks(replace(told, visits=(wanted,), heavy_in_row=1)).values()
    assert [block.parts for block in after] == [block.parts for block in before]
    assert all(block.visit is wanted for block in after), "they cost what the new visit says"
    (same,) = blocks(told).values()
    assert all(one is other for one, other in zip(before, same, strict=True))
