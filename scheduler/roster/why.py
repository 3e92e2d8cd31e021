"""Why a job does not begin on a day while all else stands, and what it would cost there.

Typed answers without words: who prints them says it in the grower's language. The rules
that close days are not asked here; they are the window's.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, TypeAlias

from scheduler.roster.aims import BLOCKS, HIRE, block_price, blocks_of, kits_of
from scheduler.roster.costs import POINT_PARTS, RISK_PARTS, TIE_PARTS, Cost, costs_of
from scheduler.roster.ledger import Ledger
from scheduler.roster.placements import Placement, may_stand, placements_of
from scheduler.roster.plan import Roster
from scheduler.roster.problem import Job, Order, Problem
from scheduler.roster.rest import too_long
from scheduler.roster.teams import Crew

Kind: TypeAlias = Literal[
    "closed", "nobody", "kit-away", "team",  # it cannot begin there at all
    "cut-short", "rests", "rest-short",  # it can begin, but not end well
    "unplaced", "waits", "too-late", "before", "too-early",  # the order of work
    "crew", "kit", "plot", "heavy-row",  # what stands there already
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Obstacle:
    """What keeps a job from beginning on a day.

    Args:
        kind: ``closed`` to the job; ``nobody`` works; ``kit-away``: kit does not come;
            ``team``: too few people with the skill; ``cut-short``: a closed day or the end
            of the season comes before it would be done; ``rests``: heavy work would rest on
            its better days, and end later than if begun later; ``unplaced``: a job that comes
            before has no place; ``waits`` for the end of a job,
            ``too-late`` after it, ``before``: a job that follows begins earlier,
            ``too-early``: a job that follows would come too late; ``crew``, ``kit`` or
            ``plot``: no room beside what stands; ``heavy-row``: too many heavy days in a row.
        about: job id, kit id, plot, or skills joined by ``+``; empty where there is none.
        day: the day in question; of ``waits`` the first that would do.
        beside: ids of the jobs that take the room.
        row: of ``heavy-row`` the days that would be heavy one after another, ascending.
    """

    kind: Kind
    about: str
    day: int
    beside: tuple[str, ...] = ()
    row: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Price:
    """What a free day would cost more than the day on which the job stands.

    Args:
        moved: 1 where it would leave its published day, -1 where it would come back to it.
        shift_days: days farther from its published day.
        risk: chance of frost damage, 0 to 1.
        hire_blocks: blocks more of hire that is to come as seldom as can be.
        points: points of preferred days that it would lose.
        hire_days: days of waiting that blocks of other hire saved now are worth.
        waiting_days: days of waiting more; below 0 it would end earlier.
    """

    moved: int
    shift_days: int
    risk: float
    hire_blocks: int
    points: float
    hire_days: float
    waiting_days: int

    @property
    def gains(self) -> bool:
        """Whether the plan would be better with the job there, all aims in their order."""
        last = round(self.waiting_days + self.hire_days, 6)
        first = (self.moved, self.shift_days, round(self.risk, 6))
        return (*first, self.hire_blocks, round(self.points, 6), last) < (0, 0, 0.0, 0, 0.0, 0.0)


Answer: TypeAlias = Obstacle | Price


class Standing:
    """A roster as it stands, to be asked about other days.

    Args:
        problem: what was asked.
        roster: what was answered.
    """

    def __init__(self, problem: Problem, roster: Roster) -> None:
        self.problem = problem
        self.crew = Crew(problem)
        self.ledger = Ledger(problem, self.crew)
        for stint in roster.stints:
            job = problem.by_id[stint.job_id]
            found = next((p for p in self.choices(job) if p.first == stint.first), None)
            assert found is not None, "a roster stands on placements"
            self.ledger.put(job, found)

    @cached_property
    def _choices(self) -> dict[str, list[Placement]]:
        return {}

    def choices(self, job: Job) -> list[Placement]:
        """Every placement of a job, made once."""
        if job.id not in self._choices:
            self._choices[job.id] = placements_of(job, self.problem, self.crew)
        return self._choices[job.id]

    @cached_property
    def _costs(self) -> dict[str, dict[int, Cost]]:
        return {}

    def _cost(self, job: Job) -> dict[int, Cost]:
        """What each placement of a job costs, reckoned once."""
        if job.id not in self._costs:
            self._costs[job.id] = costs_of(self.problem, {job.id: self.choices(job)})[job.id]
        return self._costs[job.id]

    def asked(self, job_id: str, first: int) -> Answer:
        """What keeps a job from a day, the order of work first; or what it costs there."""
        job = self.problem.by_id[job_id]
        here = next((p for p in self.choices(job) if p.first == first), None)
        if here is None:
            return self._no_start(job, first)
        there = self.ledger.placed.get(job_id)
        if there is not None:
            self.ledger.take(job)
        try:
            return self._beside(job, here) or self._price(job, here, there)
        finally:
            if there is not None:
                self.ledger.put(job, there)

    def preferred(self, job_id: str) -> tuple[int, Answer] | None:
        """The nearest day that is more preferred than its own, and what keeps it from there.

        Returns:
            None where it stands on days as preferred as any it has, or has no place.
        """
        job, now = self.problem.by_id[job_id], self.ledger.placed.get(job_id)
        if now is None:
            return None
        cost = self._cost(job)
        better = [p.first for p in self.choices(job) if cost[p.first].lost < cost[now.first].lost]
        near = min(better, key=lambda first: (abs(first - now.first), first), default=None)
        return None if near is None else (near, self.asked(job_id, near))

    def _beside(self, job: Job, here: Placement) -> Obstacle | None:
        for obstacle in self._order(job, here):
            return obstacle
        for load in self.ledger.loads(job, here):
            return Obstacle(load.kind, load.name, load.day, load.beside, load.row)
        return None

    def _no_start(self, job: Job, first: int) -> Obstacle:
        """Why no placement begins on a day."""
        if not 0 <= first < self.crew.n_days or not may_stand(job)[first]:
            return Obstacle("closed", "", first)
        for kit in self.problem.kits:
            if kit.units[first] < job.uses.get(kit.id, 0):
                return Obstacle("kit-away", kit.id, first)
        if job.team and not self.crew.day_minutes[first]:
            return Obstacle("nobody", "", first)
        ladder = self.crew.ladders(job)[int(self.crew.kind_of_day[first])]
        if job.team and not ladder:
            return Obstacle("team", "+".join(sorted(job.team)), first)
        if job.heavy and self.problem.heavy_in_row is not None:
            return self._no_rest(job, first)
        return Obstacle("cut-short", "", first)

    def _no_rest(self, job: Job, first: int) -> Obstacle:
        """What a heavy job lacks that could begin if no day were heavy before or after it."""
        free = replace(self.problem, heavy_worked=frozenset())
        begun = self._begun(job, self.problem, first)
        if begun is not None:
            return next(self._order(job, begun), Obstacle("rests", "", first))
        rested = self._begun(job, free, first)
        if rested is None:
            bold = self._begun(job, replace(free, heavy_in_row=None), first)
            return Obstacle("cut-short" if bold is None else "rest-short", "", first)
        cap, worked = self.problem.heavy_in_row or 0, self.problem.heavy_worked
        row = too_long(cap, rested.days, worked.__contains__)
        row = row or too_long(0, [first], (worked - {first}).__contains__)
        return Obstacle("heavy-row", "", first, (), row)

    def _begun(self, job: Job, problem: Problem, first: int) -> Placement | None:
        found = placements_of(job, problem, self.crew, ends_later=True)
        return next((p for p in found if p.first == first), None)

    def _order(self, job: Job, here: Placement) -> Iterator[Obstacle]:
        placed = self.ledger.placed
        for order in self.problem.orders:
            if order.after == job.id and order.before not in placed:
                yield Obstacle("unplaced", order.before, here.first)
            elif order.after == job.id:
                yield from self._after(order, placed[order.before], here)
        for order in self.problem.orders:
            if order.before == job.id and order.after in placed:
                yield from self._before(order, here, placed[order.after])

    def _after(self, order: Order, before: Placement, here: Placement) -> Iterator[Obstacle]:
        least = before.last + order.min_days
        if here.first < least:
            yield Obstacle("waits", order.before, least)
        elif order.within_days is not None and here.first - before.last > order.within_days:
            yield Obstacle("too-late", order.before, before.last + order.within_days)
        elif not self.ledger.keeps(order, before, here):
            yield Obstacle("waits", order.before, least + 1)

    def _before(self, order: Order, here: Placement, after: Placement) -> Iterator[Obstacle]:
        if order.within_days is not None and after.first - here.last > order.within_days:
            yield Obstacle("too-early", order.after, after.first)
        elif not self.ledger.keeps(order, here, after):
            yield Obstacle("before", order.after, after.first)

    def _price(self, job: Job, here: Placement, there: Placement | None) -> Price:
        now = there or here
        cost = self._cost(job)
        one, other = cost[here.first], cost[now.first]
        return Price(
            moved=one.moved - other.moved,
            shift_days=one.shift - other.shift,
            risk=(one.risk - other.risk) / RISK_PARTS,
            hire_blocks=self._hire(BLOCKS, job, here) - self._hire(BLOCKS, job, now),
            points=(one.lost - other.lost) / POINT_PARTS,
            hire_days=(self._hire(HIRE, job, here) - self._hire(HIRE, job, now)) / TIE_PARTS,
            waiting_days=here.last - now.last,
        )

    def _hire(self, aim: str, job: Job, there: Placement) -> int:
        """What all blocks of the kit it uses come to in an aim, were it there."""
        plan = {**self.ledger.placed, job.id: there}
        return sum(
            block_price(kit) * len(blocks_of(kit, self.problem, plan))
            for kit in kits_of(self.problem, aim)
            if job.uses.get(kit.id)
        )
