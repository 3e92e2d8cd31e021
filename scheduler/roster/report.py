"""What a plan comes to: preferences met or missed, and the blocks of hire."""

from collections.abc import Iterator, Mapping, Sequence

from scheduler.roster.aims import Costs, Plan, blocks_of
from scheduler.roster.costs import POINT_PARTS, points_of
from scheduler.roster.ledger import Ledger
from scheduler.roster.order import keeps_all
from scheduler.roster.placements import Block
from scheduler.roster.problem import Problem
from scheduler.roster.result import HireUse, Preference
from scheduler.roster.teams import CrewTeams


def hires_of(problem: Problem, plan: Plan) -> Iterator[HireUse]:
    """Blocks of days of the kit; a day is paid once, whoever uses it."""
    for kit in (kit for kit in problem.kits if not kit.own):
        for days in blocks_of(kit, problem, plan):
            yield HireUse(kit.id, tuple(days), len(days) * kit.cost_day)


def preferences_of(
    problem: Problem,
    crew: CrewTeams,
    choices: Mapping[str, Sequence[Block]],
    costs: Costs,
    plan: Plan,
) -> Iterator[Preference]:
    """What became of every visit that has preferred days and a place in the plan, by id."""
    preferred = [
        block
        for _, block in sorted(plan.items())
        if any(step.points.any() for step in block.visit.steps)
    ]
    if not preferred:
        return
    ledger = Ledger(problem, crew)
    for block in plan.values():
        ledger.put(block)

    def earliest(here: Block) -> int:
        """The earliest end that all else and every earlier aim would allow."""
        cost = costs[here.visit.id]
        for block in choices[here.visit.id]:
            if block.last >= here.last:
                break
            same = cost[block.first][:4] <= cost[here.first][:4]
            if same and keeps_all(problem, plan, block) and ledger.fits(block):
                return block.last
        return here.last

    for here in preferred:
        points, visit_id = points_of(here), here.visit.id
        best = points + costs[visit_id][here.first].lost / POINT_PARTS
        waited = 0
        if points > 0:
            ledger.take(visit_id)
            waited = here.last - earliest(here)
            ledger.put(here)
        yield Preference(visit_id, points, best, waited)
