"""The aims in their strict order, and what a plan has of each."""

from collections.abc import Mapping

import numpy as np

from scheduler.roster.costs import RISK_PARTS, TIE_PARTS, Cost, day_parts
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Kit, Problem

Plan = Mapping[str, Placement]
Costs = Mapping[str, Mapping[int, Cost]]  # by job id and first day

BY_PLACEMENT = {
    "moved": "moved",
    "shift_days": "shift",
    "frost": "risk",
    "waiting_days": "waiting",
}  # aims that single placements decide, and the field of their cost
HIRE = "hire_and_waiting"  # days of waiting, and what the blocks of hire are worth in them


def aims_of(problem: Problem) -> list[str]:
    """Names of the aims that the problem gives reason for, in their order."""
    levels = sorted({job.importance for job in problem.jobs}, reverse=True)
    aims = [f"fit-{level}" for level in levels]
    if any(job.published_first is not None for job in problem.jobs):
        aims += ["moved", "shift_days"]
    if any(job.risk.any() for job in problem.jobs):
        aims.append("frost")
    gathered = any(kit.block_days > 0 for kit in problem.kits)
    return [*aims, HIRE if gathered else "waiting_days"]


def parts_in_one(problem: Problem, aim: str) -> int:
    """Whole units in which an aim is counted inside, for one of its own measure."""
    days = day_parts(problem) * TIE_PARTS
    return {"frost": RISK_PARTS, HIRE: days, "waiting_days": days}.get(aim, 1)


def block_price(problem: Problem, kit: Kit) -> int:
    """What a block of hire costs, in the parts in which waiting is counted."""
    return round(kit.block_days * day_parts(problem)) * TIE_PARTS


def value_of(
    aim: str, problem: Problem, among: Mapping[str, object], costs: Costs, plan: Plan
) -> int:
    """What a plan for some of the jobs has of an aim; less is better.

    Args:
        aim: its name.
        problem: the whole problem.
        among: the jobs that are meant, by id.
        costs: of their placements.
        plan: where they stand; those missing are left out.
    """
    if aim in BY_PLACEMENT:
        field = BY_PLACEMENT[aim]
        return sum(getattr(costs[job_id][p.first], field) for job_id, p in plan.items())
    if aim == HIRE:
        hire = sum(
            block_price(problem, k) * len(blocks_of(k, problem, plan)) for k in problem.kits
        )
        return hire + sum(costs[job_id][p.first].waiting for job_id, p in plan.items())
    level = int(aim.removeprefix("fit-"))
    out = (job_id for job_id in among if job_id not in plan)
    return sum(problem.by_id[job_id].importance == level for job_id in out)


def blocks_of(kit: Kit, problem: Problem, plan: Plan) -> list[list[int]]:
    """The days on which a kit is used, in blocks; days on which it cannot come part none."""
    used = {
        day
        for job_id, p in plan.items()
        if problem.by_id[job_id].uses.get(kit.id)
        for day in p.days
    }
    blocks: list[list[int]] = []
    going = False
    for day in np.flatnonzero(kit.units > 0).tolist():
        if day in used and going:
            blocks[-1].append(day)
        elif day in used:
            blocks.append([day])
        going = day in used
    return blocks
