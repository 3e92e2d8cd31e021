"""One part of a problem: a first plan, then aim after aim, each held for the next."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from scheduler.roster.aims import BLOCKS, BY_PLACEMENT, HIRE, LATE, Costs, block_price, kits_of
from scheduler.roster.blocks import Hire, add_hires, fill
from scheduler.roster.engine import Model, Outcome, Stopped
from scheduler.roster.gather import Gather
from scheduler.roster.large import LARGE, Large
from scheduler.roster.limits import Limit, narrowed, on_days, people_limit
from scheduler.roster.measure import Measure, Sum
from scheduler.roster.names import Shortfall, stints_of
from scheduler.roster.order import Choices, tightened
from scheduler.roster.passes import Crowded
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Problem
from scheduler.roster.rest import add_rest, heavy_days
from scheduler.roster.rows import Stands, add_jobs, add_limits, add_orders
from scheduler.roster.serial import Serial
from scheduler.roster.spans import Spans, suits
from scheduler.roster.teams import Crew

# With blocks of hire all rows are worth having in the relaxation from the start, probing before
# the search pays, and cuts do not (measured on the demo seasons and on twenty variants of them:
# other days of today, more and fewer hours, a cap on heavy days).
WITH_HIRE = {
    "add_lp_constraints_lazily": False,
    "cut_level": 0,
    "cp_model_probing_level": 1,
}

# Placements above which prices and pieces make a plan for the model first, and their share of the
# effort (measured on four holdings of 8 to 14 full plots).
LONG, FIRST_SHARE = 4_000, 0.4


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
        choices: placements of the jobs of this part.
        costs: what they cost.
        aims: their names, in order.
        all_in: whether every job of the part is known to fit.
        plan: a first plan.
        limits: of the days, as ``limits_of`` gives them for the choices.
    """

    problem: Problem
    crew: Crew
    choices: Choices
    costs: Costs
    aims: Sequence[str]
    all_in: bool
    plan: dict[str, Placement]
    limits: Sequence[Limit]
    reached: list[Reached] = field(default_factory=list)
    learned: list[Shortfall] = field(default_factory=list)
    spent: float = 0.0
    known: dict[str, int] = field(default_factory=dict)  # bounds learned, by aim

    def run(self, effort: float, seconds: float | None) -> None:
        """Go through the aims; called again after a stop, it goes on from there.

        Args:
            effort: deterministic effort for all of them together.
            seconds: limit by the clock for each model; large parts know none.
        """
        for aim in self.aims[len(self.reached) :]:
            left = max(effort - self.spent, 0.0)
            self._pursue(aim, left if self._is_last(aim) else left / 2, seconds)
        for reached in self.reached:  # a later search may have bettered an earlier aim
            reached.value = self._value(reached.aim)
            reached.bound = min(reached.bound, reached.value)

    def _is_last(self, aim: str) -> bool:
        """Whether nothing is left to be asked after it; large parts are asked in one sum."""
        sums = self.measure.summed(aim).aims if self._is_large and aim != BLOCKS else (aim,)
        return sums[-1] == self.aims[-1]

    @property
    def measure(self) -> Measure:
        """How plans are measured."""
        return Measure(self.problem, self.choices, self.costs, self.aims, self.all_in)

    def _pursue(self, aim: str, effort: float, seconds: float | None) -> None:
        measure = self.measure
        least = measure.least(aim)
        if self._value(aim) > least and effort > 0:
            self.try_serial(self.choices)
        if self._value(aim) > least and effort > 0 and aim in BY_PLACEMENT:
            self.try_serial(measure.at_least(aim))
        asked = self._is_large and aim in self.known
        if self._value(aim) > self.known.get(aim, least) and effort > 0 and not asked:
            effort -= self._prepare(aim, effort * FIRST_SHARE, seconds)
            self._modelled(aim).solve(effort, seconds)
        bound = max(least, self.known.get(aim, least))
        self.reached.append(Reached(aim, self._value(aim), min(bound, self._value(aim))))
        if self._value(aim) == least and self.all_in and aim in BY_PLACEMENT:
            self._narrow(tightened(measure.at_least(aim), self.problem.orders, all_in=True))

    def _prepare(self, aim: str, effort: float, seconds: float | None) -> float:
        """A plan and a bound for a model that would be long in finding them; the effort spent."""
        before, size = self.spent, sum(map(len, self.choices.values()))
        if not LONG < size <= LARGE or not self._early_held or self._by_spans(aim):
            return 0.0
        if aim == BLOCKS:
            Gather(self).solve(effort / 2, seconds)
        by_placement = [one for one in self.aims[self.aims.index(aim) :] if one in BY_PLACEMENT]
        if by_placement:
            left = effort - (self.spent - before)
            Large(self, self.measure.summed(by_placement[0])).solve(left, seconds)
        return self.spent - before

    def _narrow(self, choices: Choices) -> None:
        """Go on with fewer placements; most often none is lost."""
        if any(len(choices[job_id]) < len(ps) for job_id, ps in self.choices.items()):
            self.limits = narrowed(self.limits, self.choices, choices)
            self.choices = choices

    def _modelled(self, aim: str) -> "Modelled | Spans | Gather | Large | Crowded":
        """The model that suits the part."""
        if self._by_spans(aim):
            return Spans(self)
        if not self._is_large:
            return Modelled(self, self.measure.summed(aim))
        if not self._early_held:
            return Crowded(self)
        return Gather(self) if aim == BLOCKS else Large(self, self.measure.summed(aim))

    @property
    def _early_held(self) -> bool:
        """Whether the choices that are left hold what must stand before the late aims."""
        early = [reached for reached in self.reached if reached.aim not in LATE]
        held = all(reached.value == self.measure.least(reached.aim) for reached in early)
        return self.all_in and held

    def _by_spans(self, aim: str) -> bool:
        """Whether spans say all that there is to say."""
        return aim == "waiting_days" and suits(self.problem, self.choices, all_in=self.all_in)

    @property
    def _is_large(self) -> bool:
        """Too much for one model."""
        return sum(map(len, self.choices.values())) > LARGE

    def _value(self, aim: str) -> int:
        return self.measure.value(aim, self.plan)

    def try_serial(self, choices: Choices) -> None:
        """Take the serial pass's plan where it is better."""
        tight = tightened(choices, self.problem.orders, all_in=self.all_in)
        if all(tight.values()):
            self.adopt(Serial(self.problem, self.crew, tight, self.costs).run())

    def adopt(self, plan: dict[str, Placement]) -> None:
        """Take a plan that can be named, if it is better in the aims' order."""
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
        problem, choices, crew = search.problem, search.choices, search.crew
        self.model = Model()
        self.stands: Stands = add_jobs(self.model, choices, all_in=search.all_in)
        add_orders(self.model, problem, choices, self.stands, crew)
        add_limits(self.model, search.limits, self.stands)
        self.heavy = add_rest(self.model, problem, choices, self.stands)
        held = [reached.aim for reached in search.reached]
        counted = [aim for aim in (BLOCKS, HIRE) if aim in (*held, *sums.aims)]
        self.hires: list[Hire] = [
            hire
            for aim in counted
            for hire in add_hires(self.model, problem, kits_of(problem, aim), choices, self.stands)
        ]
        for short in search.learned:
            self._forbid(short)
        for reached in search.reached:
            variables, factors, constant = self._terms(reached.aim)
            if variables:
                self.model.row(variables, factors, -(10**15), reached.value - constant)

    def _terms(self, aim: str) -> tuple[list[int], list[int], int]:
        """Variables, factors and constant of an aim."""
        if aim in (BLOCKS, HIRE):
            return (*self._hire_terms(aim), 0)
        if aim in BY_PLACEMENT:
            return (*self._placement_terms(BY_PLACEMENT[aim]), 0)
        level = int(aim.removeprefix("fit-"))
        jobs = self.search.problem.by_id
        of_level = (job_id for job_id in self.stands if jobs[job_id].importance == level)
        placed = [self.stands[job_id].placed for job_id in of_level]
        return placed, [-1] * len(placed), len(placed)

    def _hire_terms(self, aim: str) -> tuple[list[int], list[int]]:
        variables, factors = self._placement_terms("waiting") if aim == HIRE else ([], [])
        kits = {kit.id for kit in kits_of(self.search.problem, aim)}
        for hire in self.hires:
            if hire.kit.id in kits:
                variables += hire.begins
                factors += [block_price(hire.kit)] * len(hire.begins)
        return variables, factors

    def _placement_terms(self, name: str) -> tuple[list[int], list[int]]:
        variables: list[int] = []
        factors: list[int] = []
        for job_id, ps in self.search.choices.items():
            costs, stand = self.search.costs[job_id], self.stands[job_id]
            for p, literal in zip(ps, stand.at, strict=True):
                if amount := getattr(costs[p.first], name):
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

    def solve(self, effort: float, seconds: float | None) -> None:
        """Improve the search's plan, and let it know the bounds."""
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
                break

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
            job_id: ps[k]
            for job_id, ps in self.search.choices.items()
            if (k := self.stands[job_id].read(values)) is not None
        }
        stints = stints_of(self.search.problem, self.search.crew, plan)
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
        limit = people_limit(search.problem, there, search.crew, short.day, short.people)
        add_limits(self.model, [limit], self.stands)

    def _values(self, plan: dict[str, Placement]) -> list[int]:
        """A plan as values of all variables."""
        values = [0] * len(self.model.proto.variables)
        for job_id, placement in plan.items():
            k = self.search.choices[job_id].index(placement)
            self.stands[job_id].put(k, values)
        there = heavy_days(self.search.problem, plan) if self.heavy else set()
        for day, flag in self.heavy.items():
            values[flag] = int(day in there)
        for hire in self.hires:
            fill(hire, self.search.problem, plan, values)
        return values
