"""The rows of the model, one function for each rule of the problem.

One yes/no for each block. Beside them a ladder for each visit: its k-th rung says that the visit
stands at its k-th block or an earlier one, so that the last rung says that it is placed at all.
No step of a later block stands earlier, so every order of work is an implication between two
rungs.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.roster.engine import Model
from scheduler.roster.limits import Limit
from scheduler.roster.order import Choices, tied
from scheduler.roster.problem import Problem


@dataclass(frozen=True, slots=True)
class Stand:
    """The variables of one visit.

    Args:
        at: one literal for each block.
        by: one rung for each block.
    """

    at: tuple[int, ...]
    by: tuple[int, ...]

    @property
    def placed(self) -> int:
        """Literal that the visit is placed at all."""
        return self.by[-1]

    def put(self, k: int, values: list[int]) -> None:
        """Enter that the visit stands at its k-th block into the values of all variables."""
        values[self.at[k]] = 1
        for rung in self.by[k:]:
            values[rung] = 1

    def read(self, values: Sequence[int]) -> int | None:
        """The number of the block at which it stands; None where it is left out."""
        return next((k for k, literal in enumerate(self.at) if values[literal]), None)


Stands = dict[str, Stand]


def add_visits(model: Model, choices: Choices, *, all_in: bool) -> Stands:
    """Every visit stands at exactly one of its blocks, or, unless all are in, at none."""
    return {
        visit_id: _add_visit(model, len(blocks), all_in=all_in)
        for visit_id, blocks in choices.items()
    }


def _add_visit(model: Model, n: int, *, all_in: bool) -> Stand:
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
        literals = [stands[visit_id].at[k] for visit_id, k, _ in limit.uses]
        model.row(literals, [amount for _, _, amount in limit.uses], 0, limit.room)


def add_orders(model: Model, problem: Problem, choices: Choices, stands: Stands) -> None:
    """What comes after begins in time, not too late, and only where what it follows is placed."""
    for one, other in tied(problem, choices):
        for order in problem.ties[one, other]:
            before = ([b.by_step[order.before].last for b in choices[one]], stands[one])
            after = ([b.by_step[order.after].first for b in choices[other]], stands[other])
            _not_before(model, order.min_days, before, after)
            if order.within_days is not None:
                _not_long_after(model, order.within_days, before, after)


Ladder = tuple[list[int], Stand]  # day of each rung, and the rungs


def _not_before(model: Model, min_days: int, before: Ladder, after: Ladder) -> None:
    ends, rungs = before[0], {}  # for each rung before, the last rung after that asks for it
    for q, first in enumerate(after[0]):
        rungs[bisect_right(ends, first - min_days) - 1] = q
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
