"""Some jobs of a large plan placed anew by the solver, while all others stand."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from scheduler.roster.engine import Model
from scheduler.roster.ledger import keeps
from scheduler.roster.limits import Limit, on_days, people_limit
from scheduler.roster.names import Shortfall, shortfall_on, teams_on
from scheduler.roster.order import Choices
from scheduler.roster.part import Part
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Order
from scheduler.roster.rest import add_rest, heavy_days
from scheduler.roster.rows import add_jobs, add_orders

Plan = dict[str, Placement]
OVERHEAD = 0.1  # effort that making the model of a piece stands for, near seconds


class Whole:
    """A large plan, and what it leaves of every limit.

    Args:
        search: the part.
        choices: placements that may be chosen.
        paid: what each placement costs, by job and first day.
    """

    def __init__(
        self, search: Part, choices: Choices, paid: Mapping[str, Mapping[int, int]]
    ) -> None:
        self.search, self.choices, self.paid = search, choices, paid
        self.there = on_days(search.choices)
        self.orders: dict[str, list[Order]] = {job_id: [] for job_id in choices}
        for order in search.problem.orders:
            if order.before in choices and order.after in choices:
                self.orders[order.before].append(order)
                self.orders[order.after].append(order)
        # by job and first day: numbers of limits, and what is taken of them
        self.takes: dict[str, dict[int, list[tuple[int, int]]]] = {
            job_id: defaultdict(list) for job_id in choices
        }
        self.rooms: list[int] = []
        self.left: list[int] = []
        self.plan: Plan = {}
        for limit in search.limits:
            self.add(limit)
        self.put(search.plan)

    def put(self, plan: Plan) -> None:
        """Take another plan."""
        self.plan = dict(plan)
        self.left = list(self.rooms)
        for job_id, p in self.plan.items():
            for n, amount in self.takes[job_id].get(p.first, ()):
                self.left[n] -= amount

    def add(self, limit: Limit) -> None:
        """One limit more, which the plan keeps."""
        number = len(self.rooms)
        self.rooms.append(limit.room)
        self.left.append(limit.room)
        for job_id, k, amount in limit.uses:
            first = self.search.choices[job_id][k].first
            self.takes[job_id][first].append((number, amount))
            if job_id in self.plan and self.plan[job_id].first == first:
                self.left[number] -= amount

    def learn(self, short: Shortfall) -> None:
        """A limit that teams without names have shown."""
        search = self.search
        there = self.there[short.day]
        self.add(people_limit(search.problem, there, search.crew, short.day, short.people))


class Piece:
    """The model of some jobs.

    Args:
        whole: the plan that they are part of.
        free: ids of the jobs.

    Attributes:
        plan: the plan with the piece as good as it was found; its own before ``solve``.
    """

    def __init__(self, whole: Whole, free: Iterable[str]) -> None:
        self.whole, self.search, self.plan = whole, whole.search, whole.plan
        self.free = set(free)
        self.choices: Choices = {j: self._beside(j) for j in whole.choices if j in self.free}
        self.model = Model()
        self.stands = add_jobs(self.model, self.choices, all_in=True)
        add_orders(self.model, self.search.problem, self.choices, self.stands, self.search.crew)
        self._add_limits()
        outside = {j: p for j, p in self.plan.items() if j not in self.free}
        standing = heavy_days(self.search.problem, outside)
        self.heavy = add_rest(self.model, self.search.problem, self.choices, self.stands, standing)

    def _beside(self, job_id: str) -> list[Placement]:
        """Placements that keep the order to everything that stands."""
        kept, plan = self.whole.choices[job_id], self.plan
        for order in self.whole.orders[job_id]:
            if order.after == job_id and order.before not in self.free:
                kept = [p for p in kept if self._keeps(order, plan[order.before], p)]
            if order.before == job_id and order.after not in self.free:
                kept = [p for p in kept if self._keeps(order, p, plan[order.after])]
        return kept

    def _keeps(self, order: Order, before: Placement, after: Placement) -> bool:
        return keeps(self.search.problem, self.search.crew, order, before, after)

    def _add_limits(self) -> None:
        """What is left of each limit by all that stands, where the piece could break it."""
        room: dict[int, int] = {}
        uses: dict[int, list[tuple[int, int]]] = defaultdict(list)
        most: dict[int, int] = defaultdict(int)
        for job_id, ps in self.choices.items():
            takes = self.whole.takes[job_id]
            for n, amount in takes.get(self.plan[job_id].first, ()):
                room[n] = room.get(n, self.whole.left[n]) + amount
            own: dict[int, int] = {}
            for p, literal in zip(ps, self.stands[job_id].at, strict=True):
                for n, amount in takes.get(p.first, ()):
                    uses[n].append((literal, amount))
                    own[n] = max(own.get(n, 0), amount)
            for n, amount in own.items():
                most[n] += amount
        for n, pairs in uses.items():
            left = room.get(n, self.whole.left[n])
            if most[n] > left:
                self.model.row([lit for lit, _ in pairs], [a for _, a in pairs], 0, left)

    def solve(self, effort: float) -> float:
        """Look for a better plan; return the effort."""
        variables: list[int] = []
        factors: list[int] = []
        for job_id, ps in self.choices.items():
            paid = self.whole.paid[job_id]
            variables += self.stands[job_id].at
            factors += [paid[p.first] for p in ps]
        self.model.minimise(variables, factors)
        self.model.hint(self._values())
        outcome = self.model.solve(effort)
        if outcome.values:
            self._take(outcome.values)
        return outcome.effort + OVERHEAD

    def _values(self) -> list[int]:
        values = [0] * len(self.model.proto.variables)
        for job_id, stand in self.stands.items():
            firsts = [p.first for p in self.choices[job_id]]
            stand.put(firsts.index(self.plan[job_id].first), values)
        own = {job_id: self.plan[job_id] for job_id in self.stands}
        for day in heavy_days(self.search.problem, own) & self.heavy.keys():
            values[self.heavy[day]] = 1
        return values

    def _take(self, values: Sequence[int]) -> None:
        plan, moved = dict(self.plan), set[int]()
        for job_id, ps in self.choices.items():
            k = self.stands[job_id].read(values)
            assert k is not None, "all jobs of a piece are placed"
            chosen = ps[k]
            if chosen.first != plan[job_id].first:
                moved |= {*chosen.days, *plan[job_id].days}
                plan[job_id] = chosen
        shorts = [s for day in sorted(moved) if (s := self._short(day, plan)) is not None]
        for short in shorts:
            self.whole.learn(short)
        if not shorts:
            self.plan = plan

    def _short(self, day: int, plan: Plan) -> Shortfall | None:
        there = {j: p for j, p in plan.items() if day in p.days}
        return shortfall_on(day, teams_on(day, self.search.problem.by_id, there), self.search.crew)
