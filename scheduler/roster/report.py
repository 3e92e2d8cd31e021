"""What a plan comes to: preferences met or missed, and the blocks of hire."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

from scheduler.roster.aims import Costs, Plan, blocks_of
from scheduler.roster.costs import POINT_PARTS, points_of
from scheduler.roster.ledger import Ledger
from scheduler.roster.order import keeps, tied
from scheduler.roster.placements import Block
from scheduler.roster.problem import Problem
from scheduler.roster.result import HireUse, Preference
from scheduler.roster.teams import Crew


def hires_of(problem: Problem, plan: Plan) -> Iterator[HireUse]:
    """Blocks of days of the kit; a day is paid once, whoever uses it."""
    for kit in (kit for kit in problem.kits if not kit.own):
        for days in blocks_of(kit, problem, plan):
            yield HireUse(kit.id, tuple(days), len(days) * kit.cost_day)


def keeps_all(problem: Problem, plan: Plan, block: Block) -> bool:
    """Whether a block keeps the order of work to all others of a plan."""
    there = {**plan, block.visit.id: block}
    return all(
        keeps(order, there[one], there[other])
        for one, other in tied(problem, there)
        if block.visit.id in (one, other)
        for order in problem.ties[one, other]
    )


class Preferred:
    """The preferred days of a plan: met or missed, and what they cost in waiting.

    Args:
        problem: what was asked.
        crew: its people.
        choices: blocks by visit id.
        costs: of them.
        plan: where the visits stand.
    """

    def __init__(
        self,
        problem: Problem,
        crew: Crew,
        choices: Mapping[str, Sequence[Block]],
        costs: Costs,
        plan: Plan,
    ) -> None:
        self.problem, self.crew, self.choices = problem, crew, choices
        self.costs, self.plan = costs, plan

    @cached_property
    def ledger(self) -> Ledger:
        """The days as they are filled; made only where somebody prefers a day."""
        ledger = Ledger(self.problem, self.crew)
        for block in self.plan.values():
            ledger.put(block)
        return ledger

    def all(self) -> Iterator[Preference]:
        """Every visit that has preferred days and a place, by id."""
        for _, block in sorted(self.plan.items()):
            if any(step.points.any() for step in block.visit.steps):
                yield self._of(block)

    def _of(self, here: Block) -> Preference:
        points, visit = points_of(here), here.visit
        best = points + self.costs[visit.id][here.first].lost / POINT_PARTS
        waited = 0
        if points > 0:
            self.ledger.take(visit.id)
            waited = here.last - self._earliest(here)
            self.ledger.put(here)
        return Preference(visit.id, points, best, waited)

    def _earliest(self, here: Block) -> int:
        """The earliest end that all else and every earlier aim would allow."""
        for block in self.choices[here.visit.id]:
            if block.last >= here.last:
                break
            same = self._earlier_aims(block) <= self._earlier_aims(here)
            if same and keeps_all(self.problem, self.plan, block) and self.ledger.fits(block):
                return block.last
        return here.last

    def _earlier_aims(self, block: Block) -> tuple[int, ...]:
        """What stands above preferences."""
        return self.costs[block.visit.id][block.first].key[:4]
