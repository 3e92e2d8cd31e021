"""What a placement costs in each of the aims, in whole numbers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.roster.placements import Placement
from scheduler.roster.problem import Job, Problem

RISK_PARTS = 100  # a chance is counted in hundredths: no station record tells them finer
POINT_PARTS = 12  # points are means over a job's days: halves, thirds and quarters stay whole
# A day of waiting outweighs every tie: 100 jobs that wait 10 days each fall short of it.
TIE_PARTS = 100_000
WEIGHTS = 101  # a prime, so that neighbours in the alphabet weigh differently


def points_of(job: Job, placement: Placement) -> float:
    """Points of a placement: the mean over its days."""
    return float(np.mean(job.points[list(placement.days)]))


@dataclass(frozen=True, slots=True)
class Cost:
    """One placement in the aims that single placements decide.

    Args:
        moved: 1 where a published job leaves its day.
        shift: days by which it leaves it.
        risk: chance of frost damage in hundredths.
        lost: points short of the best day it could have, in parts of a point.
        waiting: days after the job's earliest end, with what settles a tie in parts of a day.
    """

    moved: int
    shift: int
    risk: int
    lost: int
    waiting: int

    @property
    def key(self) -> tuple[int, int, int, int, int]:
        """The aims in their order."""
        return (self.moved, self.shift, self.risk, self.lost, self.waiting)


def costs_of(
    problem: Problem, choices: Mapping[str, Sequence[Placement]]
) -> dict[str, dict[int, Cost]]:
    """The cost of every placement, by job id and first day."""
    answer = {}
    for rank, job in enumerate(problem.jobs, start=1):
        if job.id in choices:
            answer[job.id] = _costs(job, choices[job.id], 37 * rank % WEIGHTS + 1)
    return answer


def _costs(job: Job, placements: Sequence[Placement], weight: int) -> dict[int, Cost]:
    base = placements[0].last if placements else 0
    dangers, lost = _dangers(job, placements), _lost(job, placements)
    answer = {}
    for p, danger, short in zip(placements, dangers, lost, strict=True):
        shift = 0 if job.published_first is None else abs(p.first - job.published_first)
        # ties are settled by the job, so that a change moves only what it touches
        waiting = (TIE_PARTS + weight) * (p.last - base) + p.last - p.first
        answer[p.first] = Cost(int(shift > 0), shift, danger, short, waiting * job.hurry)
    return answer


def _dangers(job: Job, placements: Sequence[Placement]) -> list[int]:
    if not job.risk.any():
        return [0] * len(placements)
    risk = job.risk.tolist()
    return [round(RISK_PARTS * max(risk[day] for day in p.days)) for p in placements]


def _lost(job: Job, placements: Sequence[Placement]) -> list[int]:
    if not job.points.any():
        return [0] * len(placements)
    points = job.points.tolist()
    parts = [
        round(POINT_PARTS * sum(points[day] for day in p.days) / len(p.days)) for p in placements
    ]
    best = max(parts, default=0)
    return [best - part for part in parts]
