"""The search in parts that are too large for one model: prices, then piece after piece.

Prices of scarce hours give the bound, and say what is to be placed first; the serial pass
makes plans of that. Then pieces of the best plan, some plots or some weeks, are put into the
solver's model one after another while all else stands, as long as effort is left.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import count

import numpy as np
from numpy.typing import NDArray

from scheduler.roster.aims import BY_PLACEMENT
from scheduler.roster.engine import SEED, Model
from scheduler.roster.ledger import keeps
from scheduler.roster.limits import Limit, on_days, people_limit
from scheduler.roster.names import Shortfall, shortfall_on, teams_on
from scheduler.roster.order import Choices
from scheduler.roster.part import Part
from scheduler.roster.placements import Placement
from scheduler.roster.prices import CALM, Prices, Relaxed
from scheduler.roster.problem import Order
from scheduler.roster.rest import add_rest, heavy_days
from scheduler.roster.rows import add_jobs, add_orders
from scheduler.roster.serial import Serial

LARGE = 12_000  # placements above which one model is slower than pieces (measured)
ROUND_EFFORT = 0.04  # effort that a round of prices stands for, near seconds
PLAN_EFFORT = 0.6  # that of a serial pass in a part of 500 jobs
PRICE_SHARE = 0.5  # of all effort goes to the prices, at most
EVERY = 10  # rounds of prices from one serial pass to the next
PIECE_JOBS, PIECE_EFFORT = 24, 0.5
ENOUGH = 0.002  # a gap below which rounds of prices tell little more

Plan = dict[str, Placement]


class Large:
    """A part in which every job is placed, for an aim that single placements decide.

    Args:
        search: the part; earlier aims are held by its choices.
        aim: what is made as small as possible.
    """

    def __init__(self, search: Part, aim: str) -> None:
        self.search, self.aim = search, aim
        self.bound = -(10**15)
        name = BY_PLACEMENT.get(aim, "waiting")
        costs = {j: search.costs[j] for j in search.choices}
        self.amounts = {
            j: [int(getattr(costs[j][p.first], name)) for p in ps]
            for j, ps in search.choices.items()
        }
        self.unit = max(1, max(max(a) - min(a) for a in self.amounts.values()) // 10_000)
        self.at = {j: {p.first: k for k, p in enumerate(ps)} for j, ps in search.choices.items()}
        self.limits = list(search.limits)
        self.random = np.random.default_rng(SEED)
        self.best: Plan = {}
        self.value = 1 << 60
        self.offer(search.plan)

    def offer(self, plan: Plan) -> bool:
        """Keep a plan that is better."""
        if len(plan) < len(self.amounts) or any(
            p.first not in self.at[job_id] for job_id, p in plan.items()
        ):
            return False
        value = sum(self.amounts[job_id][self.at[job_id][p.first]] for job_id, p in plan.items())
        better = value < self.value
        if better:
            self.best, self.value = dict(plan), value
        return better

    def solve(self, effort: float, seconds: float | None) -> int:  # noqa: ARG002  # as the other models
        """Improve the search's plan; return the bound."""
        try:
            self._improve(effort)
        finally:  # stopped or not
            self.search.known[self.aim] = min(self.bound, self.value)
            if self.best:
                self.search.adopt(self.best)
        return min(self.bound, self.value)

    def _improve(self, effort: float) -> None:
        spent = self._by_prices(effort * PRICE_SHARE)
        pieces = self._pieces()
        while spent < effort and self._gap() > ENOUGH * abs(self.value) and self.best:
            spent += Piece(self, next(pieces)).solve(min(PIECE_EFFORT, effort - spent))
        self.search.spent += spent

    def _gap(self) -> int:
        return self.value - self.bound

    def _by_prices(self, effort: float) -> float:
        """Rounds of prices, each some way from the last; serial passes between them."""
        scaled = {j: [a / self.unit for a in amounts] for j, amounts in self.amounts.items()}
        prices = Prices(self.search.choices, scaled, self.search.problem.orders, self.limits)
        price, bound, step, calm, spent = np.zeros(prices.n_limits), -np.inf, 1.0, 0, 0.0
        for n in count():
            told = prices.relaxed(price)
            spent += ROUND_EFFORT
            calm = 0 if told.bound > bound else calm + 1
            bound = max(bound, told.bound)
            self.bound = int(np.ceil((bound - 1e-6) * self.unit)) - self.unit
            if n % EVERY == 0:
                spent += self._by_urgency(told)
            if calm == CALM:
                step, calm = step / 2, 0
            gap = self.value / self.unit - told.bound
            if spent >= effort or step < 1e-3 or gap <= ENOUGH * abs(told.bound):
                break
            price = _moved(price, told.over, step * gap)
        return spent

    def _by_urgency(self, told: Relaxed) -> float:
        search = self.search
        urgency = {job_id: float(first) for job_id, first in told.chosen.items()}
        serial = Serial(search.problem, search.crew, search.choices, search.costs, urgency)
        self.offer(serial.run())
        return PLAN_EFFORT * len(self.amounts) / 500

    def _pieces(self) -> Iterator[set[str]]:
        """Jobs to be placed anew: by turns those of some plots, and those of some weeks."""
        jobs = self.search.problem.by_id
        plots = sorted({jobs[job_id].plot for job_id in self.amounts})
        while True:
            chosen: set[str] = set()
            for n in self.random.permutation(len(plots)).tolist():
                own = {j for j in self.amounts if jobs[j].plot == plots[n]}
                if chosen and len(chosen | own) > PIECE_JOBS:
                    break
                chosen |= own
            yield chosen
            middle = self.best[sorted(self.best)[int(self.random.integers(len(self.best)))]].first
            near = sorted(self.best, key=lambda j: (abs(self.best[j].first - middle), j))
            yield set(near[:PIECE_JOBS])


def _moved(
    price: NDArray[np.float64], over: NDArray[np.float64], length: float
) -> NDArray[np.float64]:
    """Prices after one step; what costs nothing and has room left does not count."""
    slope = np.where((price <= 0) & (over < 0), 0.0, over)
    size = float(slope @ slope)
    return np.maximum(0.0, price + (length / size if size else 0.0) * slope)


class Piece:
    """Some jobs placed anew, while all others stand.

    Args:
        large: the part.
        free: ids of the jobs.
    """

    def __init__(self, large: Large, free: Iterable[str]) -> None:
        self.large, self.search = large, large.search
        self.free = set(free)
        self.choices: Choices = {j: self._beside(j) for j in large.amounts if j in self.free}
        self.model = Model()
        self.stands = add_jobs(self.model, self.choices, all_in=True)
        search = self.search
        add_orders(self.model, search.problem, self.choices, self.stands, search.crew)
        for limit in large.limits:
            self._add(limit)
        outside = {j: p for j, p in large.best.items() if j not in self.free}
        standing = heavy_days(search.problem, outside)
        self.heavy = add_rest(self.model, search.problem, self.choices, self.stands, standing)

    def _beside(self, job_id: str) -> list[Placement]:
        """Placements that keep the order to everything that stands."""
        plan = self.large.best
        kept = self.search.choices[job_id]
        for order in self.search.problem.orders:
            if order.after == job_id and order.before in plan and order.before not in self.free:
                kept = [p for p in kept if self._keeps(order, plan[order.before], p)]
            if order.before == job_id and order.after in plan and order.after not in self.free:
                kept = [p for p in kept if self._keeps(order, p, plan[order.after])]
        return kept

    def _keeps(self, order: Order, before: Placement, after: Placement) -> bool:
        return keeps(self.search.problem, self.search.crew, order, before, after)

    def _add(self, limit: Limit) -> None:
        """What is left of a limit by all that stands."""
        plan, room = self.large.best, limit.room
        literals, amounts = [], []
        for job_id, k, amount in limit.uses:
            first = self.search.choices[job_id][k].first
            if job_id not in self.free:
                room -= amount if plan[job_id].first == first else 0
            elif (own := self._number(job_id, first)) is not None:
                literals.append(self.stands[job_id].at[own])
                amounts.append(amount)
        if literals:
            self.model.row(literals, amounts, 0, room)

    def _number(self, job_id: str, first: int) -> int | None:
        return next((n for n, p in enumerate(self.choices[job_id]) if p.first == first), None)

    def solve(self, effort: float) -> float:
        """Offer the best found; return the effort."""
        variables, factors, large = [], [], self.large
        for job_id, ps in self.choices.items():
            for p, literal in zip(ps, self.stands[job_id].at, strict=True):
                variables.append(literal)
                factors.append(large.amounts[job_id][large.at[job_id][p.first]])
        self.model.minimise(variables, factors)
        self.model.hint(self._values())
        outcome = self.model.solve(effort)
        if outcome.values:
            self._take(outcome.values)
        return outcome.effort + 0.2

    def _values(self) -> list[int]:
        values = [0] * len(self.model.proto.variables)
        for job_id, stand in self.stands.items():
            k = self._number(job_id, self.large.best[job_id].first)
            assert k is not None, "what stands keeps the order to what stands"
            values[stand.at[k]] = 1
            for rung in stand.by[k:]:
                values[rung] = 1
        own = {job_id: self.large.best[job_id] for job_id in self.stands}
        for day in heavy_days(self.search.problem, own) & self.heavy.keys():
            values[self.heavy[day]] = 1
        return values

    def _take(self, values: Sequence[int]) -> None:
        plan = dict(self.large.best)
        for job_id, ps in self.choices.items():
            at = self.stands[job_id].at
            plan[job_id] = next(p for p, v in zip(ps, at, strict=True) if values[v])
        days = {d for j in self.choices for p in (plan[j], self.large.best[j]) for d in p.days}
        short = [s for d in sorted(days) if (s := self._short(d, plan)) is not None]
        if not short:
            self.large.offer(plan)
        there = on_days(self.search.choices) if short else {}
        for s in short:
            search = self.search
            limit = people_limit(search.problem, there[s.day], search.crew, s.day, s.people)
            self.large.limits.append(limit)

    def _short(self, day: int, plan: Plan) -> Shortfall | None:
        there = {j: p for j, p in plan.items() if day in p.days}
        search = self.search
        teams = teams_on(day, search.problem.by_id, there)
        return shortfall_on(day, teams, search.crew)
