"""The rows of the model, one function for each rule of the problem.

One yes/no for each block. Beside them a ladder for each visit: its k-th rung says that the visit
stands at its k-th block or an earlier one, so that the last rung says that it is placed at all.
No step of a later block stands earlier, so every order of work is an implication between two
rungs. A limit says that what the blocks standing on a day take together of its people, kit or
ground is at most ``room``; where all visits could come at once, none is made.

Decided: a cap on heavy days is a hard rule, with rest inside a block. Refused: later begins that
end earlier, because ladder and order rely on there being none.
Held by tests/roster/test_rest.py::test_later_begins_never_end_earlier_and_no_row_is_too_long.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import TypeAlias

from scheduler.roster.aims import BY_BLOCK, Costs, block_price, hired
from scheduler.roster.engine import Model
from scheduler.roster.names import Shortfall
from scheduler.roster.order import Choices, tied
from scheduler.roster.placements import Block
from scheduler.roster.problem import Kit, Problem
from scheduler.roster.result import Aim
from scheduler.roster.teams import CrewTeams, Means

Entry: TypeAlias = tuple[str, int, Block]  # visit, its k-th block, which stands on the day
Use: TypeAlias = tuple[str, int, int]  # visit, its k-th block, amount
BELOW_ALL = -(10**15)


@dataclass(frozen=True, slots=True)
class Limit:
    """What can be taken on one day."""

    uses: tuple[Use, ...]  # what each block takes of it: visit id, number of the block, amount
    room: int  # the sum at most

    @property
    def idle(self) -> bool:
        """Whether it holds whatever is placed."""
        most: dict[str, int] = {}
        for visit_id, _, amount in self.uses:
            most[visit_id] = max(amount, most.get(visit_id, 0))
        return sum(most.values()) <= self.room


def limits_of(choices: Choices, crew: CrewTeams) -> list[Limit]:
    """Every limit that could be broken, by day; of limits on the same uses the tightest."""
    least: dict[tuple[Use, ...], Limit] = {}
    for day, there in sorted(on_days(choices).items()):
        people = (people_limit(there, crew, day, group) for group in crew.sets_on(day))
        for limit in (*people, *_means_limits(there, crew, day)):
            same = least.get(limit.uses, limit)
            if not limit.idle and limit.room <= same.room:
                least[limit.uses] = limit
    return list(least.values())


def on_days(choices: Choices) -> dict[int, list[Entry]]:
    """For each day, the blocks that may stand there."""
    by_day: dict[int, list[Entry]] = defaultdict(list)
    for visit_id, blocks in choices.items():
        for k, block in enumerate(blocks):
            for day in block.days:
                by_day[day].append((visit_id, k, block))
    return by_day


def people_limit(
    there: Sequence[Entry], crew: CrewTeams, day: int, people: frozenset[str]
) -> Limit:
    """A set of people gives no more than its minutes.

    Each step asks of them what its places need beyond everybody else, who can give it no more
    than its elapsed time: the cuts of the flow in ``names``, which for a set of people who share
    skills is Hall's condition.
    """
    uses = []
    for visit_id, k, block in there:
        amount = sum(
            crew.asked(day, people, step, size) * minutes
            for step, size, minutes, _ in block.on[day]
        )
        if amount:
            uses.append((visit_id, k, amount))
    return Limit(tuple(uses), crew.minutes_of(day, people))


def _means_limits(there: Sequence[Entry], crew: CrewTeams, day: int) -> Iterator[Limit]:
    """Kit and ground go from step to step within a day: their minutes are what is short."""
    uses: dict[Means, list[Use]] = defaultdict(list)
    for visit_id, k, block in there:
        for means, minutes in block.takes[day].items():
            uses[means].append((visit_id, k, minutes))
    for means in sorted(uses):
        yield Limit(tuple(uses[means]), crew.room(means, day))


@dataclass(frozen=True, slots=True)
class Terms:
    """A sum over the variables of the model."""

    variables: list[int]  # their numbers
    factors: list[int]  # one for each
    constant: int = 0  # added to the sum

    def value(self, values: Sequence[int]) -> int:
        """What it comes to, by the value of every variable."""
        pairs = zip(self.variables, self.factors, strict=True)
        return self.constant + sum(factor * values[variable] for variable, factor in pairs)


@dataclass(frozen=True, slots=True)
class _Stand:
    """The variables of one visit: a literal and a rung for each of its blocks."""

    at: list[int]
    by: list[int]


@dataclass(frozen=True, slots=True)
class _Hire:
    """The variables of one hired kit, one of each for every day on which somebody may want it."""

    kit: Kit  # the kit
    days: Sequence[int]  # day numbers; days on which it cannot come are not among them
    here: list[int]  # literals that it is used on the day
    begins: list[int]  # literals that a block of use begins on the day

    def on(self, plan: Mapping[str, Block]) -> Iterator[int]:
        """The literals that hold in a plan."""
        wanted = {day for block in plan.values() for day in block.kit_days(self.kit.id)}
        going = False
        for day, here, begins in zip(self.days, self.here, self.begins, strict=True):
            if day in wanted:
                yield from (here,) if going else (here, begins)
            going = day in wanted


class PlanModel:
    """Every plan for some visits, as the solver takes it; each visit has one choice at least.

    ``all_in`` says whether every one of them is placed.
    """

    def __init__(
        self, problem: Problem, crew: CrewTeams, choices: Choices, *, all_in: bool
    ) -> None:
        self.problem, self.crew, self.choices = problem, crew, choices
        self.number = {v: {b.first: k for k, b in enumerate(bs)} for v, bs in choices.items()}
        self.model = Model()
        self.stands = {v: self._stand(len(blocks), all_in) for v, blocks in choices.items()}
        self._add_orders()
        for limit in limits_of(choices, crew):
            self._add_limit(limit)
        self.heavy = self._add_rest()
        hires = (self._hire(kit) for kit in hired(problem))
        self.hires = [hire for hire in hires if hire.days]

    def _stand(self, n: int, all_in: bool) -> _Stand:  # noqa: FBT001  # private
        model = self.model
        at = [model.flag() for _ in range(n)]
        by = [model.flag() for _ in range(n)]
        model.row([by[0], at[0]], [1, -1], 0, 0)
        for k in range(1, n):
            model.row([by[k], by[k - 1], at[k]], [1, -1, -1], 0, 0)
        if all_in:
            model.any_of([by[-1]])
        model.one_of([*at, model.no(by[-1])])
        return _Stand(at, by)

    def _add_orders(self) -> None:
        """What comes after begins in time, not too late, and only if what it follows is placed."""
        for one, other in tied(self.problem, self.choices):
            for order in self.problem.ties[one, other]:
                ends = [block.by_step[order.before].last for block in self.choices[one]]
                begins = [block.by_step[order.after].first for block in self.choices[other]]
                before, after = self.stands[one].by, self.stands[other].by
                self._not_before([first - order.min_days for first in begins], after, ends, before)
                if order.within_days is not None:
                    latest = [last + order.within_days for last in ends]
                    self._not_long_after(latest, before, begins, after)

    def _not_before(
        self, needed: list[int], after: list[int], ends: list[int], before: list[int]
    ) -> None:
        # for each rung before, the last rung after that asks for it
        rungs = {bisect_right(ends, day) - 1: q for q, day in enumerate(needed)}
        for k, q in rungs.items():
            placed = [before[k]] if k >= 0 else []
            self.model.any_of([self.model.no(after[q]), *placed])

    def _not_long_after(
        self, latest: list[int], before: list[int], begins: list[int], after: list[int]
    ) -> None:
        no = self.model.no
        rungs = {bisect_right(begins, day) - 1: k for k, day in enumerate(latest)}
        for q, k in rungs.items():
            if q < len(begins) - 1:
                in_time = [after[q]] if q >= 0 else []
                self.model.any_of([no(before[k]), no(after[-1]), *in_time])

    def _add_limit(self, limit: Limit) -> None:
        """No day gives more than it has."""
        literals = [self.stands[visit_id].at[k] for visit_id, k, _ in limit.uses]
        self.model.row(literals, [amount for _, _, amount in limit.uses], 0, limit.room)

    def forbid(self, short: Shortfall) -> None:
        """Add the limit that the teams of a day broke."""
        there = on_days(self.choices).get(short.day, [])
        self._add_limit(people_limit(there, self.crew, short.day, short.people))

    def _add_rest(self) -> dict[int, int]:
        """Rest from heavy work: of so many days following one another, one at least is light.

        A day is heavy where any heavy step is worked on, anywhere on the holding; a visit alone
        rests by its blocks, so only rows that could grow too long are made.

        Returns:
            For each day that such a row speaks of, the literal that it is heavy.
        """
        if self.problem.heavy_in_row is None:
            return {}
        model = self.model
        users: dict[int, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
        for visit_id, blocks in self.choices.items():
            for literal, block in zip(self.stands[visit_id].at, blocks, strict=True):
                for day in block.heavy_days:
                    users[day][visit_id].append(literal)
        rows = self._rows_too_long(users)
        heavy = {day: model.flag() for day in sorted({day for days in rows for day in days})}
        for day, flag in heavy.items():
            for literals in users[day].values():
                model.row([*literals, flag], [1] * len(literals) + [-1], -1, 0)
            # not needed, but the proof is a fifth shorter with it (measured on four seasons)
            model.any_of([model.no(flag), *chain(*users[day].values())])
        for days in rows:
            model.any_of([model.no(heavy[day]) for day in days])
        return heavy

    def _rows_too_long(self, users: Mapping[int, Collection[str]]) -> list[list[int]]:
        """The days, not heavy already, of each row of heavy days that could grow too long.

        ``users`` names the visits that may be heavy, by day.
        """
        length, rows = (self.problem.heavy_in_row or 0) + 1, []
        for first in sorted({day - back for day in users for back in range(length)}):
            days = sorted({*range(first, first + length)} - self.problem.heavy_worked)
            if days and users.keys() >= {*days}:
                visits = set(chain(*(users[day] for day in days)))
                if len(visits) > 1 or len(days) < length:
                    rows.append(days)
        return rows

    def _hire(self, kit: Kit) -> _Hire:
        """The blocks of days of a hired kit, counted as ``blocks_of`` does of a plan.

        A block begins where some visit begins to use the kit and no visit has it on the day
        before. Only the first days of a visit's own uses can begin one, so the relaxation is not
        empty: a little use on every day is no way round it.
        """
        model, days = self.model, self.problem.kit_days[kit.id]
        rank = {day: n for n, day in enumerate(days)}
        wanted: dict[int, list[int]] = defaultdict(list)  # literals of the blocks that use it
        opening: dict[int, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
        for visit_id, blocks in self.choices.items():
            for literal, block in zip(self.stands[visit_id].at, blocks, strict=True):
                used = {rank[day] for day in block.kit_days(kit.id)}
                for n in used:
                    wanted[n].append(literal)
                    if n - 1 not in used:
                        opening[n][visit_id].append(literal)
        ranks = range(min(wanted, default=0), max(wanted, default=-1) + 1)
        here = {n: model.flag() for n in ranks}
        begins = {n: model.flag() for n in ranks}
        before: list[int] = []
        for n in ranks:
            model.any_of([model.no(here[n]), *wanted[n]])
            for literal in wanted[n]:
                model.any_of([model.no(literal), here[n]])
            for literals in opening[n].values():
                terms = [*literals, begins[n], *before]
                factors = [1] * len(literals) + [-1] * (1 + len(before))
                model.row(terms, factors, -len(terms), 0)
            before = [here[n]]
        shown = days[ranks.start : ranks.stop]
        return _Hire(kit, shown, list(here.values()), list(begins.values()))

    def terms(self, aim: Aim, costs: Costs) -> Terms:
        """What a plan has of an aim; visits without any block count as left out."""
        if aim.name == "fit":
            of_level = [v.id for v in self.problem.visits if v.importance == aim.importance]
            placed = [self.stands[v].by[-1] for v in of_level if v in self.stands]
            return Terms(placed, [-1] * len(placed), len(of_level))
        variables, factors = [], []
        for visit_id, blocks in self.choices.items():
            for block, literal in zip(blocks, self.stands[visit_id].at, strict=True):
                if amount := getattr(costs[visit_id][block.first], BY_BLOCK[aim.name]):
                    variables.append(literal)
                    factors.append(amount)
        for hire in self.hires if aim.name == "hire_and_waiting" else ():
            variables += hire.begins
            factors += [block_price(hire.kit)] * len(hire.begins)
        return Terms(variables, factors)

    def hold(self, terms: Terms, value: int) -> None:
        """Allow no more of an aim from now on."""
        if terms.variables:
            most = value - terms.constant
            self.model.row(terms.variables, terms.factors, BELOW_ALL, most)

    def settled(self, blocks: Iterable[Block]) -> list[int]:
        """The literals of some blocks."""
        return [self.stands[b.visit.id].at[self.number[b.visit.id][b.first]] for b in blocks]

    def values(self, plan: Mapping[str, Block]) -> list[int]:
        """A plan as values of all variables."""
        on = self.settled(plan.values())
        for visit_id, block in plan.items():
            on += self.stands[visit_id].by[self.number[visit_id][block.first] :]
        heavy = {day for block in plan.values() for day in block.heavy_days}
        on += [flag for day, flag in self.heavy.items() if day in heavy]
        for hire in self.hires:
            on += hire.on(plan)
        values = [0] * len(self.model.proto.variables)
        for literal in on:
            values[literal] = 1
        return values

    def plan_of(self, values: Sequence[int]) -> dict[str, Block]:
        """The plan that values of the variables stand for."""
        return {
            visit_id: block
            for visit_id, blocks in self.choices.items()
            for block, literal in zip(blocks, self.stands[visit_id].at, strict=True)
            if values[literal]
        }
