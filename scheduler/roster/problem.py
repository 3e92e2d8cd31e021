"""The work, the order it is done in, the people and the kit, as the roster takes them.

A visit is what is placed: one plot's campaign of ordered steps, worked in one go, or a single
piece of work. Either all its steps have their days, or none has.
"""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from scheduler.terms import Season, frozen

HANDS = "hands"  # the skill that every worker has

Days: TypeAlias = NDArray[np.bool_]
Amounts: TypeAlias = NDArray[np.float64]
Counts: TypeAlias = NDArray[np.int64]
Packed: TypeAlias = dict[Hashable, list[Any]]  # blocks, by all that they depend on
TeamKey: TypeAlias = tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Step:
    """One piece of work on one plot."""

    id: str  # unique, such as ``<plot>.<task type>``
    # steps of one plot follow one another on the same ground, so their elapsed hours add up within
    # a day; an empty name ties the step to no ground
    plot: str
    work_h: float  # person-hours, > 0
    team: Mapping[str, int]  # smallest useful team, people by skill; at least one
    team_max: int  # largest useful team, people; those above the smallest need only ``hands``
    open: Days  # (n_days,) days on which it may be worked on
    # (n_days,) how much an hour of it on such a day counts among preferred ones; 0 where nothing
    # is preferred
    points: Amounts
    risk: Amounts  # (n_days,) chance of frost damage if it is done there, 0 to 1
    # units of kit held on each day on which the step is worked on
    uses: Mapping[str, int] = field(default_factory=dict)
    # the grower's own day number: it begins there whatever ``open`` says
    fixed_first: int | None = None
    heavy: bool = False  # whether a day on which it is worked on wears the crew out

    def __post_init__(self) -> None:
        for array in (self.open, self.points, self.risk):
            frozen(array)

    @property
    def n_people(self) -> int:
        """People in the smallest useful team."""
        return sum(self.team.values())

    @cached_property
    def team_key(self) -> TeamKey:
        """What steps with the same demands on a team share."""
        return (*sorted(self.team.items()), ("", self.team_max))

    @cached_property
    def mark(self) -> Hashable:
        """What decides on which days it can be worked on, and for how long."""
        uses = tuple(sorted(self.uses.items()))
        window = (self.open.tobytes(), self.fixed_first)
        return (self.id, self.plot, self.work_h, self.team_key, uses, self.heavy, *window)

    @cached_property
    def workable(self) -> Days:
        """(n_days,) days that its own window, or the grower's own day, allows."""
        if self.fixed_first is None:
            return self.open
        return np.arange(len(self.open)) >= self.fixed_first


@dataclass(frozen=True)
class Visit:
    """Steps that are worked in one go."""

    id: str  # unique, such as ``<plot>.<kind of visit>``; of a single step the step's own
    steps: tuple[Step, ...]  # in the order of work; at least one
    importance: int = 5  # 1 to 9; what does not fit is left out from the least important
    # day number for which it was published; kept unless a rule forces a move
    published_first: int | None = None
    hurry: int = 1  # how much a day of its waiting counts beside those of others, >= 0
    lies_open: bool = False  # whether the days from its first step to its last are to be few
    begun: int | None = None  # day number on which the log has it begun; None where it is not
    # most days from one day of its work to the next, >= 1; None sets no limit
    pause_days: int | None = None

    @cached_property
    def mark(self) -> Hashable:
        """What of it decides on its blocks."""
        return (self.id, self.pause_days, *(step.mark for step in self.steps))


@dataclass(frozen=True, slots=True)
class Order:
    """``after`` begins once ``before`` has ended."""

    before: str  # step id
    after: str  # step id
    # days from the last day of ``before`` to the first of ``after``, >= 0; 0 allows the same day,
    # on the same ground only
    min_days: int = 0
    within_days: int | None = None  # the same span at most; None sets no limit


@dataclass(frozen=True)
class Worker:
    """One person."""

    name: str  # unique
    skills: frozenset[str]  # what this person can do; ``hands`` goes without saying
    hours: Amounts  # (n_days,) productive hours; 0 is a day off

    def __post_init__(self) -> None:
        frozen(self.hours)

    def can(self, skill: str) -> bool:
        """Whether this person can fill a place of that skill."""
        return skill == HANDS or skill in self.skills


@dataclass(frozen=True)
class Kit:
    """A machine, or a hired service, of which some units can be had each day."""

    id: str  # unique
    # (n_days,) units to be had; within a day one unit goes from step to step, so what is short is
    # its time
    units: Counts
    # price of a day, in the grower's money, paid once however many steps use it
    cost_day: float = 0.0
    block_days: float = 0.0  # days of waiting that one block of days less is worth, >= 0
    # (n_days,) what all units together give in a day; left out, the whole of it
    minutes: Counts | None = None
    own: bool = False  # whether it is the crew's, and nothing that is hired

    def __post_init__(self) -> None:
        frozen(self.units)
        if self.minutes is not None:
            frozen(self.minutes)

    @cached_property
    def mark(self) -> Hashable:
        """What of it decides on the blocks of who uses it."""
        return (self.id, self.units.tobytes(), self.minutes is not None and self.minutes.tobytes())


@dataclass(frozen=True)
class Problem:
    """Everything the roster is made from, in canonical order: by id, by name."""

    season: Season  # the civil days that all arrays speak of
    visits: tuple[Visit, ...]  # sorted by id on entry
    orders: tuple[Order, ...] = ()  # sorted on entry
    workers: tuple[Worker, ...] = ()  # sorted by name on entry
    kits: tuple[Kit, ...] = ()  # sorted by id on entry
    # days following one another that may be heavy, >= 1: of any one more, one at least has no
    # heavy step; None sets no cap
    heavy_in_row: int | None = None
    # day numbers that have been heavy already, below 0 before the season
    heavy_worked: frozenset[int] = frozenset()
    # blocks that were packed, for this problem and all that are made from it by ``replace``
    packed: Packed = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self) -> None:
        put = object.__setattr__  # frozen, but the order of entry must not matter
        put(self, "visits", tuple(sorted(self.visits, key=lambda visit: visit.id)))
        orders = sorted(set(self.orders), key=lambda o: (o.before, o.after, o.min_days, str(o)))
        put(self, "orders", tuple(orders))
        put(self, "workers", tuple(sorted(self.workers, key=lambda worker: worker.name)))
        put(self, "kits", tuple(sorted(self.kits, key=lambda kit: kit.id)))

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """The steps of all visits."""
        return tuple(step for visit in self.visits for step in visit.steps)

    @cached_property
    def by_id(self) -> dict[str, Step]:
        """Steps by id."""
        return {step.id: step for step in self.steps}

    @cached_property
    def visit_by_id(self) -> dict[str, Visit]:
        """Visits by id."""
        return {visit.id: visit for visit in self.visits}

    @cached_property
    def visit_of(self) -> dict[str, Visit]:
        """The visit of each step, by step id."""
        return {step.id: visit for visit in self.visits for step in visit.steps}

    @cached_property
    def ties(self) -> dict[tuple[str, str], list[Order]]:
        """The orders between the steps of two visits, or of one, by visit ids."""
        found: dict[tuple[str, str], list[Order]] = {}
        for order in self.orders:
            pair = (self.visit_of[order.before].id, self.visit_of[order.after].id)
            found.setdefault(pair, []).append(order)
        return found

    @cached_property
    def ties_of(self) -> dict[str, list[tuple[str, str, list[Order]]]]:
        """By visit id, its ties to other visits: who comes before, who after, and their orders."""
        found: dict[str, list[tuple[str, str, list[Order]]]] = {}
        for (one, other), orders in self.ties.items():
            for visit_id in (one, other) if one != other else ():
                found.setdefault(visit_id, []).append((one, other, orders))
        return found

    @cached_property
    def kit_days(self) -> dict[str, tuple[int, ...]]:
        """By kit, the days on which it can come and somebody works; others part no block."""
        works = np.zeros(self.season.n_days, dtype=bool)
        for worker in self.workers:
            works |= worker.hours > 0
        days = {kit.id: (kit.units > 0) & works for kit in self.kits}
        return {kit_id: tuple(np.flatnonzero(there).tolist()) for kit_id, there in days.items()}
