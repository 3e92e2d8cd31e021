"""The limits of each day: people, kit, and the ground of each plot.

A limit says that what the blocks standing on a day take together is at most ``room``. Only
limits that could be broken are made: where all visits could come at once, none is.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from scheduler.roster.order import Choices
from scheduler.roster.placements import Block
from scheduler.roster.problem import Problem
from scheduler.roster.teams import Crew

Entry: TypeAlias = tuple[str, int, Block]  # visit, its k-th block, which stands on the day
Use: TypeAlias = tuple[str, int, int]  # visit, its k-th block, amount


@dataclass(frozen=True, slots=True)
class Limit:
    """What can be taken on one day.

    Args:
        kind: minutes of people, units of kit, or minutes on the ground of a plot.
        day: day number.
        uses: what each block takes of it: visit id, number of the block, amount.
        room: the sum at most.
    """

    kind: Literal["crew", "kit", "plot"]
    day: int
    uses: tuple[Use, ...]
    room: int

    @property
    def visits(self) -> set[str]:
        """Ids of the visits that it speaks of."""
        return {visit_id for visit_id, _, _ in self.uses}

    @property
    def idle(self) -> bool:
        """Whether it holds whatever is placed."""
        most: dict[str, int] = {}
        for visit_id, _, amount in self.uses:
            if amount > most.get(visit_id, 0):
                most[visit_id] = amount
        return sum(most.values()) <= self.room


def limits_of(problem: Problem, choices: Choices, crew: Crew) -> list[Limit]:
    """Every limit that could be broken, by day."""
    found: list[Limit] = []
    for day, there in sorted(on_days(choices).items()):
        found += [people_limit(there, crew, day, group) for group in crew.sets_on(day)]
        found += _kits(problem, there, crew, day)
        found += _ground(there, crew, day)
    return _tightest(limit for limit in found if not limit.idle)


def _tightest(limits: Iterable[Limit]) -> list[Limit]:
    """Of limits on the same uses, the one with the least room, where the first of them stood."""
    least: dict[tuple[Use, ...], Limit] = {}
    for limit in limits:
        if limit.uses not in least or limit.room < least[limit.uses].room:
            least[limit.uses] = limit
    return list(least.values())


def narrowed(limits: Sequence[Limit], before: Choices, after: Choices) -> list[Limit]:
    """The limits on what is left of the blocks, as ``limits_of`` would give them.

    Args:
        limits: those of ``before``.
        before: blocks by visit id.
        after: the same, some of them taken away.
    """
    number = {visit_id: _numbers(before[visit_id], after[visit_id]) for visit_id in after}
    answer = []
    for limit in limits:
        uses = tuple(
            (visit_id, k, amount)
            for visit_id, old, amount in limit.uses
            if (k := number[visit_id][old]) is not None
        )
        answer.append(replace(limit, uses=uses))
    return _tightest(limit for limit in answer if not limit.idle)


def _numbers(before: Sequence[Block], after: Sequence[Block]) -> list[int | None]:
    """For each block, its number among those that are left."""
    left = {block.first: k for k, block in enumerate(after)}
    return [left.get(block.first) for block in before]


def on_days(choices: Choices) -> dict[int, list[Entry]]:
    """For each day, the blocks that may stand there."""
    by_day: dict[int, list[Entry]] = defaultdict(list)
    for visit_id, blocks in choices.items():
        for k, block in enumerate(blocks):
            for day in block.days:
                by_day[day].append((visit_id, k, block))
    return by_day


def people_limit(there: Sequence[Entry], crew: Crew, day: int, people: frozenset[str]) -> Limit:
    """A set of people gives no more than its minutes.

    Each step asks of them what its places need beyond everybody else, who can give it no more
    than its elapsed time: the cuts of the flow in ``names``, which for a set of people who share
    skills is Hall's condition.
    """
    asked = crew.asked_of(day, people)
    uses = []
    for visit_id, k, block in there:
        amount = sum(
            max(asked(step, people_there), 0) * minutes
            for step, people_there, minutes, _ in block.on[day]
        )
        if amount:
            uses.append((visit_id, k, amount))
    return Limit("crew", day, tuple(uses), crew.minutes_of(day, people))


def _kits(problem: Problem, there: Sequence[Entry], crew: Crew, day: int) -> Iterator[Limit]:
    """Kit goes from step to step within a day: its minutes are what is short."""
    for kit in problem.kits:
        uses = []
        for visit_id, k, block in there:
            held = sum(step.uses.get(kit.id, 0) * minutes for step, _, minutes, _ in block.on[day])
            if held:
                uses.append((visit_id, k, held))
        if uses:
            yield Limit("kit", day, tuple(uses), crew.kit_minutes[kit.id][day])


def _ground(there: Sequence[Entry], crew: Crew, day: int) -> Iterator[Limit]:
    uses: dict[str, list[Use]] = defaultdict(list)
    for visit_id, k, block in there:
        plots: dict[str, int] = defaultdict(int)
        for step, _, minutes, _ in block.on[day]:
            plots[step.plot] += minutes
        for plot, minutes in plots.items():
            uses[plot].append((visit_id, k, minutes))
    for plot in sorted(uses):
        if plot:
            yield Limit("plot", day, tuple(uses[plot]), int(crew.day_minutes[day]))
