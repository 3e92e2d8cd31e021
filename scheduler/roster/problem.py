"""The work, the order it stands in, the people and the kit, as the roster takes them."""

from collections.abc import Iterable, Mapping
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


@dataclass(frozen=True)
class Job:
    """One piece of work on one plot.

    Args:
        id: unique, such as ``<plot>.<task type>``.
        plot: jobs of one plot follow one another on the same ground, so their elapsed hours
            add up within a day; an empty name ties the job to no ground.
        work_h: person-hours, > 0; not read where ``n_days`` is given.
        team: smallest useful team, people by skill; may be empty only with ``n_days``.
        team_max: largest useful team, people; those above the smallest need only ``hands``.
        uses: units of kit held on each day on which the job is worked on.
        open: (n_days,) days on which it may stand.
        points: (n_days,) how much such a day counts among preferred ones; 0 where nothing is
            preferred.
        risk: (n_days,) chance of frost damage if it stands there, 0 to 1.
        importance: 1 to 9; what does not fit is left out from the least important.
        fixed_first: the grower's own day number: it begins there whatever ``open`` says.
        published_first: day number for which it was published; kept unless a rule forces
            a move, or the rest of heavy work lets a later begin end sooner.
        hurry: how much a day of its waiting counts beside those of others, >= 0.
        n_days: fixed duration in days instead of ``work_h``, >= 1; a team, if any, then gives
            whole days.
        heavy: whether a day on which it is worked on wears the crew out.
    """

    id: str
    plot: str
    work_h: float
    team: Mapping[str, int]
    team_max: int
    open: Days
    points: Amounts
    risk: Amounts
    uses: Mapping[str, int] = field(default_factory=dict)
    importance: int = 5
    fixed_first: int | None = None
    published_first: int | None = None
    hurry: int = 1
    n_days: int | None = None
    heavy: bool = False

    def __post_init__(self) -> None:
        for array in (self.open, self.points, self.risk):
            frozen(array)
        if self.n_days is None and not (self.work_h > 0 and self.n_people >= 1):
            raise ValueError(f"job {self.id} needs hours and a team, or a number of days")
        if self.n_days is not None and self.n_days < 1:
            raise ValueError(f"job {self.id} lasts {self.n_days} days; at least 1")

    @property
    def n_people(self) -> int:
        """People in the smallest useful team."""
        return sum(self.team.values())


@dataclass(frozen=True, slots=True, order=True)
class Order:
    """``after`` begins once ``before`` has ended.

    Args:
        before: job id.
        after: job id.
        min_days: days from the last day of ``before`` to the first of ``after``, >= 0;
            0 allows the same day where the hours of both fit into it.
        within_days: the same span at most; None sets no limit.
    """

    before: str
    after: str
    min_days: int = 0
    within_days: int | None = None


@dataclass(frozen=True)
class Worker:
    """One person.

    Args:
        name: unique.
        skills: what this person can do; ``hands`` goes without saying.
        hours: (n_days,) productive hours; 0 is a day off.
    """

    name: str
    skills: frozenset[str]
    hours: Amounts

    def __post_init__(self) -> None:
        frozen(self.hours)

    def can(self, skill: str) -> bool:
        """Whether this person can fill a place of that skill."""
        return skill == HANDS or skill in self.skills


@dataclass(frozen=True)
class Kit:
    """A machine, or a hired service, of which some units can be had each day.

    Args:
        id: unique.
        units: (n_days,) units to be had; within a day one unit goes from job to job, so what
            is short is its time.
        cost_day: price of a day, in the grower's money, paid once however many jobs use it.
        block_days: days of waiting that one block of days less is worth; None gathers its days
            into as few blocks as can be, before preferences and early finish.
    """

    id: str
    units: Counts
    cost_day: float = 0.0
    block_days: float | None = 0.0

    def __post_init__(self) -> None:
        frozen(self.units)

    @property
    def gathered(self) -> bool:
        """Whether fewer blocks of its days are better."""
        return self.block_days is None or self.block_days > 0


@dataclass(frozen=True)
class Problem:
    """Everything the roster is made from, in canonical order: by id, by name.

    Args:
        season: the civil days that all arrays speak of.
        jobs: sorted by id on entry.
        orders: sorted on entry.
        workers: sorted by name on entry.
        kits: sorted by id on entry.
        heavy_in_row: days following one another that may be heavy, >= 1: of any one more, one
            at least has no heavy job; None sets no cap.
        heavy_worked: day numbers that have been heavy already, below 0 before the season.

    Raises:
        ValueError: two things share an id, an order or a use names something unknown, an
            array is not of shape (n_days,), or the cap is below 1.
    """

    season: Season
    jobs: tuple[Job, ...]
    orders: tuple[Order, ...] = ()
    workers: tuple[Worker, ...] = ()
    kits: tuple[Kit, ...] = ()
    heavy_in_row: int | None = None
    heavy_worked: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        put = object.__setattr__  # frozen, but the order of entry must not matter
        put(self, "jobs", tuple(sorted(self.jobs, key=lambda job: job.id)))
        put(self, "orders", tuple(sorted(set(self.orders), key=_order_key)))
        put(self, "workers", tuple(sorted(self.workers, key=lambda worker: worker.name)))
        put(self, "kits", tuple(sorted(self.kits, key=lambda kit: kit.id)))
        self._check_names()
        self._check_shapes()
        if self.heavy_in_row is not None and self.heavy_in_row < 1:
            raise ValueError(f"{self.heavy_in_row} heavy days in a row; at least 1")

    def _check_names(self) -> None:
        _unique("job", (job.id for job in self.jobs))
        _unique("worker", (worker.name for worker in self.workers))
        _unique("kit", (kit.id for kit in self.kits))
        known = {job.id for job in self.jobs}
        for order in self.orders:
            for end in (order.before, order.after):
                if end not in known:
                    raise ValueError(f"an order names the job {end!r}, which does not exist")
        kits = {kit.id for kit in self.kits}
        for job in self.jobs:
            for used in sorted(set(job.uses) - kits):
                raise ValueError(f"job {job.id} uses the kit {used!r}, which does not exist")

    def _check_shapes(self) -> None:
        shape = (self.season.n_days,)
        named: list[tuple[str, NDArray[Any]]] = [(w.name, w.hours) for w in self.workers]
        named += [(kit.id, kit.units) for kit in self.kits]
        for job in self.jobs:
            named += [(job.id, job.open), (job.id, job.points), (job.id, job.risk)]
        for name, array in named:
            if array.shape != shape:
                raise ValueError(f"{name}: shape {array.shape}, not {shape}")

    @cached_property
    def by_id(self) -> dict[str, Job]:
        """Jobs by id."""
        return {job.id: job for job in self.jobs}

    @cached_property
    def kit_days(self) -> dict[str, tuple[int, ...]]:
        """By kit, the days on which it can come and somebody works; others part no block."""
        works = np.zeros(self.season.n_days, dtype=bool)
        for worker in self.workers:
            works |= worker.hours > 0
        alone = {kit for job in self.jobs if not job.team for kit in job.uses}
        days = {kit.id: (kit.units > 0) & (works | (kit.id in alone)) for kit in self.kits}
        return {kit_id: tuple(np.flatnonzero(there).tolist()) for kit_id, there in days.items()}


def _order_key(order: Order) -> tuple[str, str, int, int]:
    within = -1 if order.within_days is None else order.within_days
    return (order.before, order.after, order.min_days, within)


def _unique(kind: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise ValueError(f"two {kind}s share the name {name!r}")
        seen.add(name)
