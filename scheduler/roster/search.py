"""The search for the best plan: aim after aim, each held for the next."""

from collections.abc import Mapping
from types import MappingProxyType

from scheduler.roster.aims import BY_BLOCK, PARTS, Costs, aims_of
from scheduler.roster.engine import Outcome
from scheduler.roster.names import stints_of
from scheduler.roster.order import Choices
from scheduler.roster.placements import Block
from scheduler.roster.problem import Problem
from scheduler.roster.result import Aim, Stage
from scheduler.roster.rows import PlanModel, Terms
from scheduler.roster.serial import Serial
from scheduler.roster.teams import CrewTeams

# With blocks of hire all rows are worth having in the relaxation from the start, probing before
# the search pays, and cuts do not.
WITH_HIRE = {"add_lp_constraints_lazily": False, "cut_level": 0, "cp_model_probing_level": 1}
NEAR = 40  # visits that may move at a time


class Search:
    """The search from a first plan on.

    What can stand nowhere is missing in the choices; ``all_in`` says whether every visit of them
    is known to fit.
    """

    def __init__(
        self,
        problem: Problem,
        crew: CrewTeams,
        choices: Choices,
        costs: Costs,
        plan: dict[str, Block],
        *,
        all_in: bool,
    ) -> None:
        self.problem, self.crew, self.choices, self.costs = problem, crew, choices, costs
        self.all_in = all_in
        self.model = PlanModel(problem, crew, choices, all_in=all_in)
        self.terms = {aim: self.model.terms(aim, costs) for aim in aims_of(problem)}
        self.bounds = {aim: self._least(aim) for aim in self.terms}
        self.plan, self.reached = plan, self.amounts(plan)
        self.spent, self.stopped = 0.0, False

    def _least(self, aim: Aim) -> int:
        """What no plan can be below, seen without solving."""
        if aim.name == "fit":
            return self.terms[aim].constant - len(self.terms[aim].variables)
        if not self.all_in:
            return 0  # no cost is below 0, and what may be left out can always have nothing
        return sum(
            min(getattr(self.costs[visit_id][block.first], BY_BLOCK[aim.name]) for block in blocks)
            for visit_id, blocks in self.choices.items()
        )

    def amounts(self, plan: Mapping[str, Block]) -> tuple[int, ...]:
        """What a plan has of all aims, in their order."""
        values = self.model.values(plan)
        return tuple(terms.value(values) for terms in self.terms.values())

    def run(self, effort: float) -> None:
        """Go through the aims with so much effort; whoever stops it keeps the plan there is."""
        *_, last = self.terms
        for n, (aim, terms) in enumerate(self.terms.items()):
            if not self.stopped and self.reached[n] > self.bounds[aim]:
                left = effort - self.spent
                try:
                    self._better(aim, left if aim == last else left / 2)
                except KeyboardInterrupt:
                    self.stopped = True
            self.model.hold(terms, self.reached[n])

    def _better(self, aim: Aim, effort: float) -> None:
        """Ask the solver for the whole plan, then, where it proves nothing, for parts of it."""
        until = self.spent + effort
        settings = WITH_HIRE if aim.name == "hire_and_waiting" else {}
        outcome = self._solve(self.terms[aim], effort / 2, settings)
        if outcome is not None and outcome.values:
            self.bounds[aim] = max(self.bounds[aim], outcome.bound + self.terms[aim].constant)
        if outcome is None or not outcome.proven:
            self.better_in_turn(self.terms[aim], until)

    def better_in_turn(self, terms: Terms, until: float) -> None:
        """Let some visits that stand near one another move at a time, all others left in place.

        Large neighbourhoods, after Shaw 1998, Using constraint programming and local search
        methods to solve vehicle routing problems, CP 98:417-431, from memory. It ends when this
        search has spent ``until``.
        """
        line = sorted(self.plan, key=lambda visit_id: (self.plan[visit_id].first, visit_id))
        begins = range(0, len(line), NEAR)
        for n, begin in enumerate(begins):
            if self.stopped:
                break
            others = (*line[:begin], *line[begin + NEAR :])
            settled = self.model.settled(self.plan[v] for v in others if v in self.plan)
            self.model.model.fix(settled, 1)
            try:
                self._solve(terms, (until - self.spent) / (len(begins) - n))
            finally:
                self.model.model.fix(settled, 0)

    def _solve(
        self, terms: Terms, effort: float, settings: Mapping[str, object] = MappingProxyType({})
    ) -> Outcome | None:
        """Improve the plan; what the solver says of the last model, None where it was not asked.

        Teams whose hours nobody can be named for are forbidden, and the solver is asked again.
        """
        until, outcome = self.spent + effort, None
        self.model.model.minimise(terms.variables, terms.factors)
        while self.spent < until:
            self.model.model.hint(self.model.values(self.plan))
            outcome = self.model.model.solve(until - self.spent, **settings)
            self.spent += outcome.effort
            again = bool(outcome.values) and not self._take(self.model.plan_of(outcome.values))
            self.stopped = outcome.stopped
            if self.stopped or not again:
                break
        return outcome

    def _take(self, plan: dict[str, Block]) -> bool:
        """Take a plan of the solver where it is better; False if its hours cannot be named."""
        stints = stints_of(self.crew, plan)
        if isinstance(stints, list):
            for short in stints:
                self.model.forbid(short)
            return False
        self.adopt(plan)
        return True

    def adopt(self, plan: dict[str, Block]) -> None:
        """Take a plan that can be named, if it is better in the aims' order.

        What was left out and still fits is put in first: no aim behind the one that was asked
        for has made the solver do so.
        """
        if len(plan) < len(self.plan):
            plan = Serial(self.problem, self.crew, self.choices, self.costs).run(plan)
        amounts = self.amounts(plan)
        if amounts < self.reached:
            self.plan, self.reached = plan, amounts

    def stages(self) -> tuple[Stage, ...]:
        """The aims of the plan; a later search may have bettered an earlier one."""
        stages = []
        for aim, amount in zip(self.terms, self.reached, strict=True):
            parts = PARTS.get(aim.name, 1)
            stages.append(Stage(aim, amount / parts, min(self.bounds[aim], amount) / parts))
        return tuple(stages)
