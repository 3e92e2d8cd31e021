"""The aims in their strict order, what a block costs in each, and what a plan has of each.

Decided: preferences come before hire. Refused: the reverse, which leaves them no say. Held by
tests/roster/test_hire.py::test_frost_published_and_preferred_days_stand_above_a_block_less.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from scheduler.roster.placements import Block
from scheduler.roster.problem import Kit, Problem
from scheduler.roster.result import Aim, AimName

RISK_PARTS = 100  # a chance is counted in hundredths: no station record tells them finer
POINT_PARTS = 12  # hours on preferred days are counted to five minutes
# A day of waiting outweighs every tie: 100 visits that wait 10 days each fall short of it.
TIE_PARTS = 100_000
WEIGHTS = 101  # a prime, so that neighbours in the alphabet weigh differently


def points_of(block: Block) -> float:
    """Points of a block: person-hours times the points of their days."""
    return sum(
        float(step.points[day]) * work_min / 60
        for day, there in block.on.items()
        for step, _, _, work_min in there
    )


class Cost(NamedTuple):
    """One block in the aims that single blocks decide, in their order."""

    moved: int  # 1 where a published visit leaves its day
    risk: int  # chance of frost damage in hundredths
    open: int  # calendar days that the visit lies open
    shift: int  # days by which a published visit leaves its day
    lost: int  # points short of the best block it could have, in parts of a point
    waiting: int  # days after the visit's earliest end, with what settles a tie in parts of a day


def costs_of(
    problem: Problem, choices: Mapping[str, Sequence[Block]]
) -> dict[str, dict[int, Cost]]:
    """The cost of every block, by visit id and first day."""
    answer = {}
    for rank, visit in enumerate(problem.visits, start=1):
        if visit.id in choices:
            answer[visit.id] = _costs(choices[visit.id], 37 * rank % WEIGHTS + 1)
    return answer


def _costs(blocks: Sequence[Block], weight: int) -> dict[int, Cost]:
    base = blocks[0].last if blocks else 0
    steps = blocks[0].visit.steps if blocks else ()
    preferred = any(step.points.any() for step in steps)
    risky = any(step.risk.any() for step in steps)
    parts = [round(POINT_PARTS * points_of(block)) if preferred else 0 for block in blocks]
    best, answer = max(parts, default=0), {}
    for block, points in zip(blocks, parts, strict=True):
        keep = block.visit.published_first
        shift = 0 if keep is None else abs(block.first - keep)
        # ties are settled by the visit, so that a change moves only what it touches
        waiting = (TIE_PARTS + weight) * (block.last - base) + block.last - block.first
        answer[block.first] = Cost(
            moved=int(shift > 0),
            shift=shift,
            risk=_danger(block) if risky else 0,
            open=block.span_days if block.visit.lies_open else 0,
            lost=best - points,
            waiting=waiting * block.visit.hurry,
        )
    return answer


def _danger(block: Block) -> int:
    """The largest chance of frost damage on any day of any step."""
    chances = (
        float(step.risk[day])
        for step, part in zip(block.visit.steps, block.parts, strict=True)
        for day in part.days
    )
    return round(RISK_PARTS * max(chances))


Plan = Mapping[str, Block]  # by visit id
Costs = Mapping[str, Mapping[int, Cost]]  # by visit id and first day

BY_BLOCK: Mapping[AimName, str] = {
    "moved": "moved",
    "shift_days": "shift",
    "frost": "risk",
    "open_days": "open",
    "preferences": "lost",
    "waiting_days": "waiting",
    "hire_and_waiting": "waiting",
}  # aims that single blocks decide, and the field of their cost
PARTS: Mapping[AimName, int] = {
    "frost": RISK_PARTS,
    "preferences": POINT_PARTS,
    "hire_and_waiting": TIE_PARTS,
    "waiting_days": TIE_PARTS,
}  # whole units in which an aim is counted inside, for one of its own measure


def aims_of(problem: Problem) -> list[Aim]:
    """The aims that the problem gives reason for, in their order."""
    levels = sorted({visit.importance for visit in problem.visits}, reverse=True)
    is_published = any(visit.published_first is not None for visit in problem.visits)
    reasons: dict[AimName, bool] = {
        "moved": is_published,
        "frost": any(step.risk.any() for step in problem.steps),
        "open_days": any(visit.lies_open for visit in problem.visits),
        "shift_days": is_published,
        "preferences": any(step.points.any() for step in problem.steps),
    }
    last: AimName = "hire_and_waiting" if hired(problem) else "waiting_days"
    return [
        *(Aim("fit", level) for level in levels),
        *(Aim(name) for name, counts in reasons.items() if counts),
        Aim(last),
    ]


def hired(problem: Problem) -> list[Kit]:
    """The kit of which fewer blocks of days are better."""
    return [kit for kit in problem.kits if kit.block_days]


def block_price(kit: Kit) -> int:
    """What a block of hire counts: the days it is worth, in the parts of waiting."""
    return round(kit.block_days * TIE_PARTS)


def blocks_of(kit: Kit, problem: Problem, plan: Plan) -> list[list[int]]:
    """The days on which a kit is used, in blocks.

    Days on which it cannot come, or on which nobody works, part none.
    """
    used = {day for p in plan.values() for day in p.kit_days(kit.id)}
    blocks: list[list[int]] = []
    going = False
    for day in problem.kit_days[kit.id]:
        if day in used and going:
            blocks[-1].append(day)
        elif day in used:
            blocks.append([day])
        going = day in used
    return blocks
