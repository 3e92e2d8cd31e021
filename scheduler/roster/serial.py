"""A first plan in milliseconds: job after job, each on the best days still free.

It is the solver's start, the answer where the effort is nil, and the yardstick that the
solver must beat (serial schedule generation, Kolisch and Hartmann 1999, from memory; with
a step back where a longest gap is missed).
"""

import heapq
from collections.abc import Mapping, Sequence

from scheduler.roster.costs import Cost
from scheduler.roster.ledger import Ledger
from scheduler.roster.order import Choices, followers, in_order, with_followers
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Order, Problem
from scheduler.roster.teams import Crew


def _cheapest(placements: Sequence[Placement], costs: Mapping[int, Cost]) -> list[Placement]:
    """Placements by cost, the earlier of equals first."""
    return sorted(placements, key=lambda p: (costs[p.first].key, p.first))


class Serial:
    """One pass over the jobs.

    Args:
        problem: what is to be placed; its orders run in no circle among ``choices``.
        crew: its people.
        choices: placements to choose from, by job id.
        costs: what each of them costs, by job id and first day.
    """

    def __init__(
        self,
        problem: Problem,
        crew: Crew,
        choices: Choices,
        costs: Mapping[str, Mapping[int, Cost]],
    ) -> None:
        self.problem, self.crew, self.choices = problem, crew, choices
        self.jobs = {job.id: job for job in problem.jobs}
        self.orders = [o for o in problem.orders if o.before in choices and o.after in choices]
        self.before: dict[str, list[Order]] = {job_id: [] for job_id in choices}
        self.after: dict[str, list[Order]] = {job_id: [] for job_id in choices}
        for order in self.orders:
            self.before[order.after].append(order)
            self.after[order.before].append(order)
        self.followers = followers(self.orders)
        self.by_cost = {job_id: _cheapest(ps, costs[job_id]) for job_id, ps in choices.items()}
        self.line = in_order(list(choices), self.orders)
        self.ranks = {job_id: n for n, job_id in enumerate(self.line)}

    def run(self, urgency: Mapping[str, float] | None = None) -> dict[str, Placement]:
        """Placements by job id; jobs that found no place are missing, as are their followers.

        Args:
            urgency: what is placed first, the smaller the sooner; None takes the latest begin
                with which all that follows still fits.
        """
        self.ledger = Ledger(self.problem, self.crew)
        self.floor: dict[str, int] = dict.fromkeys(self.choices, 0)
        self.out: set[str] = set()
        self.urgency = self._latest() if urgency is None else self._in_line(urgency)
        self._place_firm()
        steps_back = 4 * len(self.choices)
        todo = [self._turn(job_id) for job_id in self.choices]
        heapq.heapify(todo)
        while todo:
            job_id = heapq.heappop(todo)[2]
            if job_id in self.ledger.placed or job_id in self.out:
                continue
            found = self._best(job_id)
            if found is not None:
                self.ledger.put(self.jobs[job_id], found)
                continue
            back = self._step_back(job_id) if steps_back > 0 else set()
            steps_back -= 1
            if back:
                for again in (job_id, *sorted(back)):
                    heapq.heappush(todo, self._turn(again))
            else:
                self._leave_out(job_id)
        return dict(self.ledger.placed)

    def _turn(self, job_id: str) -> tuple[float, int, str]:
        """What can be placed comes in order of work; the most urgent of each step first."""
        return (self.urgency[job_id], self.ranks[job_id], job_id)

    def _latest(self) -> dict[str, float]:
        """Last day on which each job may begin, and everything after it still fit."""
        late = {job_id: float(ps[-1].first) if ps else 0.0 for job_id, ps in self.choices.items()}
        for job_id in reversed(self.line):
            for order in self.after[job_id]:
                late[job_id] = min(late[job_id], late[order.after] - order.min_days)
        return late

    def _in_line(self, urgency: Mapping[str, float]) -> dict[str, float]:
        """The wished urgency, nothing more urgent than what it must follow."""
        answer = dict(urgency)
        for job_id in self.line:
            before = [answer[order.before] for order in self.before[job_id]]
            answer[job_id] = max([answer[job_id], *before])
        return answer

    def _place_firm(self) -> None:
        """The grower's own days first, then what is published and still stands."""
        for own in (True, False):
            for job_id, placements in sorted(self.choices.items()):
                job = self.jobs[job_id]
                day = job.fixed_first if own else job.published_first
                if day is None or job_id in self.ledger.placed:
                    continue
                there = [p for p in placements if p.first == day]
                if there and self._stands(job_id, there[0]):
                    self.ledger.put(job, there[0])

    def _stands(self, job_id: str, placement: Placement) -> bool:
        """Whether a placement keeps the order to all that is placed, and all limits."""
        placed = self.ledger.placed
        return (
            all(
                self.ledger.keeps(order, placed[order.before], placement)
                for order in self.before[job_id]
                if order.before in placed
            )
            and all(
                self.ledger.keeps(order, placement, placed[order.after])
                for order in self.after[job_id]
                if order.after in placed
            )
            and self.ledger.fits(self.jobs[job_id], placement)
        )

    def _best(self, job_id: str) -> Placement | None:
        if any(order.before not in self.ledger.placed for order in self.before[job_id]):
            return None
        floor = self.floor[job_id]
        for placement in self.by_cost[job_id]:
            if placement.last >= floor and self._stands(job_id, placement):
                return placement
        return None

    def _step_back(self, job_id: str) -> set[str]:
        """Take out what came too early for this job to follow within its gap.

        Returns:
            The jobs taken out; empty where no such step helps.
        """
        placed = self.ledger.placed
        tight = [o for o in self.before[job_id] if o.within_days is not None]
        if any(order.before not in placed for order in self.before[job_id]):
            return set()
        least = max((placed[o.before].last + o.min_days for o in self.before[job_id]), default=0)
        after = [p for p in self.choices[job_id] if p.first >= max(least, self.floor[job_id])]
        free = next((p for p in after if self.ledger.fits(self.jobs[job_id], p)), None)
        if free is None:
            return set()
        back: set[str] = set()
        for order in tight:
            wanted = free.first - (order.within_days or 0)
            if placed[order.before].last < wanted and not self._firm(order.before):
                self.floor[order.before] = wanted
                back |= with_followers({order.before}, self.followers)
        back = {b for b in back if b in placed and not self._firm(b)}
        for taken in sorted(back):
            self.ledger.take(self.jobs[taken])
        return back

    def _firm(self, job_id: str) -> bool:
        job = self.jobs[job_id]
        days = (job.fixed_first, job.published_first)
        return self.ledger.placed[job_id].first in days

    def _leave_out(self, job_id: str) -> None:
        self.out |= with_followers({job_id}, self.followers)
        for taken in sorted(self.out & set(self.ledger.placed)):
            self.ledger.take(self.jobs[taken])
