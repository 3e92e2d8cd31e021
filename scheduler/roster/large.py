"""The search in parts that are too large for one model: prices, then piece after piece.

Prices of scarce hours give the bound, and say what is to be placed first; the serial pass
makes plans of that. Then pieces of the best plan, some plots or some weeks, are put into the
solver's model one after another while all else stands, as long as effort is left.
"""

from collections.abc import Iterator
from itertools import count

import numpy as np
from numpy.typing import NDArray

from scheduler.roster.aims import BLOCKS, BY_PLACEMENT
from scheduler.roster.engine import SEED
from scheduler.roster.gather import on_used_days
from scheduler.roster.measure import Sum
from scheduler.roster.part import Part
from scheduler.roster.passes import Passes, pass_effort
from scheduler.roster.piece import Piece, Whole
from scheduler.roster.placements import Placement
from scheduler.roster.prices import CALM, Prices, Relaxed
from scheduler.roster.serial import Serial

LARGE = 12_000  # placements above which one model is slower than pieces (measured)
ROUND_EFFORT = 0.04  # effort that a round of prices stands for, near seconds
PRICE_SHARE = 0.25  # of all effort goes to the prices, at most
TREND = 0.9  # share of the last direction of prices kept (Camerini et al. 1975, from memory)
EVERY = 10  # rounds of prices from one serial pass to the next
PIECE_JOBS = 24
PIECE_EFFORT = 0.5
ENOUGH = 0.002  # a gap below which rounds of prices tell little more


class Large:
    """A part in which every job is placed, for aims that single placements decide in the main.

    Args:
        search: the part; earlier aims are held by its choices. Hired kit that is to come as
            seldom as can be comes on no day on which the first plan does not have it.
        sums: what is made as small as possible; blocks of hire in it count for whole plans,
            and neither for prices nor for pieces.
    """

    def __init__(self, search: Part, sums: Sum) -> None:
        self.search, self.sums = search, sums
        self.bound = -(1 << 60)
        fields = [
            (BY_PLACEMENT.get(a, "waiting"), w)
            for a, w in zip(sums.aims, sums.weights, strict=True)
        ]
        self.amounts = {
            j: [
                sum(w * int(getattr(search.costs[j][p.first], name)) for name, w in fields)
                for p in ps
            ]
            for j, ps in search.choices.items()
        }
        self.unit = max(1, max(max(a) - min(a) for a in self.amounts.values()) // 10_000)
        self.choices = search.choices
        # blocks stand below the aims of frost and of what is published
        self.gathered = BLOCKS in search.aims[: search.aims.index(sums.aims[0])]
        if self.gathered:
            self.choices = on_used_days(search.problem, search.choices, search.plan)
        self.serial = Serial(search.problem, search.crew, self.choices, search.costs)
        self.whole = Whole(search, self.choices, self._paid())
        self.pass_effort = pass_effort(len(self.amounts))
        self.passes = Passes(search.problem, self.choices)
        self.random = np.random.default_rng(SEED)
        self.score = self._score(search.plan)

    def _paid(self) -> dict[str, dict[int, int]]:
        """What each placement costs, by job and first day."""
        return {
            j: {p.first: amount for p, amount in zip(ps, self.amounts[j], strict=True)}
            for j, ps in self.search.choices.items()
        }

    def _score(self, plan: dict[str, Placement]) -> tuple[int, int]:
        measure = self.search.measure
        blocks = measure.value(BLOCKS, plan) if self.gathered else 0
        aims = zip(self.sums.aims, self.sums.weights, strict=True)
        return blocks, sum(weight * measure.value(aim, plan) for aim, weight in aims)

    def offer(self, plan: dict[str, Placement]) -> None:
        """Keep a plan that is better."""
        if len(plan) == len(self.amounts) and (score := self._score(plan)) < self.score:
            self.score = score
            self.whole.put(plan)

    def solve(self, effort: float, seconds: float | None) -> None:  # noqa: ARG002  # as the other models
        """Improve the search's plan, and let it know the bounds."""
        try:
            self._improve(effort)
        finally:  # stopped or not
            self.search.adopt(self.whole.plan)
            self.search.learn(self.sums, self.bound)
            for aim in self.sums.aims:  # none is asked twice
                self.search.known.setdefault(aim, self.search.measure.least(aim))

    def _improve(self, effort: float) -> None:
        spent = self._by_prices(effort * PRICE_SHARE)
        pieces = self._pieces()
        while spent < effort and self._gap() > ENOUGH * abs(self.score[1]):
            self.offer(self.serial.run(self.passes.urgency(self.whole.plan)))
            piece = Piece(self.whole, next(pieces))
            spent += self.pass_effort + piece.solve(min(PIECE_EFFORT, effort - spent))
            self.offer(piece.plan)
        self.search.spent += spent

    def _gap(self) -> int:
        return self.score[1] - self.bound

    def _by_prices(self, effort: float) -> float:
        """Rounds of prices, each some way from the last; serial passes between them."""
        scaled = {j: [a / self.unit for a in amounts] for j, amounts in self.amounts.items()}
        search = self.search
        prices = Prices(search.choices, scaled, search.problem.orders, search.limits)
        price, trend = np.zeros(prices.n_limits), np.zeros(prices.n_limits)
        bound, step, calm, spent = -np.inf, 1.0, 0, 0.0
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
            gap = self.score[1] / self.unit - told.bound
            if spent >= effort or step < 1e-3 or gap <= ENOUGH * abs(told.bound):
                break
            trend = told.over + TREND * trend
            price = _moved(price, trend, step * gap)
        return spent

    def _by_urgency(self, told: Relaxed) -> float:
        urgency = {job_id: float(first) for job_id, first in told.chosen.items()}
        self.offer(self.serial.run(urgency))
        return self.pass_effort

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
            plan = self.whole.plan
            middle = plan[sorted(plan)[int(self.random.integers(len(plan)))]].first
            near = sorted(plan, key=lambda j: (abs(plan[j].first - middle), j))
            yield set(near[:PIECE_JOBS])


def _moved(
    price: NDArray[np.float64], over: NDArray[np.float64], length: float
) -> NDArray[np.float64]:
    """Prices after one step; what costs nothing and has room left does not count."""
    slope = np.where((price <= 0) & (over < 0), 0.0, over)
    size = float(slope @ slope)
    return np.maximum(0.0, price + (length / size if size else 0.0) * slope)
