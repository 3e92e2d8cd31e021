"""Every way in which a job can stand: one placement for each day on which it may begin."""

from collections.abc import Iterator
from dataclasses import dataclass

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


def placements_of(job: Job, problem: Problem, crew: Crew) -> list[Placement]:
    """Every placement of a job, by first day; later first days never end earlier.

    The work is spread over the fewest days in which the teams that can be had do it, in
    proportion to what each of these days could give. Days on which the crew or the kit
    cannot come are bridged; a day closed to the job is not.
    """
    ladders = crew.ladders(job)
    able = _able_days(job, problem, crew, ladders)
    wanted = range(crew.n_days) if job.fixed_first is None else [job.fixed_first]
    starts = [day for day in wanted if 0 <= day < crew.n_days and able[day]]
    if job.n_days is not None:
        return list(_of_fixed_length(job, starts, able, crew))
    return list(_of_work(job, starts, able, crew))


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


def _of_work(job: Job, starts: list[int], able: Days, crew: Crew) -> Iterator[Placement]:
    by_kind = crew.ladders(job)
    kind = crew.kind_of_day.tolist()
    most = [max((people * time for people, time in ladder), default=0) for ladder in by_kind]
    open_, can = may_stand(job).tolist(), able.tolist()
    work_min = job.work_h * 60
    for first in starts:
        days, room, day = [first], most[kind[first]], first
        while room < work_min - 1e-6:
            day += 1
            if day >= crew.n_days or not open_[day]:
                break
            if can[day]:
                days.append(day)
                room += most[kind[day]]
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


def _of_fixed_length(job: Job, starts: list[int], able: Days, crew: Crew) -> Iterator[Placement]:
    assert job.n_days is not None
    by_kind = crew.ladders(job)
    open_, can = may_stand(job).tolist(), able.tolist()
    for first in starts:
        days, day = [first], first
        while len(days) < job.n_days:
            day += 1
            if day >= crew.n_days or not open_[day]:
                break
            if can[day]:
                days.append(day)
        else:
            yield _whole_days(job, days, [by_kind[int(crew.kind_of_day[d])] for d in days])


def _whole_days(job: Job, days: list[int], ladders: list[Ladder]) -> Placement:
    n = len(days)
    if not job.team:
        return Placement(tuple(days), (0.0,) * n, (0,) * n, (0,) * n)
    elapsed = tuple(ladder[-1][1] for ladder in ladders)
    people = (job.n_people,) * n
    return Placement(tuple(days), tuple(job.n_people * float(t) for t in elapsed), people, elapsed)
