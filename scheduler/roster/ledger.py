"""What already stands on each day, and whether one more block fits beside it."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

from scheduler.roster.names import shares_on, teams_on
from scheduler.roster.placements import Block
from scheduler.roster.problem import HANDS, Problem
from scheduler.roster.teams import CrewTeams, Means, places

Sort: TypeAlias = Literal["crew", "kit", "plot", "heavy-row"]  # what stands there already
Kind: TypeAlias = Literal[
    Sort,
    "closed", "nobody", "kit-away", "team", "short", "rests",  # it cannot begin there at all
    "stuck",  # it can begin, but a later step would find no day in time
    "unplaced", "waits", "too-late",  # what comes before is left out, to end, or too long ago
    "before", "too-early",  # what follows would begin before it is done, or come too late
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Obstacle:
    """What keeps a visit from beginning on a day."""

    kind: Kind  # what keeps it
    # id of another visit, kit id, plot, or skills joined by ``+``; empty where there is none
    about: str
    # the day in question; of ``waits`` the first that would do, of ``stuck`` the first day on
    # which the step waits in vain
    day: int
    step: str = ""  # id of the step in question; empty where it is the whole visit
    why: str = ""  # of ``stuck`` what keeps the step from its day, as ``Stop`` has it
    beside: tuple[str, ...] = ()  # ids of the visits that take the room
    # of ``heavy-row`` the days that would be heavy one after another, ascending
    row: tuple[int, ...] = ()


class Ledger:
    """The days as they fill up. Limits: people, kit, the ground of each plot, rest."""

    def __init__(self, problem: Problem, crew: CrewTeams) -> None:
        self.problem, self.crew = problem, crew
        self.placed: dict[str, Block] = {}
        self.on_day: dict[int, dict[str, Block]] = defaultdict(dict)
        n_days = crew.n_days
        self._people = {group: [0] * n_days for group in crew.groups}
        self._room = {group: room.tolist() for group, room in crew.capacity.items()}
        self._taken: dict[tuple[int, Means], int] = defaultdict(int)  # minutes of kit and ground
        self._heavy: dict[int, int] = defaultdict(int)  # heavy visits by day

    def put(self, block: Block) -> None:
        """Enter a block, whether it fits or not."""
        self.placed[block.visit.id] = block
        for day in block.days:
            self.on_day[day][block.visit.id] = block
        self._enter(block, 1)

    def take(self, visit_id: str) -> Block:
        """Take a visit's block out again and return it."""
        block = self.placed.pop(visit_id)
        for day in block.days:
            del self.on_day[day][visit_id]
        self._enter(block, -1)
        return block

    def _enter(self, block: Block, sign: int) -> None:
        for day in block.heavy_days:
            self._heavy[day] += sign
        for day, there in block.on.items():
            for step, people, minutes, _ in there:
                for group, used in self._people.items():
                    used[day] += sign * places(step.team, people, group) * minutes
            for means, minutes in block.takes[day].items():
                self._taken[day, means] += sign * minutes

    def fits(self, block: Block) -> bool:
        """Whether the people, the kit, the ground and rest allow one more block."""
        return next(self.loads(block), None) is None

    def loads(self, block: Block) -> Iterator[Obstacle]:
        """Every limit that the block would break beside what stands."""
        for day in block.days:
            broken = list(self._over(block, day))
            for kind, name in broken:
                yield Obstacle(kind, name, day, beside=self._beside(day, kind, name))
            together = {**self.on_day[day], block.visit.id: block}
            alone = len(together) == 1
            named = alone or isinstance(shares_on(day, teams_on(day, together), self.crew), dict)
            if not broken and not named:
                yield Obstacle("crew", HANDS, day, beside=self._beside(day, "crew", HANDS))
        if row := self._heavy_row(block):
            beside = {
                visit_id
                for day in row
                for visit_id, other in self.on_day[day].items()
                if day in other.heavy_days
            }
            day = next(day for day in block.days if day in row)
            yield Obstacle("heavy-row", "", day, beside=tuple(sorted(beside)), row=row)

    def _heavy_row(self, block: Block) -> tuple[int, ...]:
        """The first row of heavy days that the block would make too long; empty for none."""
        cap = self.problem.heavy_in_row
        if cap is None:
            return ()
        heavy = self.problem.heavy_worked.union(day for day, n in self._heavy.items() if n > 0)
        added = block.heavy_days - heavy
        heavy |= added
        for day in sorted(added):
            first = last = day
            while first - 1 in heavy:
                first -= 1
            while last + 1 in heavy:
                last += 1
            if last - first + 1 > cap:
                return tuple(range(first, last + 1))
        return ()

    def _over(self, block: Block, day: int) -> Iterator[tuple[Sort, str]]:
        """Sort and name of every limit that would be broken, those of names aside."""
        there = block.on[day]
        for group, used in self._people.items():
            wanted = sum(places(step.team, n, group) * minutes for step, n, minutes, _ in there)
            if wanted and used[day] + wanted > self._room[group][day]:
                yield "crew", "+".join(sorted(group))
        for means, minutes in sorted(block.takes[day].items()):
            if self._taken[day, means] + minutes > self.crew.room(means, day):
                yield means

    def _beside(self, day: int, kind: Sort, name: str) -> tuple[str, ...]:
        """Ids of the visits that share a limit; the crew is everybody's."""
        there = self.on_day[day].items()
        return tuple(
            sorted(v for v, block in there if kind == "crew" or (kind, name) in block.takes[day])
        )
