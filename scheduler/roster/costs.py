"""What a placement costs in each of the aims, in whole numbers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.roster.placements import Placement
from scheduler.roster.problem import Job, Problem

RISK_PARTS = 100  # a chance is counted in hundredths: no station record tells them finer
# A day of waiting outweighs every tie: 100 jobs that wait 10 days each fall short of it.
TIE_PARTS = 100_000
WEIGHTS = 101  # a prime, so that neighbours in the alphabet weigh differently


def points_of(job: Job, placement: Placement) -> float:
    """Points of a placement, in days of waiting: the mean over its days."""
    return float(np.mean(job.points[list(placement.days)]))


def risk_of(job: Job, placement: Placement) -> float:
    """Chance of frost damage of a placement: that of its worst day."""
    return float(np.max(job.risk[list(placement.days)]))


@dataclass(frozen=True, slots=True)
class Cost:
    """One placement in the aims that single placements decide.

    Args:
        moved: 1 where a published job leaves its day.
        shift: days by which it leaves it.
        risk: chance of frost damage in hundredths.
        waiting: days after the job's earliest end, less its points, in parts of a day, with
            what settles a tie in parts of those.
    """

    moved: int
    shift: int
    risk: int
    waiting: int

    @property
    def key(self) -> tuple[int, int, int, int]:
        """The aims in their order."""
        return (self.moved, self.shift, self.risk, self.waiting)


def day_parts(problem: Problem) -> int:
    """Parts in which a day of waiting is counted: 1, or 60 where points ask for more."""
    counted = [float(p) for job in problem.jobs for p in np.unique(job.points)]
    whole = all(p.is_integer() for p in (*counted, *(kit.block_days for kit in problem.kits)))
    single = not any(job.points.any() for job in problem.jobs)
    return 1 if whole and single else 60


def costs_of(
    problem: Problem, choices: Mapping[str, Sequence[Placement]]
) -> dict[str, dict[int, Cost]]:
    """The cost of every placement, by job id and first day."""
    parts = day_parts(problem)
    answer = {}
    for rank, job in enumerate(problem.jobs, start=1):
        weight = 37 * rank % WEIGHTS + 1
        if job.id in choices:
            answer[job.id] = _costs(job, choices[job.id], parts, weight)
    return answer


def _costs(job: Job, placements: Sequence[Placement], parts: int, weight: int) -> dict[int, Cost]:
    base = placements[0].last if placements else 0
    plain = not job.points.any() and not job.risk.any()
    risk, points = job.risk.tolist(), job.points.tolist()
    answer = {}
    for p in placements:
        shift = 0 if job.published_first is None else abs(p.first - job.published_first)
        waiting = parts * (p.last - base)
        danger = 0
        if not plain:
            danger = round(RISK_PARTS * max(risk[day] for day in p.days))
            waiting -= round(parts * sum(points[day] for day in p.days) / len(p.days))
        # ties are settled by the job, so that a change moves only what it touches
        waiting = TIE_PARTS * waiting + weight * (p.last - base) + p.last - p.first
        waiting *= job.hurry
        answer[p.first] = Cost(int(shift > 0), shift, danger, waiting)
    return answer
