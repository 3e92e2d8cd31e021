"""Every way in which a job can stand: one placement for each day on which it may begin."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count

import numpy as np

from scheduler.roster.problem import Days, Job, Problem
from scheduler.roster.teams import Crew, minutes_up


@dataclass(frozen=True, slots=True)
class Placement:
    """A job that begins on a certain day.

    Args:
        days: day numbers on which it is worked on, ascending.
        work_min: person-minutes on each of them.
        people: size of the team on each of them.
        elapsed_min: minutes by the clock on each of them, rounded up to whole ones.
    """

    days: tuple[int, ...]
    work_min: tuple[float, ...]
    people: tuple[int, ...]
    elapsed_min: tuple[int, ...]

    @property
    def first(self) -> int:
        """Day on which it begins."""
        return self.days[0]

    @property
    def last(self) -> int:
        """Day on which it ends."""
        return self.days[-1]


Ladder = list[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class _Rest:
    """When heavy work rests.

    Args:
        cap: days on which it may go on without a rest.
        row: (n_days,) heavy days in a row just before each day; empty without a cap.
        worked: days that are heavy anyway.
    """

    cap: int
    row: tuple[int, ...] = ()
    worked: frozenset[int] = frozenset()

    @classmethod
    def of(cls, job: Job, problem: Problem) -> "_Rest":
        """The rest that a job needs."""
        n_days, worked = problem.season.n_days, problem.heavy_worked
        if not job.heavy or problem.heavy_in_row is None:
            return cls(n_days)
        row = [next(n for n in count() if -n - 1 not in worked)]
        for day in range(n_days - 1):
            row.append(row[-1] + 1 if day in worked else 0)
        return cls(problem.heavy_in_row, tuple(row), worked)

    def before(self, day: int) -> int:
        """Heavy days in a row just before a day."""
        return self.row[day] if self.row else 0

    def may_begin(self, day: int) -> bool:
        """Whether no rest is due on a day."""
        return self.before(day) < self.cap or day in self.worked


def placements_of(
    job: Job, problem: Problem, crew: Crew, *, ends_later: bool = False
) -> list[Placement]:
    """Every placement of a job, by first day; later first days never end earlier.

    The work is spread over the fewest days in which the teams that can be had do it, in
    proportion to what each of these days could give. Days on which the crew or the kit
    cannot come are bridged; a day closed to the job is not. Heavy work rests for a day after
    as many heavy days in a row as the cap allows, those that have been worked already among
    them. Rest may fall on the better days: then a later begin ends earlier, and the sooner
    one is not offered.

    Args:
        job: the job.
        problem: what it is part of.
        crew: its people.
        ends_later: whether a begin is given even where a later one ends earlier.
    """
    ladders = crew.ladders(job)
    able = _able_days(job, problem, crew, ladders)
    wanted = range(crew.n_days) if job.fixed_first is None else [job.fixed_first]
    starts = [day for day in wanted if 0 <= day < crew.n_days and able[day]]
    rest = _Rest.of(job, problem)
    starts = [day for day in starts if rest.may_begin(day)]
    of = _of_work if job.n_days is None else _of_fixed_length
    found = list(of(job, starts, able, crew, rest))
    return _never_later(found) if rest.row and not ends_later else found


def _never_later(found: list[Placement]) -> list[Placement]:
    """Those after which no later begin ends earlier."""
    kept: list[Placement] = []
    for p in reversed(found):
        if not kept or p.last <= kept[-1].last:
            kept.append(p)
    return kept[::-1]


def may_stand(job: Job) -> Days:
    """Days that the job's own window, or the grower's own day, allows; (n_days,)."""
    if job.fixed_first is None:
        return job.open
    return np.arange(len(job.open)) >= job.fixed_first


def _able_days(job: Job, problem: Problem, crew: Crew, ladders: list[Ladder]) -> Days:
    able = np.array(may_stand(job))
    for kit in problem.kits:
        able &= kit.units >= job.uses.get(kit.id, 0)
    if job.team:
        can = np.array([bool(ladder) for ladder in ladders], dtype=bool)
        able &= can[crew.kind_of_day]
    return able


def _of_work(
    job: Job, starts: list[int], able: Days, crew: Crew, rest: _Rest
) -> Iterator[Placement]:
    by_kind = crew.ladders(job)
    kind = crew.kind_of_day.tolist()
    most = [max((people * time for people, time in ladder), default=0) for ladder in by_kind]
    open_, can = may_stand(job).tolist(), able.tolist()
    work_min = job.work_h * 60
    for first in starts:
        days, room, day = [first], most[kind[first]], first
        row = rest.before(first) + 1
        while room < work_min - 1e-6:
            day += 1
            if day >= crew.n_days or not open_[day]:
                break
            if can[day] and row < rest.cap:
                days.append(day)
                room += most[kind[day]]
                row += 1
            else:
                row = 0
        else:
            shares = [work_min * most[kind[day]] / room for day in days]
            yield _spread(days, shares, [by_kind[kind[day]] for day in days])


def _spread(days: list[int], shares: list[float], ladders: list[Ladder]) -> Placement:
    """The largest team that gets each day's share done within its time."""
    people = tuple(
        max(n for n, time in ladder if n * time >= share - 1e-6)
        for share, ladder in zip(shares, ladders, strict=True)
    )
    elapsed = tuple(minutes_up(share / n) for share, n in zip(shares, people, strict=True))
    return Placement(tuple(days), tuple(shares), people, elapsed)


def _of_fixed_length(
    job: Job, starts: list[int], able: Days, crew: Crew, rest: _Rest
) -> Iterator[Placement]:
    assert job.n_days is not None
    by_kind = crew.ladders(job)
    open_, can = may_stand(job).tolist(), able.tolist()
    for first in starts:
        days, day, row = [first], first, rest.before(first) + 1
        while len(days) < job.n_days:
            day += 1
            if day >= crew.n_days or not open_[day]:
                break
            if can[day] and row < rest.cap:
                days.append(day)
                row += 1
            else:
                row = 0
        else:
            yield _whole_days(job, days, [by_kind[int(crew.kind_of_day[d])] for d in days])


def _whole_days(job: Job, days: list[int], ladders: list[Ladder]) -> Placement:
    n = len(days)
    if not job.team:
        return Placement(tuple(days), (0.0,) * n, (0,) * n, (0,) * n)
    elapsed = tuple(ladder[-1][1] for ladder in ladders)
    people = (job.n_people,) * n
    return Placement(tuple(days), tuple(job.n_people * float(t) for t in elapsed), people, elapsed)
