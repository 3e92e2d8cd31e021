"""Why a visit does not begin on a day while all else stands, and what it would cost there.

Typed answers without words: who prints them says it in the grower's language. The rules
that close days are not asked here; they are the window's.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import TypeAlias

from scheduler.roster.aims import (
    POINT_PARTS,
    RISK_PARTS,
    TIE_PARTS,
    Cost,
    block_price,
    blocks_of,
    costs_of,
    hired,
)
from scheduler.roster.ledger import Ledger, Obstacle
from scheduler.roster.order import keeps
from scheduler.roster.placements import Block, Packer, Stop
from scheduler.roster.problem import Order, Problem, Visit
from scheduler.roster.result import Roster
from scheduler.roster.teams import CrewTeams


@dataclass(frozen=True, slots=True)
class Price:
    """What a free day would cost more than the day on which the visit stands."""

    moved: int  # 1 where it would leave its published day, -1 where it would come back to it
    risk: float  # chance of frost damage, 0 to 1
    open_days: int  # calendar days that it would lie open longer
    points: float  # points of preferred days that it would lose
    hire_days: float  # days of waiting that blocks of hire saved now are worth
    waiting_days: int  # days of waiting more; below 0 it would end earlier


Answer: TypeAlias = Obstacle | Price


class Standing:
    """A roster as it stands, to be asked about other days."""

    def __init__(self, problem: Problem, roster: Roster) -> None:
        self.problem, self.crew = problem, CrewTeams(problem)
        self.packer = Packer(problem, self.crew)
        self.ledger = Ledger(problem, self.crew)
        self._blocks: dict[str, dict[int, Block]] = {}
        self._costs: dict[str, dict[int, Cost]] = {}
        for days in roster.visits:
            self.ledger.put(self.blocks(problem.visit_by_id[days.visit_id])[days.first])

    def blocks(self, visit: Visit) -> dict[int, Block]:
        """Every block of a visit, by its first day, ascending; made once."""
        if visit.id not in self._blocks:
            self._blocks[visit.id] = {block.first: block for block in self.packer.blocks(visit)}
        return self._blocks[visit.id]

    def cost(self, visit: Visit) -> dict[int, Cost]:
        """What each block of a visit costs, by first day, reckoned once."""
        if visit.id not in self._costs:
            self._costs |= costs_of(self.problem, {visit.id: [*self.blocks(visit).values()]})
        return self._costs[visit.id]

    def asked(self, visit_id: str, first: int) -> Answer:
        """What keeps a visit from a day, the order of work first; or what it costs there."""
        visit = self.problem.visit_by_id[visit_id]
        here = self.blocks(visit).get(first)
        if here is None:
            return self._no_begin(visit, first)
        now = self.ledger.placed.get(visit_id)
        if now is not None:
            self.ledger.take(visit_id)
        try:
            obstacle = next(chain(self._order(here), self.ledger.loads(here)), None)
            return obstacle or self._price(here, now or here)
        finally:
            if now is not None:
                self.ledger.put(now)

    def preferred(self, visit_id: str) -> tuple[int, Answer] | None:
        """The nearest day that is more preferred than its own, and what keeps it from there.

        Returns:
            None where it stands on days as preferred as any it has, or has no place.
        """
        visit, now = self.problem.visit_by_id[visit_id], self.ledger.placed.get(visit_id)
        if now is None:
            return None
        cost = self.cost(visit)
        better = [day for day in self.blocks(visit) if cost[day].lost < cost[now.first].lost]
        near = min(better, key=lambda first: (abs(first - now.first), first), default=None)
        return None if near is None else (near, self.asked(visit_id, near))

    def _no_begin(self, visit: Visit, first: int) -> Obstacle:
        """Why no block begins on a day."""
        step = visit.steps[0]
        if not 0 <= first < self.crew.n_days or not step.workable[first]:
            return Obstacle("closed", "", first, step.id)
        stop = self.packer.begun(visit, first)
        if isinstance(stop, Block):
            return Obstacle("rests", "", first)
        if isinstance(stop, Stop) and stop.step is not step:
            return Obstacle("stuck", "", stop.day, stop.step.id, stop.why)
        why = self.packer.why(visit, step, first)
        if why == "short":  # it can begin, and not end
            stuck = stop or Stop(step, first, "end")
            return Obstacle("stuck", "", stuck.day, step.id, stuck.why)
        about = next((k for k, n in step.uses.items() if self.packer.units[k][first] < n), "")
        return Obstacle(why, about if why == "kit-away" else "", first, step.id)

    def _order(self, here: Block) -> Iterator[Obstacle]:
        placed, visit_id = self.ledger.placed, here.visit.id
        ties = self.problem.ties_of.get(visit_id, ())
        for before, after, orders in ties:
            if after == visit_id and before not in placed:
                yield Obstacle("unplaced", before, here.first)
            elif after == visit_id:
                yield from _after(orders, placed[before], here)
        for before, after, orders in ties:
            if before == visit_id and after in placed:
                yield from _before(orders, here, placed[after])

    def _price(self, here: Block, now: Block) -> Price:
        cost = self.cost(here.visit)
        there, before = cost[here.first], cost[now.first]
        return Price(
            moved=there.moved - before.moved,
            risk=(there.risk - before.risk) / RISK_PARTS,
            open_days=there.open - before.open,
            points=(there.lost - before.lost) / POINT_PARTS,
            hire_days=(self._hire(here) - self._hire(now)) / TIE_PARTS,
            waiting_days=here.last - now.last,
        )

    def _hire(self, there: Block) -> int:
        """What all blocks of the kit it uses come to, were it there."""
        plan = {**self.ledger.placed, there.visit.id: there}
        return sum(
            block_price(kit) * len(blocks_of(kit, self.problem, plan))
            for kit in hired(self.problem)
            if any(step.uses.get(kit.id) for step in there.visit.steps)
        )


def _after(orders: Sequence[Order], before: Block, here: Block) -> Iterator[Obstacle]:
    """Where a visit does not keep the orders to one that comes before it."""
    for order in orders:
        if keeps(order, before, here):
            continue
        ends, begins = before.by_step[order.before].last, here.by_step[order.after].first
        soonest, latest = ends + order.min_days, ends + (order.within_days or 0)
        if begins < soonest:
            day = here.first + soonest - begins
            yield Obstacle("waits", before.visit.id, day, order.before)
        else:
            yield Obstacle("too-late", before.visit.id, latest, order.before)


def _before(orders: Sequence[Order], here: Block, after: Block) -> Iterator[Obstacle]:
    """Where a visit does not keep the orders to one that follows it."""
    for order in orders:
        if not keeps(order, here, after):
            begins = after.by_step[order.after].first
            soon = begins < here.by_step[order.before].last + order.min_days
            yield Obstacle("before" if soon else "too-early", after.visit.id, begins, order.after)
