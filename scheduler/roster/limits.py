"""The limits of each day: people, kit, and the ground of each plot.

A limit says that what the blocks standing on a day take together is at most ``room``. Only
limits that could be broken are made: where all visits could come at once, none is.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from scheduler.roster.order import Choices
from scheduler.roster.placements import Block
from scheduler.roster.teams import CrewTeams, Means

Entry: TypeAlias = tuple[str, int, Block]  # visit, its k-th block, which stands on the day
Use: TypeAlias = tuple[str, int, int]  # visit, its k-th block, amount


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
