"""How many people a day gives a step, and for how long.

Hours are counted in whole minutes here: what people can give is rounded down, what work
asks is rounded up, so that a plan that fits in minutes fits in hours.
"""

from collections.abc import Iterable, Mapping
from functools import cached_property
from itertools import combinations
from math import ceil
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from scheduler.roster.problem import HANDS, Problem, Step, TeamKey

FEW = 4  # people on a day up to whom every set of them is asked about
Means: TypeAlias = tuple[Literal["kit", "plot"], str]  # kit id, or plot
_SLACK = 1e-6  # of a minute: hours that are whole minutes stay so in floating point


def minutes_up(minutes: float) -> int:
    """Minutes as whole minutes, rounded up."""
    return ceil(minutes - _SLACK)


def skill_groups(skills: Iterable[str]) -> tuple[frozenset[str], ...]:
    """Every non-empty set of skills without ``hands``, and the set of all with it.

    These are the sets over which Hall's condition is asked (Hall 1935, On representatives
    of subsets, Journal of the London Mathematical Society 10:26-30): whoever has a skill
    has hands as well, so a set with ``hands`` in it always speaks of everybody.
    """
    special = sorted(set(skills) - {HANDS})
    small = [frozenset(c) for n in range(len(special)) for c in combinations(special, n + 1)]
    return (*small, frozenset((*special, HANDS)))


def places(team: Mapping[str, int], people: int, group: frozenset[str]) -> int:
    """Places of a team of so many people that only workers of the group can fill."""
    if HANDS in group:
        return people
    return sum(count for skill, count in team.items() if skill in group)


def longest(minutes: NDArray[np.int64], wanted: int) -> int:
    """The longest time during which ``wanted`` places can be filled at once.

    The people may change places, but nobody fills two at once.

    Of the minutes that each person has, (n,), and places wanted, >= 1, it is the largest whole t
    with sum(min(minutes, t)) >= wanted * t.

    >>> longest(np.array([360, 180, 180]), 2), longest(np.array([360, 180]), 2)
    (360, 180)
    """
    if len(minutes) < wanted:
        return 0
    low = np.sort(minutes)
    sums = np.concatenate(([0], np.cumsum(low)))
    taken = np.arange(len(low) - wanted + 1, len(low) + 1)  # how many count in full
    return int(min(sums[taken] // (wanted - len(low) + taken)))


class CrewTeams:
    """The people of a problem, day by day; days with the same hours are computed once."""

    def __init__(self, problem: Problem) -> None:
        self.workers, self.kits = problem.workers, problem.kits
        self.n_days = problem.season.n_days
        hours = np.array([worker.hours for worker in self.workers]).reshape(-1, self.n_days)
        self.minutes = np.floor(hours * 60 + _SLACK).astype(np.int64)
        names = [worker.name for worker in problem.workers]
        self._by_name = dict(zip(names, self.minutes.tolist(), strict=True))
        self._here = [
            frozenset(name for name in names if self._by_name[name][day])
            for day in range(self.n_days)
        ]
        asked = {skill for step in problem.steps for skill in step.team}
        self.groups = skill_groups(asked)
        self.kinds, self.kind_of_day = self.minutes[:, :1], np.zeros(self.n_days, dtype=np.int64)
        if names:
            self.kinds, kind = np.unique(self.minutes, axis=1, return_inverse=True)
            self.kind_of_day = kind.reshape(-1)
        self._ladders: dict[TeamKey, list[list[tuple[int, int]]]] = {}
        self._sets: dict[frozenset[str], list[frozenset[str]]] = {}  # by who is there
        self._asked: dict[tuple[frozenset[str], TeamKey, int], int] = {}

    @cached_property
    def mark(self) -> bytes:
        """What the teams depend on: who can do what, for how long, and which skills are asked."""
        people = [(worker.name, sorted(worker.skills)) for worker in self.workers]
        return repr((people, sorted(map(sorted, self.groups)))).encode() + self.minutes.tobytes()

    def _able(self, group: frozenset[str]) -> frozenset[str]:
        """Names of those who can fill a place of the group."""
        return frozenset(w.name for w in self.workers if any(w.can(skill) for skill in group))

    def _members(self, group: frozenset[str]) -> NDArray[np.bool_]:
        """Who can fill a place of the group; (n_workers,)."""
        able = self._able(group)
        return np.array([worker.name in able for worker in self.workers], dtype=bool)

    @cached_property
    def capacity(self) -> dict[frozenset[str], NDArray[np.int64]]:
        """Minutes that the people of each group have; (n_days,)."""
        return {group: self.minutes[self._members(group)].sum(axis=0) for group in self.groups}

    @cached_property
    def longest_day(self) -> list[int]:
        """Minutes of the working day: that of the longest-working person, by day."""
        return [int(minutes) for minutes in self.minutes.max(axis=0, initial=0)]

    @cached_property
    def kit_minutes(self) -> dict[str, list[int]]:
        """Minutes that each kit gives, by day."""
        whole_day = np.maximum(self.longest_day, 1)  # so that kit is short without a crew too
        room = {kit.id: kit.units * whole_day for kit in self.kits}
        for kit in self.kits:
            if kit.minutes is not None:
                room[kit.id] = np.minimum(room[kit.id], kit.minutes)
        return {kit_id: minutes.tolist() for kit_id, minutes in room.items()}

    def room(self, means: Means, day: int) -> int:
        """Minutes that a day gives of a kit, or of the ground of a plot."""
        kind, name = means
        return self.kit_minutes[name][day] if kind == "kit" else self.longest_day[day]

    def ladders(self, step: Step) -> list[list[tuple[int, int]]]:
        """For each kind of day, the teams that can be had: (people, minutes), ascending."""
        key = step.team_key
        if key not in self._ladders:
            groups = [(self._members(group), group) for group in skill_groups(step.team)]
            self._ladders[key] = [_ladder(step, minutes, groups) for minutes in self.kinds.T]
        return self._ladders[key]

    def sets_on(self, day: int) -> list[frozenset[str]]:
        """The sets of people that the model asks about beforehand on one day."""
        here = self._here[day]
        if here not in self._sets:
            sizes = range(1, len(here) + 1)
            if len(here) <= FEW:
                names = [worker.name for worker in self.workers if worker.name in here]
                sets = [frozenset(some) for n in sizes for some in combinations(names, n)]
            else:
                sets = sorted({self._able(group) & here for group in self.groups}, key=sorted)
            self._sets[here] = sets
        return self._sets[here]

    def minutes_of(self, day: int, people: frozenset[str]) -> int:
        """What these people have on a day."""
        return sum(self._by_name[name][day] for name in people)

    def asked(self, day: int, people: frozenset[str], step: Step, size: int) -> int:
        """Places of a step's team of some size that fall to these people at the very least."""
        others = self._here[day] - people
        key = (others, step.team_key, size)
        if key not in self._asked:
            left = (
                places(step.team, size, group) - len(self._able(group) & others)
                for group in skill_groups(step.team)
            )
            self._asked[key] = max(0, *left)
        return self._asked[key]


def _ladder(
    step: Step, minutes: NDArray[np.int64], groups: list[tuple[NDArray[np.bool_], frozenset[str]]]
) -> list[tuple[int, int]]:
    most, ladder = max(step.team_max, step.n_people), []
    for people in range(step.n_people, min(most, int((minutes > 0).sum())) + 1):
        wanted = [(who, places(step.team, people, group)) for who, group in groups]
        times = [longest(minutes[who], count) for who, count in wanted if count]
        time = min([int(minutes.max(initial=0)), *times])
        if time > 0 and people:
            ladder.append((people, time))
    return ladder
