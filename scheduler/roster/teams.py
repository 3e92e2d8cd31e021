"""How many people a day gives a step, and for how long.

Hours are counted in whole minutes here: what people can give is rounded down, what work
asks is rounded up, so that a plan that fits in minutes fits in hours.
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from scheduler.roster.problem import HANDS, Problem, Step, Worker

MINUTES = 60
FEW = 4  # people on a day up to whom every set of them is asked about
_SLACK = 1e-6  # of a minute: hours that are whole minutes stay so in floating point


def minutes_down(hours: NDArray[np.float64]) -> NDArray[np.int64]:
    """Hours as whole minutes, rounded down."""
    return np.floor(hours * MINUTES + _SLACK).astype(np.int64)


def minutes_up(minutes: float) -> int:
    """Minutes as whole minutes, rounded up."""
    return int(np.ceil(minutes - _SLACK))


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

    Args:
        minutes: what each person has, (n,).
        wanted: places, >= 1.

    Returns:
        Whole minutes t with sum(min(minutes, t)) >= wanted * t, the largest such t.

    >>> longest(np.array([360, 180, 180]), 2), longest(np.array([360, 180]), 2)
    (360, 180)
    """
    if len(minutes) < wanted:
        return 0
    low = np.sort(minutes)
    sums = np.concatenate(([0], np.cumsum(low)))
    taken = np.arange(len(low) - wanted + 1, len(low) + 1)  # how many count in full
    return int(min(sums[taken] // (wanted - len(low) + taken)))


class Crew:
    """The people of a problem, day by day; days with the same hours are computed once.

    Args:
        problem: whose workers and steps are meant.
    """

    def __init__(self, problem: Problem) -> None:
        self.workers, self.kits = problem.workers, problem.kits
        self.n_days = problem.season.n_days
        rows = [minutes_down(worker.hours) for worker in problem.workers]
        self.minutes = np.array(rows, dtype=np.int64).reshape(len(rows), self.n_days)
        asked = {skill for step in problem.steps for skill in step.team}
        self.groups = skill_groups(asked)
        self.kinds, self.kind_of_day = self.minutes[:, :1], np.zeros(self.n_days, dtype=np.int64)
        if rows:
            self.kinds, kind = np.unique(self.minutes, axis=1, return_inverse=True)
            self.kind_of_day = kind.reshape(-1)
        self._ladders: dict[tuple[object, ...], list[list[tuple[int, int]]]] = {}
        # asked for every day; days with the same hours have the same answers
        self._sets_on: dict[int, list[frozenset[str]]] = {}
        self._minutes_of: dict[tuple[int, frozenset[str]], int] = {}
        self._asked_of: dict[tuple[int, frozenset[str]], Asked] = {}

    def members(self, group: frozenset[str]) -> NDArray[np.bool_]:
        """Who can fill a place of the group; (n_workers,)."""
        can = [any(worker.can(skill) for skill in group) for worker in self.workers]
        return np.array(can, dtype=bool)

    @cached_property
    def capacity(self) -> dict[frozenset[str], NDArray[np.int64]]:
        """Minutes that the people of each group have; (n_days,)."""
        return {group: self.minutes[self.members(group)].sum(axis=0) for group in self.groups}

    @cached_property
    def day_minutes(self) -> NDArray[np.int64]:
        """Length of the working day: that of the longest-working person; (n_days,)."""
        longest: NDArray[np.int64] = self.minutes.max(axis=0, initial=0)
        return longest

    @cached_property
    def kit_minutes(self) -> dict[str, list[int]]:
        """Minutes that each kit gives, by day."""
        whole = np.maximum(self.day_minutes, 1)  # so that kit is short without a crew too
        return {kit.id: kit.room(whole).tolist() for kit in self.kits}

    def ladders(self, step: Step) -> list[list[tuple[int, int]]]:
        """For each kind of day, the teams that can be had: (people, minutes), ascending."""
        most = max(step.team_max, step.n_people)
        key = (tuple(sorted(step.team.items())), most)
        if key not in self._ladders:
            asked = [(self.members(group), group) for group in skill_groups(step.team)]
            kinds = self.kinds.T
            self._ladders[key] = [_ladder(step, most, minutes, asked) for minutes in kinds]
        return self._ladders[key]

    def sets_on(self, day: int) -> list[frozenset[str]]:
        """The sets of people that the model asks about beforehand on one day."""
        kind = int(self.kind_of_day[day])
        if kind not in self._sets_on:
            self._sets_on[kind] = self._sets(day)
        return self._sets_on[kind]

    def _sets(self, day: int) -> list[frozenset[str]]:
        here = self.minutes[:, day] > 0
        names = [worker.name for worker, there in zip(self.workers, here, strict=True) if there]
        if len(names) <= FEW:
            return [frozenset(c) for n in range(len(names)) for c in combinations(names, n + 1)]
        able = {
            frozenset(
                worker.name
                for worker, can in zip(self.workers, self.members(group) & here, strict=True)
                if can
            )
            for group in self.groups
        }
        return sorted(able, key=sorted)

    def minutes_of(self, day: int, people: frozenset[str]) -> int:
        """What these people have on a day."""
        key = (int(self.kind_of_day[day]), people)
        if key not in self._minutes_of:
            chosen = [worker.name in people for worker in self.workers]
            self._minutes_of[key] = int(self.minutes[chosen, day].sum())
        return self._minutes_of[key]

    def asked_of(self, day: int, people: frozenset[str]) -> "Asked":
        """How many places a team of some size leaves to these people, at the very least."""
        key = (int(self.kind_of_day[day]), people)
        if key not in self._asked_of:
            others = [
                worker
                for worker, minutes in zip(self.workers, self.minutes[:, day], strict=True)
                if minutes and worker.name not in people
            ]
            self._asked_of[key] = Asked(others)
        return self._asked_of[key]


class Asked:
    """How many places a team leaves to some people, when all the others do what they can.

    Args:
        others: everybody else who is there.
    """

    def __init__(self, others: Sequence[Worker]) -> None:
        self._others = others
        self._by_step: dict[tuple[str, int], int] = {}
        self._by_team: dict[tuple[tuple[tuple[str, int], ...], int], int] = {}

    def __call__(self, step: Step, size: int) -> int:
        """Places of a step's team of so many people; 0 or less where the others fill all."""
        found = self._by_step.get((step.id, size))
        if found is None:
            key = (tuple(sorted(step.team.items())), size)
            if key not in self._by_team:
                self._by_team[key] = max(
                    places(step.team, size, group)
                    - sum(any(worker.can(skill) for skill in group) for worker in self._others)
                    for group in skill_groups(step.team)
                )
            found = self._by_step[step.id, size] = self._by_team[key]
        return found


def _ladder(
    step: Step,
    most: int,
    minutes: NDArray[np.int64],
    asked: list[tuple[NDArray[np.bool_], frozenset[str]]],
) -> list[tuple[int, int]]:
    steps = []
    for people in range(step.n_people, min(most, int((minutes > 0).sum())) + 1):
        wanted = [(who, places(step.team, people, group)) for who, group in asked]
        times = [longest(minutes[who], count) for who, count in wanted if count]
        time = min([int(minutes.max(initial=0)), *times])
        if time > 0 and people:
            steps.append((people, time))
    return steps
