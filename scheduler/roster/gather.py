"""Fewer blocks of hire in parts too large for one model: block after block is done without."""

from collections.abc import Iterator

from scheduler.roster.aims import BLOCKS, Plan, blocks_of, kits_of
from scheduler.roster.order import Choices
from scheduler.roster.part import Part
from scheduler.roster.passes import pass_effort
from scheduler.roster.problem import Problem


def on_used_days(problem: Problem, choices: Choices, plan: Plan) -> Choices:
    """Placements on which gathered kit comes only on days on which a plan has it."""
    answer = dict(choices)
    for kit in kits_of(problem, BLOCKS):
        used = {day for block in blocks_of(kit, problem, plan) for day in block}
        answer = _only(problem, answer, kit.id, used)
    return answer


def _only(problem: Problem, choices: Choices, kit_id: str, days: set[int]) -> Choices:
    return {
        job_id: [p for p in ps if days.issuperset(p.days)]
        if problem.by_id[job_id].uses.get(kit_id)
        else ps
        for job_id, ps in choices.items()
    }


class Gather:
    """A part in which every job is placed, for few blocks of hire.

    Args:
        search: the part.
    """

    def __init__(self, search: Part) -> None:
        self.search = search

    def solve(self, effort: float, seconds: float | None) -> None:  # noqa: ARG002  # as the other models
        """Try to do without one block after another, the shortest first."""
        search, cost = self.search, pass_effort(len(self.search.choices))
        tries = self._without_one()
        while effort >= cost and (choices := next(tries, None)) is not None:
            before = search.plan
            search.try_serial(choices)
            effort -= cost
            search.spent += cost
            if search.plan is not before:
                tries = self._without_one()

    def _without_one(self) -> Iterator[Choices]:
        """The used days without those of one block."""
        problem, plan = self.search.problem, self.search.plan
        kept = on_used_days(problem, self.search.choices, plan)
        blocks = [
            (len(b), k.id, b)
            for k in kits_of(problem, BLOCKS)
            for b in blocks_of(k, problem, plan)
        ]
        for _, kit_id, block in sorted(blocks):
            used = {day for _, other, days in blocks if other == kit_id for day in days}
            yield _only(problem, kept, kit_id, used - set(block))
