"""One part of a problem, as the models of it see it."""

from collections.abc import Sequence
from typing import Protocol

from scheduler.roster.aims import Costs
from scheduler.roster.limits import Limit
from scheduler.roster.order import Choices
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Problem
from scheduler.roster.teams import Crew


class Part(Protocol):
    """What models need of a search."""

    problem: Problem
    crew: Crew
    choices: Choices
    costs: Costs
    plan: dict[str, Placement]
    limits: Sequence[Limit]
    spent: float
    known: dict[str, int]

    def adopt(self, plan: dict[str, Placement]) -> None:
        """Take a plan if it is better."""
