"""Serial passes around a plan: its own days as urgency, shaken a little each time.

What stands where a gap was left falls into it, and work changes places with what stands near
it; in large parts a pass is much cheaper than a model (compare the justification of Valls,
Ballestin and Quintanilla 2005, European Journal of Operational Research 165:375-386, from
memory).
"""

from collections.abc import Mapping

import numpy as np

from scheduler.roster.engine import SEED
from scheduler.roster.order import Choices
from scheduler.roster.part import Part
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Problem
from scheduler.roster.serial import Serial

SHARES, FAR_DAYS = (0.02, 0.05, 0.15), (0.3, 1.0, 3.0, 6.0)  # what is moved in a pass, how far
LITTLE_DAYS = 0.05  # parts equals
CALM = 60  # passes without a better plan, after which there will be none


def pass_effort(n_jobs: int) -> float:
    """Effort that a serial pass stands for, near seconds: 0.2 for 500 jobs (0.1 measured)."""
    return 0.2 * n_jobs / 500


class Passes:
    """Plan after plan from one plan.

    Args:
        problem: the whole problem.
        choices: placements of the part.
    """

    def __init__(self, problem: Problem, choices: Choices) -> None:
        self.plot_of = {job_id: problem.by_id[job_id].plot or job_id for job_id in choices}
        # what has no place is tried before all that could stand beside it
        self.earliest = {job_id: float(ps[0].first) for job_id, ps in choices.items()}
        self.random = np.random.default_rng(SEED)

    def urgency(self, plan: Mapping[str, Placement]) -> dict[str, float]:
        """The days of a plan, those of some plots or of some jobs some days off."""
        random = self.random
        one_of = self.plot_of if random.random() < 0.5 else {job_id: job_id for job_id in plan}
        share, far = random.choice(SHARES), random.choice(FAR_DAYS)
        shift = {
            one: far * random.standard_normal() * (random.random() < share)
            for one in dict.fromkeys(one_of.values())
        }
        little = LITTLE_DAYS * random.standard_normal(len(self.earliest))
        return {
            job_id: (float(plan[job_id].first) if job_id in plan else early)
            + shift.get(one_of.get(job_id, ""), 0.0)
            + tie
            for (job_id, early), tie in zip(self.earliest.items(), little, strict=True)
        }


class Crowded:
    """A part too large for one model in which not all can have what is best.

    Args:
        search: the part.
    """

    def __init__(self, search: Part) -> None:
        self.search = search

    def solve(self, effort: float, seconds: float | None) -> None:  # noqa: ARG002  # as the other models
        """Pass after pass, until none is better for a while; no bound is learned."""
        search, calm = self.search, 0
        serial = Serial(search.problem, search.crew, search.choices, search.costs)
        passes = Passes(search.problem, search.choices)
        cost = pass_effort(len(search.choices))
        while effort >= cost and calm < CALM:
            before = search.plan
            search.adopt(serial.run(passes.urgency(before)))
            calm = calm + 1 if search.plan is before else 0
            effort -= cost
            search.spent += cost
