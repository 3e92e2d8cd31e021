"""The rows of the model, one function for each rule of the problem.

One yes/no for each placement. Beside them a ladder for each job: its k-th rung says that
the job stands at its k-th placement or an earlier one, so that the last rung says that it
is placed at all. Later placements never end earlier, so every order of work is an
implication between two rungs.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.roster.engine import Model
from scheduler.roster.limits import Limit
from scheduler.roster.order import Choices
from scheduler.roster.problem import Order, Problem
from scheduler.roster.teams import Crew


@dataclass(frozen=True, slots=True)
class Stand:
    """The variables of one job.

    Args:
        at: one literal for each placement.
        by: one rung for each placement.
    """

    at: tuple[int, ...]
    by: tuple[int, ...]

    @property
    def placed(self) -> int:
        """Literal that the job is placed at all."""
        return self.by[-1]

    def put(self, k: int, values: list[int]) -> None:
        """Enter that the job stands at its k-th placement into the values of all variables."""
        values[self.at[k]] = 1
        for rung in self.by[k:]:
            values[rung] = 1

    def read(self, values: Sequence[int]) -> int | None:
        """The number of the placement at which it stands; None where it is left out."""
        return next((k for k, literal in enumerate(self.at) if values[literal]), None)


Stands = dict[str, Stand]


def add_jobs(model: Model, choices: Choices, *, all_in: bool) -> Stands:
    """Every job stands at exactly one of its placements, or, unless all are in, at none."""
    return {job_id: _add_job(model, len(ps), all_in=all_in) for job_id, ps in choices.items()}


def _add_job(model: Model, n: int, *, all_in: bool) -> Stand:
    at = [model.flag() for _ in range(n)]
    by = [model.flag() for _ in range(n)]
    model.row([by[0], at[0]], [1, -1], 0, 0)
    for k in range(1, n):
        model.row([by[k], by[k - 1], at[k]], [1, -1, -1], 0, 0)
    if all_in:
        model.any_of([by[-1]])
    model.one_of([*at, model.no(by[-1])])
    return Stand(tuple(at), tuple(by))


def add_limits(model: Model, limits: Sequence[Limit], stands: Stands) -> None:
    """No day gives more than it has."""
    for limit in limits:
        literals = [stands[job_id].at[k] for job_id, k, _ in limit.uses]
        model.row(literals, [amount for _, _, amount in limit.uses], 0, limit.room)


def add_orders(
    model: Model, problem: Problem, choices: Choices, stands: Stands, crew: Crew
) -> None:
    """What comes after begins in time, not too late, and only where what it follows is placed."""
    for order in problem.orders:
        if order.after not in choices or order.before not in choices:
            continue
        ends = [p.last for p in choices[order.before]]
        begins = [p.first for p in choices[order.after]]
        before, after = stands[order.before], stands[order.after]
        _not_before(model, order, (ends, before), (begins, after))
        if order.within_days is not None:
            _not_long_after(model, order.within_days, (ends, before), (begins, after))
        plot = problem.by_id[order.before].plot
        if order.min_days == 0 and not (plot and plot == problem.by_id[order.after].plot):
            _share_a_day(model, order, choices, stands, crew)


Ladder = tuple[list[int], Stand]  # day of each rung, and the rungs


def _not_before(model: Model, order: Order, before: Ladder, after: Ladder) -> None:
    ends, rungs = before[0], {}  # for each rung before, the last rung after that asks for it
    for q, first in enumerate(after[0]):
        rungs[bisect_right(ends, first - order.min_days) - 1] = q
    for k, q in rungs.items():
        needed = [before[1].by[k]] if k >= 0 else []
        model.any_of([model.no(after[1].by[q]), *needed])


def _not_long_after(model: Model, within_days: int, before: Ladder, after: Ladder) -> None:
    begins, rungs = after[0], {}
    for k, last in enumerate(before[0]):
        rungs[bisect_right(begins, last + within_days) - 1] = k
    for q, k in rungs.items():
        if q < len(begins) - 1:
            needed = [after[1].by[q]] if q >= 0 else []
            model.any_of([model.no(before[1].by[k]), model.no(after[1].placed), *needed])


def _share_a_day(model: Model, order: Order, choices: Choices, stands: Stands, crew: Crew) -> None:
    """On different ground, two jobs in order share a day only if both fit into its hours."""
    begins = {p.first: (p, q) for q, p in enumerate(choices[order.after])}
    for k, before in enumerate(choices[order.before]):
        after, q = begins.get(before.last, (before, -1))
        minutes = before.elapsed_min[-1] + after.elapsed_min[0]
        if q >= 0 and minutes > crew.day_minutes[before.last]:
            both = (stands[order.before].at[k], stands[order.after].at[q])
            model.any_of([model.no(literal) for literal in both])
