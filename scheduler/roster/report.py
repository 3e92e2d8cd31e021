"""What a plan comes to: preferences met or missed, and the blocks of hire."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

from scheduler.roster.aims import BLOCKS, Costs, Plan, blocks_of, value_of
from scheduler.roster.costs import points_of
from scheduler.roster.ledger import Ledger, keeps
from scheduler.roster.placements import Placement
from scheduler.roster.plan import HireUse, Preference
from scheduler.roster.problem import Job, Problem
from scheduler.roster.teams import Crew


def hires_of(problem: Problem, plan: Plan) -> Iterator[HireUse]:
    """Blocks of days of the kit; a day is paid once, whoever uses it."""
    for kit in problem.kits:
        for days in blocks_of(kit, problem, plan):
            yield HireUse(kit.id, tuple(days), len(days) * kit.cost_day)


class Preferred:
    """The preferred days of a plan: met or missed, and what they cost in waiting.

    Args:
        problem: what was asked.
        crew: its people.
        choices: placements by job id.
        costs: of them.
        plan: where the jobs stand.
    """

    def __init__(
        self,
        problem: Problem,
        crew: Crew,
        choices: Mapping[str, Sequence[Placement]],
        costs: Costs,
        plan: Plan,
    ) -> None:
        self.problem, self.crew, self.choices = problem, crew, choices
        self.costs, self.plan = costs, plan

    @cached_property
    def ledger(self) -> Ledger:
        """The days as they are filled; made only where somebody prefers a day."""
        ledger = Ledger(self.problem, self.crew)
        for job_id, placement in self.plan.items():
            ledger.put(self.problem.by_id[job_id], placement)
        return ledger

    def all(self) -> Iterator[Preference]:
        """Every job that has preferred days and a place, by id."""
        for job_id, placement in sorted(self.plan.items()):
            job = self.problem.by_id[job_id]
            if job.points.any():
                yield self._of(job, placement)

    def _of(self, job: Job, here: Placement) -> Preference:
        best = max(points_of(job, p) for p in self.choices[job.id])
        points = points_of(job, here)
        waited = 0
        if points > 0 and job.fixed_first is None:
            self.ledger.take(job)
            waited = here.last - self._earliest(job, here)
            self.ledger.put(job, here)
        return Preference(job.id, points, best, waited)

    def _earliest(self, job: Job, here: Placement) -> int:
        """The earliest end that all else and every earlier aim would allow."""
        for p in self.choices[job.id]:
            if p.last >= here.last:
                break
            same = self._earlier_aims(job, p) <= self._earlier_aims(job, here)
            if same and self._keeps(job, p) and self.ledger.fits(job, p):
                return p.last
        return here.last

    def _earlier_aims(self, job: Job, p: Placement) -> tuple[int, ...]:
        """What stands above preferences, with one job elsewhere."""
        cost = self.costs[job.id][p.first]
        plan = {**self.plan, job.id: p}
        blocks = value_of(BLOCKS, self.problem, plan, self.costs, plan)
        return (cost.moved, cost.shift, cost.risk, blocks)

    def _keeps(self, job: Job, p: Placement) -> bool:
        pairs = [
            (o, self.plan.get(o.before) if o.after == job.id else p,
             p if o.after == job.id else self.plan.get(o.after))
            for o in self.problem.orders
            if job.id in (o.before, o.after)
        ]  # fmt: skip
        return all(
            keeps(self.problem, self.crew, order, before, after)
            for order, before, after in pairs
            if before is not None and after is not None
        )
