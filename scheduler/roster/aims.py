"""The aims in their strict order, and what a plan has of each.

Decided: preferences come before hire. Refused: the reverse, which leaves them no say. Held by
tests/roster/test_hire.py::test_frost_published_and_preferred_days_stand_above_a_block_less.
"""

from collections.abc import Mapping

from scheduler.roster.costs import POINT_PARTS, RISK_PARTS, TIE_PARTS, Cost
from scheduler.roster.placements import Block
from scheduler.roster.problem import Kit, Problem
from scheduler.roster.result import Aim, AimName

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
