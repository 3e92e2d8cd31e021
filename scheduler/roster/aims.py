"""The aims in their strict order, and what a plan has of each."""

from collections.abc import Mapping

from scheduler.roster.costs import POINT_PARTS, RISK_PARTS, TIE_PARTS, Cost
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Kit, Problem

Plan = Mapping[str, Placement]
Costs = Mapping[str, Mapping[int, Cost]]  # by job id and first day

BY_PLACEMENT = {
    "moved": "moved",
    "shift_days": "shift",
    "frost": "risk",
    "preferences": "lost",
    "waiting_days": "waiting",
}  # aims that single placements decide, and the field of their cost
BLOCKS = "hire_blocks"  # blocks of the kit that is to come as seldom as can be
HIRE = "hire_and_waiting"  # days of waiting, and what the blocks of other hire are worth in them
LATE = (BLOCKS, "preferences", "waiting_days", HIRE)  # asked together where numbers allow


def aims_of(problem: Problem) -> list[str]:
    """Names of the aims that the problem gives reason for, in their order."""
    levels = sorted({job.importance for job in problem.jobs}, reverse=True)
    aims = [f"fit-{level}" for level in levels]
    if any(job.published_first is not None for job in problem.jobs):
        aims += ["moved", "shift_days"]
    if any(job.risk.any() for job in problem.jobs):
        aims.append("frost")
    if kits_of(problem, BLOCKS):
        aims.append(BLOCKS)
    if any(job.points.any() for job in problem.jobs):
        aims.append("preferences")
    return [*aims, HIRE if kits_of(problem, HIRE) else "waiting_days"]


def kits_of(problem: Problem, aim: str) -> list[Kit]:
    """The kit whose blocks of days an aim counts."""
    if aim == BLOCKS:
        return [kit for kit in problem.kits if kit.block_days is None]
    return [kit for kit in problem.kits if kit.block_days] if aim == HIRE else []


def parts_in_one(aim: str) -> int:
    """Whole units in which an aim is counted inside, for one of its own measure."""
    parts = {"frost": RISK_PARTS, "preferences": POINT_PARTS}
    return {**parts, HIRE: TIE_PARTS, "waiting_days": TIE_PARTS}.get(aim, 1)


def block_price(kit: Kit) -> int:
    """What a block of hire counts: one, or the days it is worth in the parts of waiting."""
    return 1 if kit.block_days is None else round(kit.block_days * TIE_PARTS)


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
    if aim in (BLOCKS, HIRE):
        kits = kits_of(problem, aim)
        hire = sum(block_price(kit) * len(blocks_of(kit, problem, plan)) for kit in kits)
        return hire + (value_of("waiting_days", problem, among, costs, plan) if aim == HIRE else 0)
    if aim in BY_PLACEMENT:
        field = BY_PLACEMENT[aim]
        return sum(getattr(costs[job_id][p.first], field) for job_id, p in plan.items())
    level = int(aim.removeprefix("fit-"))
    out = (job_id for job_id in among if job_id not in plan)
    return sum(problem.by_id[job_id].importance == level for job_id in out)


def blocks_of(kit: Kit, problem: Problem, plan: Plan) -> list[list[int]]:
    """The days on which a kit is used, in blocks.

    Days on which it cannot come, or on which nobody works, part none.
    """
    used = {
        day
        for job_id, p in plan.items()
        if problem.by_id[job_id].uses.get(kit.id)
        for day in p.days
    }
    blocks: list[list[int]] = []
    going = False
    for day in problem.kit_days[kit.id]:
        if day in used and going:
            blocks[-1].append(day)
        elif day in used:
            blocks.append([day])
        going = day in used
    return blocks
