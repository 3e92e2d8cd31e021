"""The aims in their strict order, and what a plan has of each."""

from collections.abc import Mapping

from scheduler.roster.costs import MONEY_PARTS, RISK_PARTS, TIE_PARTS, Cost, day_parts
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Kit, Problem

Plan = Mapping[str, Placement]
Costs = Mapping[str, Mapping[int, Cost]]  # by job id and first day

BY_PLACEMENT = {
    "moved": "moved",
    "shift_days": "shift",
    "frost": "risk",
    "hire_cost": "hire",
    "waiting_days": "waiting",
}  # aims that single placements decide, and the field of their cost


def aims_of(problem: Problem) -> list[str]:
    """Names of the aims that the problem gives reason for, in their order."""
    levels = sorted({job.importance for job in problem.jobs}, reverse=True)
    aims = [f"fit-{level}" for level in levels]
    if any(job.published_first is not None for job in problem.jobs):
        aims += ["moved", "shift_days"]
    if any(job.risk.any() for job in problem.jobs):
        aims.append("frost")
    if any(kit.cost_day > 0 for kit in problem.kits):
        aims += ["hire_blocks", "hire_cost"]
    return [*aims, "waiting_days"]


def parts_in_one(problem: Problem, aim: str) -> int:
    """Whole units in which an aim is counted inside, for one of its own measure."""
    days = day_parts(problem) * TIE_PARTS
    return {"frost": RISK_PARTS, "hire_cost": MONEY_PARTS, "waiting_days": days}.get(aim, 1)


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
    if aim == "hire_blocks":
        return sum(_blocks(kit, problem, plan) for kit in problem.kits if kit.cost_day > 0)
    level = int(aim.removeprefix("fit-"))
    out = (job_id for job_id in among if job_id not in plan)
    return sum(problem.by_id[job_id].importance == level for job_id in out)


def _blocks(kit: Kit, problem: Problem, plan: Plan) -> int:
    used = {
        day
        for job_id, p in plan.items()
        if problem.by_id[job_id].uses.get(kit.id)
        for day in p.days
    }
    can = [day for day, units in enumerate(kit.units.tolist()) if units > 0]
    return sum(day in used and (n == 0 or can[n - 1] not in used) for n, day in enumerate(can))
