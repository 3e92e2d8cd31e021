"""The answer: which days, whose hours, what is left out, and how good it is proven to be."""

from dataclasses import dataclass
from typing import Literal, NamedTuple, TypeAlias

Proof: TypeAlias = Literal["proven", "gap", "stopped"]


@dataclass(frozen=True, slots=True)
class Stint:
    """The days of one step."""

    step_id: str  # the step
    days: tuple[int, ...]  # day numbers on which it is worked on, ascending; days off lie between
    hours: tuple[float, ...]  # person-hours on each of them
    elapsed_h: tuple[float, ...]  # hours by the clock on each of them
    people: tuple[tuple[str, ...], ...]  # names on each of them, sorted
    each_h: tuple[tuple[float, ...], ...]  # hours of each of those people, in the same order

    @property
    def first(self) -> int:
        """Day number on which it begins."""
        return self.days[0]

    @property
    def last(self) -> int:
        """Day number on which it ends."""
        return self.days[-1]


@dataclass(frozen=True, slots=True)
class Wait:
    """A day inside a visit on which nothing of it is worked on."""

    day: int  # day number
    step_id: str  # the step that waits
    # ``nobody`` works, ``kit-away``: kit does not come, ``closed`` by a rule, ``team``: too few
    # people with the skill, ``rests``: heavy work rests, ``short``: too little of the day is left
    why: str


@dataclass(frozen=True, slots=True)
class VisitDays:
    """The days of one visit."""

    visit_id: str  # the visit
    first: int  # day number on which it begins
    last: int  # day number on which it ends
    span_days: int  # calendar days from its first day, or that of the log, to its last
    # fewest calendar days in which this crew could do it alone, on any of the days that the rules
    # open
    least_span_days: int
    waits: tuple[Wait, ...]  # its days without work, ascending


AimName: TypeAlias = Literal[
    "fit",  # visits of one importance that are left out
    "moved",  # published visits that moved
    "frost",  # sum of chances of damage
    "open_days",  # calendar days that visits lie open
    "shift_days",  # days that published visits moved
    "preferences",  # points short of the best days
    "waiting_days",  # days from each visit's earliest conceivable end to its end
    "hire_and_waiting",  # the same, and what the blocks of hired kit are worth in days of waiting
]


class Aim(NamedTuple):
    """What a plan is made for; less is better of every one."""

    name: AimName
    importance: int = 0  # of the visits that are to fit; 0 for all other aims


@dataclass(frozen=True, slots=True)
class Stage:
    """One of the aims, in their strict order."""

    aim: Aim
    value: float  # what the plan has
    bound: float  # no plan that is as good in all earlier stages has less

    @property
    def gap(self) -> float:
        """Distance between plan and bound, as a share of the plan's value; 0 is proven."""
        slack = self.value - self.bound
        return 0.0 if slack <= 1e-9 else slack / max(abs(self.value), 1.0)


@dataclass(frozen=True, slots=True)
class Preference:
    """What became of the preferred days of one visit."""

    visit_id: str  # the visit
    points: float  # person-hours times the points of the days they stand on
    points_best: float  # the most that any of its blocks would have given

    @property
    def met(self) -> bool:
        """Whether it stands on days as preferred as any it has."""
        return self.points >= self.points_best - 1e-9


@dataclass(frozen=True, slots=True)
class HireUse:
    """One block of days of a kit."""

    kit_id: str  # the kit
    # day numbers on which it is used; days on which it cannot come may lie between
    days: tuple[int, ...]
    cost: float  # of these days, each paid once, in the grower's money


@dataclass(frozen=True, slots=True)
class Roster:
    """Work on the crew's days."""

    visits: tuple[VisitDays, ...]  # the days of each visit that fits, by visit id
    stints: tuple[Stint, ...]  # one for each of its steps, by step id
    left_out: tuple[str, ...]  # ids of visits that do not fit, sorted
    # orders that run in a circle, as step ids; their visits are left out
    circles: tuple[tuple[str, ...], ...]
    # ``proven`` where no better plan exists, ``gap`` where the effort ended first, ``stopped``
    # where somebody stopped the search
    proof: Proof
    stages: tuple[Stage, ...]  # the aims in their order, with value and bound
    preferences: tuple[Preference, ...]  # every visit that has preferred days, by visit id
    hires: tuple[HireUse, ...]  # blocks of days of all kit, by kit and day
    effort: float  # deterministic effort spent, in the solver's own unit (near seconds)

    @property
    def gap(self) -> float:
        """The widest gap of all aims, as a share.

        0 where all is proven; 1 where no bound is known that says anything.
        """
        return min(max((stage.gap for stage in self.stages), default=0.0), 1.0)

    def stage(self, name: AimName, importance: int = 0) -> Stage:
        """The stage of that aim.

        Raises:
            KeyError: the problem gave no reason for it.
        """
        return {stage.aim: stage for stage in self.stages}[Aim(name, importance)]
