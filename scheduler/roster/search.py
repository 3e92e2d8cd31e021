"""One part of a problem: a first plan, then aim after aim, each held for the next."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from scheduler.roster.aims import BY_PLACEMENT, HIRE, Costs, block_price, value_of
from scheduler.roster.engine import Model, Outcome, Stopped
from scheduler.roster.large import LARGE, Large
from scheduler.roster.limits import Limit, narrowed, on_days, people_limit
from scheduler.roster.names import Shortfall, stints_of
from scheduler.roster.order import Choices, tightened
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Problem
from scheduler.roster.rest import add_rest, heavy_days
from scheduler.roster.rows import Hire, Stands, add_hires, add_jobs, add_limits, add_orders
from scheduler.roster.serial import Serial
from scheduler.roster.spans import Spans, suits
from scheduler.roster.teams import Crew


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
    known: dict[str, int] = field(default_factory=dict)  # bounds of searches cut short, by aim

    def run(self, effort: float, seconds: float | None) -> None:
        """Go through the aims; called again after a stop, it goes on from there.

        Args:
            effort: deterministic effort for all of them together.
            seconds: limit by the clock for each call of the solver.
        """
        for aim in self.aims[len(self.reached) :]:
            left = max(effort - self.spent, 0.0)
            share = left if aim == self.aims[-1] else left / 2
            self._pursue(aim, share, seconds)

    def _pursue(self, aim: str, effort: float, seconds: float | None) -> None:
        least = self._least(aim)
        if self._value(aim) > least and effort > 0:
            self._try_serial(self.choices)
        if self._value(aim) > least and effort > 0 and aim in BY_PLACEMENT:
            self._try_serial(self._at_least_cost(aim))
        bound = max(least, self.known.get(aim, least))
        if self._value(aim) > least and effort > 0:
            bound = max(least, self._modelled(aim).solve(effort, seconds))
        self.reached.append(Reached(aim, self._value(aim), min(bound, self._value(aim))))
        if self._value(aim) == least and self.all_in and aim in BY_PLACEMENT:
            self._narrow(tightened(self._at_least_cost(aim), self.problem.orders, all_in=True))

    def _narrow(self, choices: Choices) -> None:
        """Go on with fewer placements; most often none is lost."""
        if any(len(choices[job_id]) < len(ps) for job_id, ps in self.choices.items()):
            self.limits = narrowed(self.limits, self.choices, choices)
            self.choices = choices

    def _modelled(self, aim: str) -> "Modelled | Spans | Large":
        """The model that suits the part."""
        if aim == "waiting_days" and suits(self.problem, self.choices, all_in=self.all_in):
            return Spans(self)
        if self._is_large(aim):
            return Large(self, aim)
        return Modelled(self, aim)

    def _is_large(self, aim: str) -> bool:
        """Too much for one model, and with every earlier aim held by the choices alone."""
        held = all(reached.value == self._least(reached.aim) for reached in self.reached)
        size = sum(map(len, self.choices.values()))
        return aim in (*BY_PLACEMENT, HIRE) and self.all_in and held and size > LARGE

    def _value(self, aim: str) -> int:
        return value_of(aim, self.problem, self.choices, self.costs, self.plan)

    def _least(self, aim: str) -> int:
        """What no plan can be below, seen without solving."""
        if aim in BY_PLACEMENT:
            return sum(self._least_of(job_id, BY_PLACEMENT[aim]) for job_id in self.choices)
        if aim == HIRE:
            return self._least_hire() + self._least("waiting_days")
        return 0

    def _least_of(self, job_id: str, name: str) -> int:
        """The least one job can have; work that may be left out can always have nothing."""
        costs = self.costs[job_id]
        least: int = min(getattr(costs[p.first], name) for p in self.choices[job_id])
        return least if self.all_in else min(least, 0)

    def _least_hire(self) -> int:
        if not self.all_in:
            return 0
        used = {kit for job_id in self.choices for kit in self.problem.by_id[job_id].uses}
        return sum(block_price(self.problem, kit) for kit in self.problem.kits if kit.id in used)

    def _at_least_cost(self, aim: str) -> Choices:
        """Only the placements that give each job the least it can have of an aim."""
        name, answer = BY_PLACEMENT[aim], {}
        for job_id, ps in self.choices.items():
            amounts = [getattr(self.costs[job_id][p.first], name) for p in ps]
            low = min(amounts)
            answer[job_id] = [p for p, amount in zip(ps, amounts, strict=True) if amount == low]
        return answer

    def _try_serial(self, choices: Choices) -> None:
        """Take the serial pass's plan where it is better."""
        tight = tightened(choices, self.problem.orders, all_in=self.all_in)
        if all(tight.values()):
            self.adopt(Serial(self.problem, self.crew, tight, self.costs).run())

    def adopt(self, plan: dict[str, Placement]) -> None:
        """Take a plan that can be named, if it is better in the aims' order."""
        if self.all_in and len(plan) < len(self.choices):
            return
        if self.measure(plan) < self.measure(self.plan):
            self.plan = plan

    def measure(self, plan: dict[str, Placement]) -> tuple[int, ...]:
        """All aims of a plan, in their order."""
        return tuple(
            value_of(aim, self.problem, self.choices, self.costs, plan) for aim in self.aims
        )


class Modelled:
    """The solver's model of a part, for one aim, with what is already reached held.

    Args:
        search: the part.
        aim: what is made as small as possible.
    """

    def __init__(self, search: Search, aim: str) -> None:
        self.search, self.aim = search, aim
        problem, choices, crew = search.problem, search.choices, search.crew
        self.model = Model()
        self.stands: Stands = add_jobs(self.model, choices, all_in=search.all_in)
        add_orders(self.model, problem, choices, self.stands, crew)
        add_limits(self.model, search.limits, self.stands)
        self.heavy = add_rest(self.model, problem, choices, self.stands)
        self.hires: list[Hire] = (
            add_hires(self.model, problem, choices, self.stands) if aim == HIRE else []
        )
        for short in search.learned:
            self._forbid(short)
        for reached in search.reached:
            variables, factors, constant = self._terms(reached.aim)
            if variables:
                self.model.row(variables, factors, -(10**15), reached.value - constant)

    def _terms(self, aim: str) -> tuple[list[int], list[int], int]:
        """Variables, factors and constant of an aim."""
        if aim in BY_PLACEMENT:
            return (*self._placement_terms(BY_PLACEMENT[aim]), 0)
        if aim == HIRE:
            variables, factors = self._placement_terms("waiting")
            for hire in self.hires:
                variables += hire.begins
                price = block_price(self.search.problem, hire.kit)
                factors += [price] * len(hire.begins)
            return variables, factors, 0
        level = int(aim.removeprefix("fit-"))
        jobs = self.search.problem.by_id
        of_level = (job_id for job_id in self.stands if jobs[job_id].importance == level)
        placed = [self.stands[job_id].placed for job_id in of_level]
        return placed, [-1] * len(placed), len(placed)

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

    def solve(self, effort: float, seconds: float | None) -> int:
        """Improve the search's plan; return the bound."""
        variables, factors, constant = self._terms(self.aim)
        self.model.minimise(variables, factors)
        bound = -(10**15)
        while effort > 0:
            self.model.hint(self._values(self.search.plan))
            outcome = self._asked(effort, seconds, constant)
            effort -= outcome.effort
            self.search.spent += outcome.effort
            if outcome.status in ("proven", "found"):
                bound = max(bound, outcome.bound + constant)
            if not outcome.values or not self._take(outcome.values):
                break
        return bound

    def _asked(self, effort: float, seconds: float | None, constant: int) -> Outcome:
        try:
            return self.model.solve(effort, seconds)
        except Stopped as stop:
            if stop.outcome.values:
                self.search.known[self.aim] = stop.outcome.bound + constant
                self._take(stop.outcome.values)
            raise

    def _take(self, values: Sequence[int]) -> bool:
        """Give a solution to the search; True if its hours cannot be given names."""
        plan = {
            job_id: next(p for p, at in zip(ps, self.stands[job_id].at, strict=True) if values[at])
            for job_id, ps in self.search.choices.items()
            if values[self.stands[job_id].placed]
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
            values[self.stands[job_id].at[k]] = 1
            for rung in self.stands[job_id].by[k:]:
                values[rung] = 1
        there = heavy_days(self.search.problem, plan) if self.heavy else set()
        for day, flag in self.heavy.items():
            values[flag] = int(day in there)
        for hire in self.hires:
            self._fill_hire(hire, plan, values)
        return values

    def _fill_hire(self, hire: Hire, plan: dict[str, Placement], values: list[int]) -> None:
        jobs = self.search.problem.by_id
        users = [p for job_id, p in plan.items() if jobs[job_id].uses.get(hire.kit.id)]
        wanted = {day for p in users for day in p.days}
        for n, day in enumerate(hire.days):
            values[hire.here[n]] = int(day in wanted)
            values[hire.begins[n]] = int(day in wanted and not (n and values[hire.here[n - 1]]))
