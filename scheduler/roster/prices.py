"""Prices of scarce hours: a bound for large seasons, and which work is to be placed first.

Every limit of a day (people, kit, ground) gets a price; a job then pays for its days what it
takes of them, and only the order of work ties jobs to one another. That is a smallest cut,
found at once for all plots; prices rise where too much is wanted and fall where room is left
(Lagrangean relaxation; Moehring, Schulz, Stork and Uetz 2003, Solving project scheduling
problems by minimum cut computations, Management Science 49:330-350, from memory).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.roster.engine import smallest_cut
from scheduler.roster.limits import Limit
from scheduler.roster.order import Choices
from scheduler.roster.problem import Order

Numbers = NDArray[np.float64]
PARTS = 1000.0  # a unit of cost in the whole numbers of the cut
FOREVER = 1 << 50
CALM = 12  # rounds without a better bound, after which prices move half as far


@dataclass(frozen=True)
class Relaxed:
    """What one round of prices gives.

    Args:
        bound: no plan costs less.
        chosen: first day of each job at these prices, by job id.
        over: (n_limits,) what is taken beyond each limit, as a share of its room.
    """

    bound: float
    chosen: dict[str, int]
    over: Numbers


class Prices:
    """The relaxed problem of a part in which every job is placed.

    Args:
        choices: placements by job id, tightened by the order of work.
        amounts: cost of each of them, by job id, in the order of ``choices``.
        orders: the order of work.
        limits: what days have, as ``limits_of`` gives it.
    """

    def __init__(
        self,
        choices: Choices,
        amounts: Mapping[str, Sequence[float]],
        orders: Sequence[Order],
        limits: Sequence[Limit],
    ) -> None:
        self.choices = choices
        self.begin: dict[str, int] = {}  # number of each job's first node
        n = 0
        for job_id, ps in choices.items():
            self.begin[job_id], n = n, n + len(ps)
        self.n = n
        self.cost = np.concatenate([np.asarray(amounts[j], dtype=np.float64) for j in choices])
        self._set_limits([limit for limit in limits if limit.room > 0])
        self._set_ties(orders)

    def _set_limits(self, limits: Sequence[Limit]) -> None:
        rows, nodes, shares = [], [], []
        for row, limit in enumerate(limits):
            for job_id, k, amount in limit.uses:
                rows.append(row)
                nodes.append(self.begin[job_id] + k)
                shares.append(amount / limit.room)
        self.rows, self.nodes = np.array(rows, dtype=np.int64), np.array(nodes, dtype=np.int64)
        self.shares, self.n_limits = np.array(shares, dtype=np.float64), len(limits)

    def _set_ties(self, orders: Sequence[Order]) -> None:
        """Arcs that never are cut: back along each job, and the order of work across."""
        tails, heads = [], []
        for job_id, ps in self.choices.items():
            at = self.begin[job_id]
            tails += list(range(at + 1, at + len(ps)))
            heads += list(range(at, at + len(ps) - 1))
        for order in orders:
            if order.before in self.choices and order.after in self.choices:
                for tail, head in self._ties(order):
                    tails.append(tail)
                    heads.append(head)
        self.tails, self.heads = np.array(tails, dtype=np.int64), np.array(heads, dtype=np.int64)

    def _ties(self, order: Order) -> list[tuple[int, int]]:
        """Pairs of nodes: if the first is reached, so is the second."""
        before, after = self.choices[order.before], self.choices[order.after]
        at, to = self.begin[order.before], self.begin[order.after]
        ends = np.array([p.last for p in before])
        begins = np.array([p.first for p in after])
        late = np.searchsorted(begins, ends + order.min_days)
        pairs = [(at + k, to + int(q)) for k, q in enumerate(late) if q < len(after)]
        if order.within_days is not None:
            early = np.searchsorted(ends, begins - order.within_days)
            pairs += [(to + q, at + int(k)) for q, k in enumerate(early) if k < len(before)]
        return pairs

    def relaxed(self, price: Numbers) -> Relaxed:
        """The best that can be had at these prices, limits aside."""
        paid = self.cost + np.bincount(
            self.nodes, price[self.rows] * self.shares, minlength=self.n
        )
        least = np.array([paid[self._of(j)].min() for j in self.choices])
        above = paid - np.repeat(least, [len(ps) for ps in self.choices.values()])
        value, reached = smallest_cut(
            list(self.begin.values()), np.floor(above * PARTS).astype(np.int64),
            (self.tails, self.heads), FOREVER,
        )  # fmt: skip
        picks = {j: int(reached[self._of(j)].sum()) - 1 for j in self.choices}
        taken = np.zeros(self.n)
        taken[[self.begin[j] + k for j, k in picks.items()]] = 1.0
        used = np.bincount(self.rows, taken[self.nodes] * self.shares, minlength=self.n_limits)
        bound = value / PARTS + float(least.sum()) - float(price.sum())
        chosen = {j: self.choices[j][k].first for j, k in picks.items()}
        return Relaxed(bound, chosen, np.asarray(used - 1.0, dtype=np.float64))

    def _of(self, job_id: str) -> slice:
        at = self.begin[job_id]
        return slice(at, at + len(self.choices[job_id]))
