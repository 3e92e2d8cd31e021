"""A first plan in milliseconds: visit after visit, each on the best days still free.

It is the solver's start, the answer where the effort is nil, and the yardstick that the
solver must beat (serial schedule generation, Kolisch and Hartmann 1999, from memory; with
a step back where a longest gap is missed).
"""

import heapq
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from scheduler.roster.costs import Cost
from scheduler.roster.ledger import Ledger
from scheduler.roster.order import Choices, Pair, followers, in_order, keeps, tied, with_followers
from scheduler.roster.placements import Block
from scheduler.roster.problem import Order, Problem
from scheduler.roster.teams import Crew


def _cheapest(blocks: Sequence[Block], costs: Mapping[int, Cost]) -> list[Block]:
    """Blocks by cost, the earlier of equals first."""
    return sorted(blocks, key=lambda block: (costs[block.first].key, block.first))


class Serial:
    """One pass over the visits.

    Args:
        problem: what is to be placed; its orders run in no circle among ``choices``.
        crew: its people.
        choices: blocks to choose from, by visit id.
        costs: what each of them costs, by visit id and first day.
    """

    def __init__(
        self,
        problem: Problem,
        crew: Crew,
        choices: Choices,
        costs: Mapping[str, Mapping[int, Cost]],
    ) -> None:
        self.problem, self.crew, self.choices = problem, crew, choices
        pairs = tied(problem, choices)
        self.before: dict[str, list[tuple[str, Order]]] = {visit_id: [] for visit_id in choices}
        self.after: dict[str, list[Pair]] = {visit_id: [] for visit_id in choices}
        for pair in pairs:
            self.before[pair[1]] += [(pair[0], order) for order in problem.ties[pair]]
            self.after[pair[0]].append(pair)
        self.followers = followers(pairs)
        self.by_cost = {v: _cheapest(blocks, costs[v]) for v, blocks in choices.items()}
        self.line = in_order(sorted(choices), pairs)
        self.ranks = {visit_id: n for n, visit_id in enumerate(self.line)}

    def run(self, standing: Mapping[str, Block] = MappingProxyType({})) -> dict[str, Block]:
        """Blocks by visit id; visits that found no place are missing, as are their followers.

        Args:
            standing: where some visits stand already; they keep their place.
        """
        self.ledger = Ledger(self.problem, self.crew)
        for block in standing.values():
            self.ledger.put(block)
        self.floor: dict[str, int] = dict.fromkeys(self.choices, 0)
        self.out: set[str] = set()
        self.urgency = self._latest()
        self._place_firm()
        steps_back = 0 if standing else 4 * len(self.choices)
        todo = [self._turn(visit_id) for visit_id in self.choices]
        heapq.heapify(todo)
        while todo:
            visit_id = heapq.heappop(todo)[2]
            if visit_id in self.ledger.placed or visit_id in self.out:
                continue
            found = self._best(visit_id)
            if found is not None:
                self.ledger.put(found)
                continue
            back = self._step_back(visit_id) if steps_back > 0 else set()
            steps_back -= 1
            if back:
                for again in (visit_id, *sorted(back)):
                    heapq.heappush(todo, self._turn(again))
            else:
                self._leave_out(visit_id)
        return dict(self.ledger.placed)

    def _turn(self, visit_id: str) -> tuple[float, int, str]:
        """What can be placed comes in order of work; the most urgent of each step first."""
        return (self.urgency[visit_id], self.ranks[visit_id], visit_id)

    def _latest(self) -> dict[str, float]:
        """Last day on which each visit may begin, and everything after it still fit."""
        late = {
            v: float(blocks[-1].first) if blocks else 0.0 for v, blocks in self.choices.items()
        }
        for visit_id in reversed(self.line):
            for pair in self.after[visit_id]:
                least = min(order.min_days for order in self.problem.ties[pair])
                late[visit_id] = min(late[visit_id], late[pair[1]] - least)
        return late

    def _place_firm(self) -> None:
        """The grower's own days first, then what is published and still stands."""
        visits = self.problem.visit_by_id
        for visit_id, blocks in sorted(self.choices.items()):
            own = any(step.fixed_first is not None for step in visits[visit_id].steps)
            if own and visit_id not in self.ledger.placed:
                self._put_first(blocks)
        for visit_id, blocks in sorted(self.choices.items()):
            day = visits[visit_id].published_first
            if day is not None and visit_id not in self.ledger.placed:
                self._put_first([block for block in blocks if block.first == day])

    def _put_first(self, blocks: Sequence[Block]) -> None:
        """Place the first of some blocks that stands."""
        found = next((block for block in blocks if self._stands(block)), None)
        if found is not None:
            self.ledger.put(found)

    def _stands(self, block: Block) -> bool:
        """Whether a block keeps the order to all that is placed, and all limits."""
        placed, ties, visit_id = self.ledger.placed, self.problem.ties, block.visit.id
        return (
            all(
                keeps(order, placed[first], block)
                for first, order in self.before[visit_id]
                if first in placed
            )
            and all(
                keeps(order, block, placed[other])
                for one, other in self.after[visit_id]
                if other in placed
                for order in ties[one, other]
            )
            and self.ledger.fits(block)
        )

    def _best(self, visit_id: str) -> Block | None:
        if any(first not in self.ledger.placed for first, _ in self.before[visit_id]):
            return None
        floor = self.floor[visit_id]
        for block in self.by_cost[visit_id]:
            if block.last >= floor and self._stands(block):
                return block
        return None

    def _step_back(self, visit_id: str) -> set[str]:
        """Take out what came too early for this visit to follow within its gap.

        Returns:
            The visits taken out; empty where no such step helps.
        """
        placed, orders = self.ledger.placed, self.before[visit_id]
        if any(first not in placed for first, _ in orders):
            return set()
        free = self._free(visit_id)
        if free is None:
            return set()
        early: set[str] = set()
        for first, order in orders:
            if order.within_days is None or self._firm(first):
                continue
            missing = _wait(order, placed[first], free) - order.within_days
            if missing > 0:
                self.floor[first] = placed[first].last + missing
                early.add(first)
        back = with_followers(early, self.followers) & placed.keys()
        back = {moved for moved in back if not self._firm(moved)}
        for taken in sorted(back):
            self.ledger.take(taken)
        return back

    def _free(self, visit_id: str) -> Block | None:
        """The first block that comes late enough after what is placed, and keeps all limits."""
        placed, floor = self.ledger.placed, self.floor[visit_id]
        for block in self.choices[visit_id]:
            waits = ((order, _wait(order, placed[v], block)) for v, order in self.before[visit_id])
            late_enough = all(wait >= order.min_days for order, wait in waits)
            if block.last >= floor and late_enough and self.ledger.fits(block):
                return block
        return None

    def _firm(self, visit_id: str) -> bool:
        visit, block = self.problem.visit_by_id[visit_id], self.ledger.placed[visit_id]
        own = any(step.fixed_first is not None for step in visit.steps)
        return own or block.first == visit.published_first

    def _leave_out(self, visit_id: str) -> None:
        self.out |= with_followers({visit_id}, self.followers)
        for taken in sorted(self.out & set(self.ledger.placed)):
            self.ledger.take(taken)


def _wait(order: Order, before: Block, after: Block) -> int:
    """Days from the last of the step before to the first of the step after."""
    return after.by_step[order.after].first - before.by_step[order.before].last
