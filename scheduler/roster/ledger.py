"""What already stands on each day, and whether one more block fits beside it."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

from scheduler.roster.names import shortfall_on, teams_on
from scheduler.roster.placements import Block
from scheduler.roster.problem import HANDS, Problem
from scheduler.roster.rest import heavy_days_of, too_long
from scheduler.roster.teams import Crew, places

Sort: TypeAlias = Literal["crew", "kit", "plot", "heavy-row"]


@dataclass(frozen=True, slots=True)
class Load:
    """A limit that a block would break on one day.

    Args:
        kind: the crew, the kit, the ground of the plot, or heavy days in a row.
        name: skills joined by ``+`` (crew), kit id, plot, or nothing.
        day: day number; of heavy days in a row the first of the block's own among them.
        beside: ids of the visits that stand there already and share that limit, sorted.
        row: of heavy days in a row, all of them, ascending.
    """

    kind: Sort
    name: str
    day: int
    beside: tuple[str, ...]
    row: tuple[int, ...] = ()


class Ledger:
    """The days as they fill up. Limits: people, kit, the ground of each plot, rest.

    Args:
        problem: what is to be placed.
        crew: its people.
    """

    def __init__(self, problem: Problem, crew: Crew) -> None:
        self.problem, self.crew = problem, crew
        self.placed: dict[str, Block] = {}
        self.on_day: dict[int, dict[str, Block]] = defaultdict(dict)
        n_days = crew.n_days
        self._people = {group: [0] * n_days for group in crew.groups}
        self._room = {group: room.tolist() for group, room in crew.capacity.items()}
        self._kit = {kit.id: [0] * n_days for kit in problem.kits}
        self._kit_room = crew.kit_minutes
        self._ground: dict[str, list[int]] = defaultdict(lambda: [0] * n_days)
        self._day = crew.day_minutes.tolist()
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
        for day in heavy_days_of(block):
            self._heavy[day] += sign
        for day, there in block.on.items():
            for step, people, minutes, _ in there:
                for group, used in self._people.items():
                    used[day] += sign * places(step.team, people, group) * minutes
                if step.plot:
                    self._ground[step.plot][day] += sign * minutes
                for kit, units in step.uses.items():
                    self._kit[kit][day] += sign * units * minutes

    def fits(self, block: Block) -> bool:
        """Whether the people, the kit, the ground and rest allow one more block."""
        if self._heavy_row(block):
            return False
        return not any(True for day in block.days for _ in self._over(block, day)) and all(
            self._has_names(block, day) for day in block.days
        )

    def loads(self, block: Block) -> list[Load]:
        """Every limit that the block would break beside what stands."""
        found: list[Load] = []
        for day in block.days:
            found += self._loads_of_day(block, day)
        if row := self._heavy_row(block):
            there = {
                visit_id
                for day in row
                for visit_id, other in self.on_day[day].items()
                if day in heavy_days_of(other)
            }
            day = next(day for day in block.days if day in row)
            found.append(Load("heavy-row", "", day, tuple(sorted(there)), row))
        return found

    def _heavy_row(self, block: Block) -> tuple[int, ...]:
        """The row of heavy days that the block would make too long."""
        cap = self.problem.heavy_in_row
        if cap is None:
            return ()
        return too_long(cap, sorted(heavy_days_of(block)), self._is_heavy)

    def _is_heavy(self, day: int) -> bool:
        return self._heavy.get(day, 0) > 0 or day in self.problem.heavy_worked

    def _loads_of_day(self, block: Block, day: int) -> list[Load]:
        found = []
        for kind, name in self._over(block, day):
            kit, plot = name if kind == "kit" else "", name if kind == "plot" else ""
            found.append(Load(kind, name, day, self._beside(day, kit=kit, plot=plot)))
        if not found and not self._has_names(block, day):
            found.append(Load("crew", HANDS, day, self._beside(day)))
        return found

    def _over(self, block: Block, day: int) -> Iterator[tuple[Sort, str]]:
        """Sort and name of every limit that would be broken, those of names aside."""
        there = block.on[day]
        for group, used in self._people.items():
            wanted = sum(places(step.team, n, group) * minutes for step, n, minutes, _ in there)
            if wanted and used[day] + wanted > self._room[group][day]:
                yield "crew", "+".join(sorted(group))
        held: dict[str, int] = defaultdict(int)
        ground: dict[str, int] = defaultdict(int)
        for step, _, minutes, _ in there:
            for kit, units in step.uses.items():
                held[kit] += units * minutes
            ground[step.plot] += minutes
        for kit, minutes in sorted(held.items()):
            if self._kit[kit][day] + minutes > self._kit_room[kit][day]:
                yield "kit", kit
        for plot, minutes in sorted(ground.items()):
            if plot and self._ground[plot][day] + minutes > self._day[day]:
                yield "plot", plot

    def _has_names(self, block: Block, day: int) -> bool:
        if not self.on_day[day]:
            return True
        teams = teams_on(day, {**self.on_day[day], block.visit.id: block})
        return shortfall_on(day, teams, self.crew) is None

    def _beside(self, day: int, *, kit: str = "", plot: str = "") -> tuple[str, ...]:
        return tuple(
            sorted(
                visit_id
                for visit_id, block in self.on_day[day].items()
                if any(
                    (not kit or step.uses.get(kit)) and (not plot or step.plot == plot)
                    for step, *_ in block.on[day]
                )
            )
        )
