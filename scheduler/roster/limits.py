"""The limits of each day: people, kit, and the ground of each plot.

A limit says that what the placements standing on a day take together is at most ``room``.
Only limits that could be broken are made: where all jobs could come at once, none is.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from scheduler.roster.order import Choices
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Problem
from scheduler.roster.teams import Crew

Entry: TypeAlias = tuple[str, int, Placement, int]  # job, its k-th placement, its i-th day
Use: TypeAlias = tuple[str, int, int]  # job, its k-th placement, amount


@dataclass(frozen=True, slots=True)
class Limit:
    """What can be taken on one day.

    Args:
        kind: minutes of people, units of kit, or minutes on the ground of a plot.
        day: day number.
        uses: what each placement takes of it: job id, number of the placement, amount.
        room: the sum at most.
    """

    kind: Literal["crew", "kit", "plot"]
    day: int
    uses: tuple[Use, ...]
    room: int

    @property
    def jobs(self) -> set[str]:
        """Ids of the jobs that it speaks of."""
        return {job_id for job_id, _, _ in self.uses}

    @property
    def idle(self) -> bool:
        """Whether it holds whatever is placed."""
        most: dict[str, int] = {}
        for job_id, _, amount in self.uses:
            if amount > most.get(job_id, 0):
                most[job_id] = amount
        return sum(most.values()) <= self.room


def limits_of(problem: Problem, choices: Choices, crew: Crew) -> list[Limit]:
    """Every limit that could be broken, by day."""
    found: list[Limit] = []
    for day, there in sorted(on_days(choices).items()):
        found += [people_limit(problem, there, crew, day, set_) for set_ in crew.sets_on(day)]
        found += _kits(problem, there, crew, day)
        found += _ground(problem, there, crew, day)
    return _tightest(limit for limit in found if not limit.idle)


def _tightest(limits: Iterable[Limit]) -> list[Limit]:
    """Of limits on the same uses, the one with the least room, where the first of them stood."""
    least: dict[tuple[Use, ...], Limit] = {}
    for limit in limits:
        if limit.uses not in least or limit.room < least[limit.uses].room:
            least[limit.uses] = limit
    return list(least.values())


def narrowed(limits: Sequence[Limit], before: Choices, after: Choices) -> list[Limit]:
    """The limits on what is left of the placements, as ``limits_of`` would give them.

    Args:
        limits: those of ``before``.
        before: placements by job id.
        after: the same, some of them taken away.
    """
    number = {job_id: _numbers(before[job_id], after[job_id]) for job_id in after}
    answer = []
    for limit in limits:
        uses = tuple(
            (job_id, k, amount)
            for job_id, old, amount in limit.uses
            if (k := number[job_id][old]) is not None
        )
        answer.append(replace(limit, uses=uses))
    return _tightest(limit for limit in answer if not limit.idle)


def _numbers(before: Sequence[Placement], after: Sequence[Placement]) -> list[int | None]:
    """For each placement, its number among those that are left."""
    left = {p.first: k for k, p in enumerate(after)}
    return [left.get(p.first) for p in before]


def on_days(choices: Choices) -> dict[int, list[Entry]]:
    """For each day, the placements that may stand there."""
    by_day: dict[int, list[Entry]] = defaultdict(list)
    for job_id, placements in choices.items():
        for k, p in enumerate(placements):
            for i, day in enumerate(p.days):
                by_day[day].append((job_id, k, p, i))
    return by_day


def people_limit(
    problem: Problem, there: Sequence[Entry], crew: Crew, day: int, people: frozenset[str]
) -> Limit:
    """A set of people gives no more than its minutes.

    Each placement asks of them what its places need beyond everybody else, who can give a
    job no more than its elapsed time: the cuts of the flow in ``names``, which for a set of
    people who share skills is Hall's condition.
    """
    asked = crew.asked_of(day, people)
    uses = []
    for job_id, k, p, i in there:
        minutes = p.elapsed_min[i]
        if minutes and (wanted := asked(problem.by_id[job_id], p.people[i])) > 0:
            uses.append((job_id, k, wanted * minutes))
    return Limit("crew", day, tuple(uses), crew.minutes_of(day, people))


def _kits(problem: Problem, there: Sequence[Entry], crew: Crew, day: int) -> Iterator[Limit]:
    """Kit goes from job to job within a day: its minutes are what is short."""
    whole = crew.whole_day_minutes(day)
    for kit in problem.kits:
        uses = tuple(
            (job_id, k, units * (p.elapsed_min[i] or whole))
            for job_id, k, p, i in there
            if (units := problem.by_id[job_id].uses.get(kit.id, 0))
        )
        if uses:
            yield Limit("kit", day, uses, int(kit.units[day]) * whole)


def _ground(problem: Problem, there: Sequence[Entry], crew: Crew, day: int) -> Iterator[Limit]:
    uses: dict[str, list[Use]] = defaultdict(list)
    for job_id, k, p, i in there:
        if p.elapsed_min[i]:
            uses[problem.by_id[job_id].plot].append((job_id, k, p.elapsed_min[i]))
    for plot in sorted(uses):
        if plot:
            yield Limit("plot", day, tuple(uses[plot]), int(crew.day_minutes[day]))
