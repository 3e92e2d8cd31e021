"""One part of a problem, as the models of it see it."""

from collections.abc import Sequence
from typing import Protocol

from scheduler.roster.aims import Costs
from scheduler.roster.limits import Limit
from scheduler.roster.measure import Measure, Sum
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
    aims: Sequence[str]

    @property
    def measure(self) -> Measure:
        """How plans are measured."""

    def adopt(self, plan: dict[str, Placement]) -> None:
        """Take a plan if it is better."""

    def try_serial(self, choices: Choices) -> None:
        """Take the serial pass's plan where it is better."""

    def learn(self, sums: Sum, bound: int) -> None:
        """Keep what a bound of a sum says of the aims in it."""
