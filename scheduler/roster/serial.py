"""A first plan in milliseconds: visit after visit, each on the best days still free.

It is the solver's start, the answer where the effort is nil, and the yardstick that the
solver must beat (serial schedule generation, Kolisch and Hartmann 1999, from memory).
"""

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from scheduler.roster.aims import Costs
from scheduler.roster.ledger import Ledger
from scheduler.roster.order import Choices, followers, in_order, keeps_all, tied, with_followers
from scheduler.roster.placements import Block
from scheduler.roster.problem import Problem
from scheduler.roster.teams import CrewTeams


class Serial:
    """One pass over the visits; among the choices the orders run in no circle."""

    def __init__(self, problem: Problem, crew: CrewTeams, choices: Choices, costs: Costs) -> None:
        self.problem, self.choices, self.costs = problem, choices, costs
        self.pairs = tied(problem, choices)
        self.ledger = Ledger(problem, crew)

    def run(self, standing: Mapping[str, Block] = MappingProxyType({})) -> dict[str, Block]:
        """Blocks by visit id; visits that found no place are missing, as are their followers.

        Visits that are ``standing`` already keep their place.
        """
        placed = self.ledger.placed
        for block in standing.values():
            self.ledger.put(block)
        self._place_firm()
        after = followers(self.pairs)
        out: set[str] = set()
        for visit_id in self._line():
            if visit_id in placed or visit_id in out:
                continue
            costs = self.costs[visit_id]
            by_cost = sorted(
                self.choices[visit_id], key=lambda block: (costs[block.first], block.first)
            )
            if not self._put_first(by_cost):
                out |= with_followers({visit_id}, after)
                for taken in sorted(out & placed.keys()):
                    self.ledger.take(taken)
        return dict(placed)

    def _line(self) -> list[str]:
        """The visits in the order of work, the most urgent first."""
        line = in_order(sorted(self.choices), self.pairs)
        late = {v: blocks[-1].first if blocks else 0 for v, blocks in self.choices.items()}
        rank = {visit_id: n for n, visit_id in enumerate(line)}
        for one, other in sorted(self.pairs, key=lambda pair: rank[pair[0]], reverse=True):
            least = min(order.min_days for order in self.problem.ties[one, other])
            late[one] = min(late[one], late[other] - least)
        return sorted(line, key=lambda visit_id: late[visit_id])

    def _place_firm(self) -> None:
        """The grower's own days first, then what is published and still stands."""
        visits = [self.problem.visit_by_id[visit_id] for visit_id in sorted(self.choices)]
        for visit in visits:
            own = any(step.fixed_first is not None for step in visit.steps)
            if own and visit.id not in self.ledger.placed:
                self._put_first(self.choices[visit.id])
        for visit in visits:
            if visit.published_first is not None and visit.id not in self.ledger.placed:
                blocks = self.choices[visit.id]
                self._put_first(b for b in blocks if b.first == visit.published_first)

    def _put_first(self, blocks: Iterable[Block]) -> bool:
        """Place the first of some blocks that keeps the order to all that is placed, and fits."""
        for block in blocks:
            if keeps_all(self.problem, self.ledger.placed, block) and self.ledger.fits(block):
                self.ledger.put(block)
                return True
        return False
