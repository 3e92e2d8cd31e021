"""One part of a problem: a first plan, then aim after aim, each held for the next."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from scheduler.roster.aims import BY_BLOCK, FIT, HIRE, Costs, block_price
from scheduler.roster.engine import Model, Outcome, Stopped
from scheduler.roster.hire import Hire, add_hires, fill
from scheduler.roster.limits import Limit, narrowed, on_days, people_limit
from scheduler.roster.measure import Measure, Sum
from scheduler.roster.names import Shortfall, stints_of
from scheduler.roster.order import Choices, tightened
from scheduler.roster.placements import Block
from scheduler.roster.problem import Problem
from scheduler.roster.rest import add_rest, heavy_days
from scheduler.roster.rows import Stands, add_limits, add_orders, add_visits
from scheduler.roster.serial import Serial
from scheduler.roster.teams import Crew

# With blocks of hire all rows are worth having in the relaxation from the start, probing before
# the search pays, and cuts do not.
WITH_HIRE = {
    "add_lp_constraints_lazily": False,
    "cut_level": 0,
    "cp_model_probing_level": 1,
}


NEAR = 40  # visits that may move at a time


@dataclass
class Reached:
    """How far one aim was brought, in whole units."""

    aim: str
    value: int
    bound: int


@dataclass
class Search:
    """The search for the best plan of one part.

    Args:
        problem: the whole problem.
        crew: its people.
        choices: blocks of the visits of this part.
        costs: what they cost.
        aims: their names, in order.
        all_in: whether every visit of the part is known to fit.
        plan: a first plan.
        limits: of the days, as ``limits_of`` gives them for the choices.
    """

    problem: Problem
    crew: Crew
    choices: Choices
    costs: Costs
    aims: Sequence[str]
    all_in: bool
    plan: dict[str, Block]
    limits: Sequence[Limit]
    reached: list[Reached] = field(default_factory=list)
    learned: list[Shortfall] = field(default_factory=list)
    spent: float = 0.0
    known: dict[str, int] = field(default_factory=dict)  # bounds learned, by aim
    asked: set[str] = field(default_factory=set)  # aims that the solver had in a sum

    def run(self, effort: float, seconds: float | None) -> None:
        """Go through the aims; called again after a stop, it goes on from there.

        Args:
            effort: deterministic effort for all of them together.
            seconds: limit by the clock for each model.
        """
        for aim in self.aims[len(self.reached) :]:
            self._pursue(aim, max(effort - self.spent, 0.0), seconds)
        for reached in self.reached:  # a later search may have bettered an earlier aim
            reached.value = self._value(reached.aim)
            reached.bound = min(reached.bound, reached.value)

    @property
    def measure(self) -> Measure:
        """How plans are measured."""
        return Measure(self.problem, self.choices, self.costs, self.aims, self.all_in)

    def _pursue(self, aim: str, effort: float, seconds: float | None) -> None:
        measure = self.measure
        least = measure.least(aim)
        if effort > 0:
            self._better(aim, measure, effort, seconds)
        bound = max(least, self.known.get(aim, least))
        self.reached.append(Reached(aim, self._value(aim), min(bound, self._value(aim))))
        if self._value(aim) == least and self.all_in and aim in BY_BLOCK:
            self._narrow(tightened(measure.at_least(aim), self.problem, all_in=True))

    def _better(self, aim: str, measure: Measure, effort: float, seconds: float | None) -> None:
        """Try the cheap ways first; the solver is asked where they leave anything to gain."""
        least = measure.least(aim)
        if self._value(aim) > least:
            self.try_serial(self.choices)
        if self._value(aim) > least and aim in BY_BLOCK:
            self.try_serial(measure.at_least(aim))
        if self._value(aim) > least and aim not in self.asked:
            sums = measure.summed(aim)
            self.asked |= set(sums.aims)
            share = effort if sums.aims[-1] == self.aims[-1] else effort / 2
            until = self.spent + share
            if not Modelled(self, sums).solve(share / 2, seconds):
                self.better_in_turn(sums, until, seconds)

    def better_in_turn(self, sums: Sum, until: float, seconds: float | None) -> None:
        """Let some visits that stand near one another move at a time, all others left in place.

        Large neighbourhoods, after Shaw 1998, Using constraint programming and local search
        methods to solve vehicle routing problems, CP 98:417-431, from memory.

        Args:
            sums: what is made as small as possible.
            until: effort spent by this search when it is to end.
            seconds: limit by the clock for each model.
        """
        line = sorted(self.plan, key=lambda visit_id: (self.plan[visit_id].first, visit_id))
        begins = range(0, len(line), NEAR)
        for n, begin in enumerate(begins):
            settled = {*line[:begin], *line[begin + NEAR :]} & self.plan.keys()
            choices = {
                visit_id: [self.plan[visit_id]] if visit_id in settled else blocks
                for visit_id, blocks in self.choices.items()
            }
            limits = narrowed(self.limits, self.choices, choices)
            few = replace(self, choices=choices, limits=limits, spent=0.0, known={})
            share = (until - self.spent) / (len(begins) - n)
            try:
                Modelled(few, sums).solve(share, seconds)
            finally:
                self.spent += few.spent
                self.adopt(few.plan)

    def _narrow(self, choices: Choices) -> None:
        """Go on with fewer blocks; most often none is lost."""
        if any(len(choices[one]) < len(blocks) for one, blocks in self.choices.items()):
            self.limits = narrowed(self.limits, self.choices, choices)
            self.choices = choices

    def _value(self, aim: str) -> int:
        return self.measure.value(aim, self.plan)

    def try_serial(self, choices: Choices) -> None:
        """Take the serial pass's plan where it is better."""
        tight = tightened(choices, self.problem, all_in=self.all_in)
        if all(tight.values()):
            self.adopt(self._serial(tight).run())

    def _serial(self, choices: Choices) -> Serial:
        return Serial(self.problem, self.crew, choices, self.costs)

    def adopt(self, plan: dict[str, Block]) -> None:
        """Take a plan that can be named, if it is better in the aims' order.

        What was left out and still fits is put in first: no aim behind the one that was asked
        for has made the solver do so.
        """
        if len(plan) < len(self.choices):
            plan = self._serial(self.choices).run(plan)
        if self.all_in and len(plan) < len(self.choices):
            return
        if self.measure.every(plan) < self.measure.every(self.plan):
            self.plan = plan

    def learn(self, sums: Sum, bound: int) -> None:
        """Keep what a bound of a sum says of the aims in it."""
        values = {aim: self._value(aim) for aim in sums.aims}
        for aim, low in sums.bounds(bound, values).items():
            self.known[aim] = max(low, self.known.get(aim, low))


class Modelled:
    """The solver's model of a part, for some aims in one sum, with what is reached held.

    Args:
        search: the part.
        sums: what is made as small as possible.
    """

    def __init__(self, search: Search, sums: Sum) -> None:
        self.search, self.sums = search, sums
        problem, choices = search.problem, search.choices
        self.model = Model()
        self.stands: Stands = add_visits(self.model, choices, all_in=search.all_in)
        add_orders(self.model, problem, choices, self.stands)
        add_limits(self.model, search.limits, self.stands)
        self.heavy = add_rest(self.model, problem, choices, self.stands)
        self.hires: list[Hire] = []
        if HIRE in sums.aims:
            self.hires = add_hires(self.model, problem, choices, self.stands)
        for short in search.learned:
            self._forbid(short)
        for reached in search.reached:
            variables, factors, constant = self._terms(reached.aim)
            if variables:
                self.model.row(variables, factors, -(10**15), reached.value - constant)

    def _terms(self, aim: str) -> tuple[list[int], list[int], int]:
        """Variables, factors and constant of an aim."""
        if aim == HIRE:
            return (*self._hire_terms(), 0)
        if aim in BY_BLOCK:
            return (*self._block_terms(BY_BLOCK[aim]), 0)
        level = int(aim.removeprefix(FIT))
        visits = self.search.problem.visit_by_id
        of_level = (one for one in self.stands if visits[one].importance == level)
        placed = [self.stands[visit_id].placed for visit_id in of_level]
        return placed, [-1] * len(placed), len(placed)

    def _hire_terms(self) -> tuple[list[int], list[int]]:
        variables, factors = self._block_terms("waiting")
        for hire in self.hires:
            variables += hire.begins
            factors += [block_price(hire.kit)] * len(hire.begins)
        return variables, factors

    def _block_terms(self, name: str) -> tuple[list[int], list[int]]:
        variables: list[int] = []
        factors: list[int] = []
        for visit_id, blocks in self.search.choices.items():
            costs, stand = self.search.costs[visit_id], self.stands[visit_id]
            for block, literal in zip(blocks, stand.at, strict=True):
                if amount := getattr(costs[block.first], name):
                    variables.append(literal)
                    factors.append(amount)
        return variables, factors

    def _summed(self) -> tuple[list[int], list[int], int]:
        """Variables, factors and constant of the sum; a variable may come more than once."""
        factor_of: dict[int, int] = {}
        whole = 0
        for aim, weight in zip(self.sums.aims, self.sums.weights, strict=True):
            variables, factors, constant = self._terms(aim)
            whole += weight * constant
            for variable, factor in zip(variables, factors, strict=True):
                factor_of[variable] = factor_of.get(variable, 0) + weight * factor
        return list(factor_of), list(factor_of.values()), whole

    def solve(self, effort: float, seconds: float | None) -> bool:
        """Improve the search's plan, and let it know the bounds; whether it is proven best."""
        variables, factors, constant = self._summed()
        self.model.minimise(variables, factors)
        while effort > 0:
            self.model.hint(self._values(self.search.plan))
            outcome = self._asked(effort, seconds, constant)
            effort -= outcome.effort
            self.search.spent += outcome.effort
            again = bool(outcome.values) and self._take(outcome.values)
            if outcome.status in ("proven", "found"):
                self.search.learn(self.sums, outcome.bound + constant)
            if not outcome.values or not again:
                return outcome.status == "proven"
        return False

    def _asked(self, effort: float, seconds: float | None, constant: int) -> Outcome:
        try:
            return self.model.solve(effort, seconds, **(WITH_HIRE if self.hires else {}))
        except Stopped as stop:
            if stop.outcome.values:
                self._take(stop.outcome.values)
                self.search.learn(self.sums, stop.outcome.bound + constant)
            raise

    def _take(self, values: Sequence[int]) -> bool:
        """Give a solution to the search; True if its hours cannot be given names."""
        plan = {
            visit_id: blocks[k]
            for visit_id, blocks in self.search.choices.items()
            if (k := self.stands[visit_id].read(values)) is not None
        }
        stints = stints_of(self.search.crew, plan)
        if isinstance(stints, list):
            self.search.learned += stints
            for short in stints:
                self._forbid(short)
            return True
        self.search.adopt(plan)
        return False

    def _forbid(self, short: Shortfall) -> None:
        search = self.search
        there = on_days(search.choices).get(short.day, [])
        limit = people_limit(there, search.crew, short.day, short.people)
        add_limits(self.model, [limit], self.stands)

    def _values(self, plan: dict[str, Block]) -> list[int]:
        """A plan as values of all variables."""
        values = [0] * len(self.model.proto.variables)
        for visit_id, block in plan.items():
            firsts = [one.first for one in self.search.choices[visit_id]]
            self.stands[visit_id].put(firsts.index(block.first), values)
        there = heavy_days(plan) if self.heavy else set()
        for day, flag in self.heavy.items():
            values[flag] = int(day in there)
        for hire in self.hires:
            fill(hire, plan, values)
        return values
