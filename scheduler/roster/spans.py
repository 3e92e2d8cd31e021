"""The other model: one span for each job, where all work is of fixed length and needs only kit.

Placements price every day exactly, but know little of how work is packed; spans know that
and nothing of prices. The published instances of project scheduling are of this kind.
"""

from collections.abc import Mapping, Sequence

from scheduler.roster.engine import Model, Stopped
from scheduler.roster.order import Choices
from scheduler.roster.part import Part
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Job, Problem

# Measured on the hardest published instance: the relaxation only costs, and without looking for
# jobs that can never lie side by side 9.7 s became 5.6 s.
SETTINGS = {"linearization_level": 0, "use_disjunctive_constraint_in_cumulative": False}


def suits(problem: Problem, choices: Choices, *, all_in: bool) -> bool:
    """Whether spans say all that there is to say of a part.

    All jobs are in, last a fixed number of days without a day off between, need no people,
    prefer no day, none is heavy where a cap is set, and the kit is there every day alike and
    not to be gathered.
    """
    jobs = [problem.by_id[job_id] for job_id in choices]
    kits = [kit for kit in problem.kits if any(job.uses.get(kit.id) for job in jobs)]
    return (
        all_in
        and all(map(_plain, jobs))
        and not (problem.heavy_in_row and any(job.heavy for job in jobs))
        and all((kit.units == kit.units[0]).all() and not kit.gathered for kit in kits)
        and all(_every_day(job, choices[job.id]) for job in jobs)
    )


def _plain(job: Job) -> bool:
    free = not job.team and not job.points.any() and not job.risk.any()
    return job.n_days is not None and free and job.fixed_first is None


def _every_day(job: Job, placements: Sequence[Placement]) -> bool:
    """Whether it may begin on every day from the first to the last, and bridges none."""
    n = placements[-1].first - placements[0].first + 1
    return len(placements) == n and all(p.last - p.first + 1 == job.n_days for p in placements)


class Spans:
    """The model of spans of a part, for early finish.

    Args:
        search: the part.
    """

    def __init__(self, search: Part) -> None:
        self.search, self.model = search, Model()
        self.starts = {
            job_id: self.model.integer(ps[0].first, ps[-1].first)
            for job_id, ps in search.choices.items()
        }
        jobs = search.problem.by_id
        self.lengths = {job_id: jobs[job_id].n_days or 1 for job_id in self.starts}
        self._add_orders()
        self._add_kits()

    def _add_orders(self) -> None:
        for order in self.search.problem.orders:
            if order.before in self.starts and order.after in self.starts:
                least = self.lengths[order.before] - 1 + order.min_days
                most = 10**6
                if order.within_days is not None:
                    most = self.lengths[order.before] - 1 + order.within_days
                pair = [self.starts[order.after], self.starts[order.before]]
                self.model.row(pair, [1, -1], least, most)

    def _add_kits(self) -> None:
        jobs = self.search.problem.by_id
        spans = {
            job_id: self.model.span(at, self.lengths[job_id]) for job_id, at in self.starts.items()
        }
        for kit in self.search.problem.kits:
            users = [job_id for job_id in spans if jobs[job_id].uses.get(kit.id)]
            amounts = [jobs[job_id].uses[kit.id] for job_id in users]
            if users:
                self.model.at_once([spans[u] for u in users], amounts, int(kit.units[0]))

    def solve(self, effort: float, seconds: float | None) -> None:
        """Improve the search's plan, and let it know the bound."""
        search, variables, factors, constant = self.search, [], [], 0
        for job_id, at in self.starts.items():
            first, slope = self._waiting(job_id)
            constant += first
            if slope:
                variables.append(at)
                factors.append(slope)
        self.model.minimise(variables, factors)
        self.model.hint(self._values(search.plan))
        try:
            outcome = self.model.solve(effort, seconds, **SETTINGS)
        except Stopped as stop:
            if stop.outcome.values:
                search.known["waiting_days"] = stop.outcome.bound + constant
                search.adopt(self._plan(stop.outcome.values))
            raise
        search.spent += outcome.effort
        if outcome.values:
            search.adopt(self._plan(outcome.values))
        if outcome.status in ("proven", "found"):
            search.known["waiting_days"] = outcome.bound + constant

    def _waiting(self, job_id: str) -> tuple[int, int]:
        """Waiting as a straight line over the first day: its height at day 0, its slope."""
        costs, ps = self.search.costs[job_id], self.search.choices[job_id]
        if len(ps) == 1:
            return costs[ps[0].first].waiting, 0
        slope = costs[ps[1].first].waiting - costs[ps[0].first].waiting
        return costs[ps[0].first].waiting - slope * ps[0].first, slope

    def _values(self, plan: Mapping[str, Placement]) -> list[int]:
        return [plan[job_id].first for job_id in self.starts]

    def _plan(self, values: Sequence[int]) -> dict[str, Placement]:
        first = {job_id: ps[0].first for job_id, ps in self.search.choices.items()}
        return {
            job_id: self.search.choices[job_id][values[at] - first[job_id]]
            for job_id, at in self.starts.items()
        }
