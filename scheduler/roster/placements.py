"""Every way in which a visit can stand: one block of days for each day on which it may begin.

A block is packed forwards, as a crew works: step after step, each with the largest team that
can be had, and the next one goes on the same day where hours are left. The crew waits only
where it must: for a climber or a machine, for a day that the rules open, or for rest.

Decided: one yes or no a block. Refused: one for each step and day, for which the bound on the days
that visits lie open stays weak (97 steps: no proof in a minute; 55 visits: a second). Held
by tests/roster/test_blocks_textbook.py::test_no_block_is_longer_than_a_textbook_model_needs.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import count
from typing import Literal, TypeAlias

from scheduler.roster.problem import Order, Problem, Step, TeamKey, Visit
from scheduler.roster.result import Wait
from scheduler.roster.teams import CrewTeams, Means, minutes_up

SHORTEST_MIN = 30  # a stretch of work that is not worth beginning, unless it ends the step
Stretch: TypeAlias = tuple[Step, int, int]  # on a day, with people and minutes by the clock
Why: TypeAlias = Literal["closed", "nobody", "kit-away", "team", "rests", "short"]


@dataclass(frozen=True, slots=True)
class Placement:
    """The days of one step."""

    days: tuple[int, ...]  # day numbers on which it is worked on, ascending
    work_min: tuple[float, ...]  # person-minutes on each of them
    people: tuple[int, ...]  # size of the team on each of them
    elapsed_min: tuple[int, ...]  # minutes by the clock on each of them, rounded up to whole ones

    @property
    def first(self) -> int:
        """Day on which it begins."""
        return self.days[0]

    @property
    def last(self) -> int:
        """Day on which it ends."""
        return self.days[-1]


@dataclass(frozen=True)
class Block:
    """A visit that begins on a certain day."""

    visit: Visit  # the visit
    parts: tuple[Placement, ...]  # the days of each of its steps, in their order

    @cached_property
    def first(self) -> int:
        """Day on which it begins."""
        return self.parts[0].first

    @cached_property
    def last(self) -> int:
        """Day on which it ends."""
        return max(part.last for part in self.parts)

    @cached_property
    def days(self) -> tuple[int, ...]:
        """Day numbers on which any of it is worked on, ascending."""
        return tuple(sorted({day for part in self.parts for day in part.days}))

    @property
    def span_days(self) -> int:
        """Calendar days from its first day, or that of the log, to its last."""
        begun = self.first if self.visit.begun is None else min(self.visit.begun, self.first)
        return self.last - begun + 1

    @cached_property
    def by_step(self) -> dict[str, Placement]:
        """The days of each step, by its id."""
        return {step.id: part for step, part in zip(self.visit.steps, self.parts, strict=True)}

    @cached_property
    def on(self) -> dict[int, list[tuple[Step, int, int, float]]]:
        """By day: the steps worked on, with people, minutes by the clock and person-minutes."""
        answer: dict[int, list[tuple[Step, int, int, float]]] = {}
        for step, part in zip(self.visit.steps, self.parts, strict=True):
            for i, day in enumerate(part.days):
                entry = (step, part.people[i], part.elapsed_min[i], part.work_min[i])
                answer.setdefault(day, []).append(entry)
        return answer

    @cached_property
    def heavy_days(self) -> frozenset[int]:
        """Day numbers on which any heavy step of it is worked on."""
        pairs = zip(self.visit.steps, self.parts, strict=True)
        return frozenset(day for step, part in pairs if step.heavy for day in part.days)

    @cached_property
    def takes(self) -> dict[int, dict[Means, int]]:
        """By day: the minutes that it takes of each kit, and of the ground of its plots."""
        answer: dict[int, dict[Means, int]] = {}
        for day, there in self.on.items():
            takes: dict[Means, int] = defaultdict(int)
            for step, _, minutes, _ in there:
                for kit_id, units in step.uses.items():
                    takes["kit", kit_id] += units * minutes
                if step.plot:
                    takes["plot", step.plot] += minutes
            answer[day] = takes
        return answer

    def kit_days(self, kit_id: str) -> frozenset[int]:
        """Day numbers on which it uses a kit."""
        return frozenset(day for day, takes in self.takes.items() if ("kit", kit_id) in takes)


@dataclass(frozen=True, slots=True)
class Stop:
    """Why a visit cannot begin on a day."""

    step: Step  # the step that has no day
    day: int  # the first day on which it waits in vain
    # what keeps it from that day; ``late`` where it would come too late after the work before it,
    # ``end`` where the season ends first
    why: Why | Literal["late", "end"]


class Packer:
    """Packs visits, each as if the crew had only the work that the grower has set a day for."""

    def __init__(self, problem: Problem, crew: CrewTeams) -> None:
        self.problem, self.crew = problem, crew
        self.kinds = crew.kind_of_day.tolist()
        self.units = {kit.id: kit.units.tolist() for kit in problem.kits}
        self._best: dict[tuple[TeamKey, int], tuple[int, int]] = {}
        # teams on a day that nothing has begun: by step, kind of day, minutes of kit, work left
        self.alone: dict[tuple[str, int, tuple[int, ...], float], tuple[int, int]] = {}
        self.before: dict[str, list[Order]] = {}  # by step, what it follows inside its visit
        for (one, other), orders in problem.ties.items():
            for order in orders if one == other else ():
                self.before.setdefault(order.after, []).append(order)
        # by day, what single pieces of work take that the grower has set a day for
        self.taken: dict[int, list[tuple[str, Step, int, int]]] = {}
        for visit in problem.visits:
            first = visit.steps[0].fixed_first
            if first is None or len(visit.steps) > 1 or not 0 <= first < crew.n_days:
                continue
            block = self.begun(visit, first)
            for day, there in block.on.items() if isinstance(block, Block) else ():
                entries = [(visit.id, step, people, minutes) for step, people, minutes, _ in there]
                self.taken.setdefault(day, []).extend(entries)

    def blocks(self, visit: Visit) -> list[Block]:
        """Every block of a visit, by first day; no step of a later one stands earlier.

        Beginning later never ends earlier, but for the rest of heavy work, which may fall on the
        better days: then the sooner begin is not offered. They are packed once for all problems
        that are made from one another and agree in what the packing looks at.
        """
        key, packed = self._key(visit), self.problem.packed
        if key not in packed:
            packed[key] = self._packed(visit)
        return [b if b.visit is visit else Block(visit, b.parts) for b in packed[key]]

    @cached_property
    def _taken_mark(self) -> Hashable:
        rows = ((day, *row) for day, there in self.taken.items() for row in there)
        return tuple((day, step.mark, people, minutes) for day, _, step, people, minutes in rows)

    def _key(self, visit: Visit) -> Hashable:
        """Everything that the blocks of a visit depend on."""
        problem, uses = self.problem, {kit_id for step in visit.steps for kit_id in step.uses}
        return (
            visit.mark,
            self.crew.mark,
            self._taken_mark,
            tuple(kit.mark for kit in problem.kits if kit.id in uses),
            any(step.heavy for step in visit.steps)
            and (problem.heavy_in_row, problem.heavy_worked),
            tuple(tuple(self.before.get(step.id, ())) for step in visit.steps),
        )

    def _packed(self, visit: Visit) -> list[Block]:
        found = [block for first in self._begins(visit) if (block := self.begun(visit, first))]
        kept: list[Block] = []
        for block in reversed([one for one in found if isinstance(one, Block)]):
            if not kept or _no_later(block, kept[-1]):
                kept.append(block)
        return kept[::-1]

    def _begins(self, visit: Visit) -> Iterator[int]:
        first = visit.steps[0]
        days = range(self.crew.n_days) if first.fixed_first is None else [first.fixed_first]
        able, last = first.workable, min(self._last_begin(step) for step in visit.steps)
        return (d for d in days if 0 <= d <= last and able[d] and self.best_team(first, d)[0])

    def _last_begin(self, step: Step) -> int:
        """The last day from which on all days together hold the work of a step; -1 for none.

        Work of a size that no season holds would else be packed in vain from every day.
        """
        left = step.work_h * 60
        for day in reversed(range(self.crew.n_days)):
            if step.workable[day]:
                people, minutes = self.best_team(step, day)
                left -= people * minutes
            if left <= 1e-6:
                return day
        return -1

    def begun(self, visit: Visit, first: int) -> Block | Stop | None:
        """The block that begins on a day, or why there is none; None where no work begins then."""
        return _Packing(self, visit, first).run()

    def why(self, visit: Visit, step: Step, day: int, heavy: Iterable[int] = ()) -> Why:
        """Why a step of a visit, with heavy days of its own, is not worked on on a day."""
        packing = _Packing(self, visit, day)
        packing.heavy_days |= set(heavy)
        return packing.why(step)

    def comes(self, step: Step, day: int) -> bool:
        """Whether all kit of a step comes on a day."""
        return all(self.units[kit][day] >= n for kit, n in step.uses.items())

    def best_team(self, step: Step, day: int) -> tuple[int, int]:
        """The team that does most of a step on a whole day; (0, 0) where there is none."""
        key = (step.team_key, self.kinds[day])
        if key not in self._best:
            ladder = self.crew.ladders(step)[self.kinds[day]]
            self._best[key] = max(ladder, key=lambda team: team[0] * team[1], default=(0, 0))
        return self._best[key]


def _no_later(block: Block, later: Block) -> bool:
    """Whether no step stands later than the same step of a block that begins later."""
    return all(
        one.first <= two.first and one.last <= two.last
        for one, two in zip(block.parts, later.parts, strict=True)
    )


class _Packing:
    """One visit packed from one day on."""

    def __init__(self, packer: Packer, visit: Visit, first: int) -> None:
        self.packer, self.visit, self.first = packer, visit, first
        self.day, self.spent = -1, 0  # minutes by the clock that are gone of the day
        self.begun: list[Stretch] = []  # on the day
        self._go_to(first)
        self.worked = first  # the last day of work so far
        self.parts: dict[str, Placement] = {}
        self.heavy_days: set[int] = set()

    def run(self) -> Block | Stop | None:
        for step in self.visit.steps:
            stop = self._pack(step)
            if stop is not None:
                return stop
            if self.parts[self.visit.steps[0].id].first != self.first:
                return None
        return Block(self.visit, tuple(self.parts[step.id] for step in self.visit.steps))

    def _pack(self, step: Step) -> Stop | None:
        """Give a step its days; why not, where it has none."""
        orders = self.packer.before.get(step.id, ())
        self._go_to(max((self.parts[o.before].last + o.min_days for o in orders), default=0))
        latest = self._latest(step, orders)
        days: list[tuple[int, float, int, int]] = []  # day, work, people, minutes by the clock
        left, waits = step.work_h * 60, None
        while left > 1e-6:
            if self.day >= self.packer.crew.n_days:
                return waits or Stop(step, self.day, "end")
            if self._too_late(None if days else latest):
                return waits or Stop(step, self.day, "late")
            people, minutes = self._team(step, left)
            if people:
                work = min(left, float(people * minutes))
                days.append((self.day, work, people, minutes))
                self._work(step, people, minutes)
                left -= work
            elif not self.begun and waits is None:
                waits = Stop(step, self.day, self.why(step))
            if left > 1e-6:
                self._go_to(self.day + 1)
        self.parts[step.id] = Placement(*map(tuple, zip(*days, strict=True)))
        return None

    def _too_late(self, latest: int | None) -> bool:
        """Whether a step not begun is past its latest day, or the visit paused for too long."""
        most = self.visit.pause_days
        paused_too_long = most is not None and self.day - self.worked > most
        return paused_too_long or (latest is not None and self.day > latest)

    def _latest(self, step: Step, orders: Sequence[Order]) -> int:
        """The last day on which a step may begin."""
        fixed = [] if step.fixed_first is None else [step.fixed_first]
        limits = [
            self.parts[o.before].last + o.within_days for o in orders if o.within_days is not None
        ]
        return min([*fixed, *limits], default=self.packer.crew.n_days)

    def _go_to(self, day: int) -> None:
        """Begin a later day; what the grower has set for it is taken already."""
        if day <= self.day:
            return
        self.day, self.spent, self.begun = day, 0, []
        for visit_id, step, people, minutes in self.packer.taken.get(day, ()):
            if visit_id != self.visit.id:
                self.begun.append((step, people, minutes))
                on_ground = step.plot and step.plot == self.visit.steps[0].plot
                self.spent += minutes if on_ground else 0

    def _team(self, step: Step, left: float) -> tuple[int, int]:
        """The team for what is left of the day, and for how long; (0, 0) where there is none."""
        packer, day = self.packer, self.day
        if not step.workable[day] or not packer.comes(step, day) or self._must_rest(step):
            return (0, 0)
        people, minutes = packer.best_team(step, day)
        if self.begun or step.uses or left < people * minutes:
            people, minutes = self._team_for(step, left)
        too_short = minutes < SHORTEST_MIN and people * minutes < left - 1e-6
        return (0, 0) if too_short else (people, minutes)

    def _team_for(self, step: Step, left: float) -> tuple[int, int]:
        """The team that is done soonest within the day, else the one that does most of it."""
        if self.begun or self.spent:
            return self._best_of(step, left)
        packer, day = self.packer, self.day
        kit = tuple(packer.crew.kit_minutes[kit_id][day] for kit_id in step.uses)
        key = (step.id, packer.kinds[day], kit, left)
        if key not in packer.alone:
            packer.alone[key] = self._best_of(step, left)
        return packer.alone[key]

    def _best_of(self, step: Step, left: float) -> tuple[int, int]:
        best, done = (0, 0), (0.0, 0)
        free = self._free_min()
        for people, longest in self.packer.crew.ladders(step)[self.packer.kinds[self.day]]:
            minutes = min(longest, self._room(step, people, free), minutes_up(left / people))
            score = (min(left, float(people * minutes)), -minutes)
            if minutes > 0 and score > done:
                best, done = (people, minutes), score
        return best

    def _free_min(self) -> list[tuple[frozenset[str], int]]:
        """Of a day that is begun, the minutes that each set of people has left."""
        crew, day, free = self.packer.crew, self.day, []
        for group in crew.sets_on(day) if self.begun else ():
            taken = sum(crew.asked(day, group, step, n) * m for step, n, m in self.begun)
            free.append((group, crew.minutes_of(day, group) - taken))
        return free

    def _room(self, step: Step, people: int, free: Sequence[tuple[frozenset[str], int]]) -> int:
        """Minutes by the clock that are left for a team of so many people."""
        room = int(self.packer.crew.longest_day[self.day]) - self.spent
        for group, minutes in free:
            wanted = self.packer.crew.asked(self.day, group, step, people)
            if wanted:
                room = min(room, minutes // wanted)
        for kit, units in step.uses.items():
            held = sum(other.uses.get(kit, 0) * minutes for other, _, minutes in self.begun)
            room = min(room, (self.packer.crew.kit_minutes[kit][self.day] - held) // units)
        return max(room, 0)

    def _work(self, step: Step, people: int, minutes: int) -> None:
        self.begun.append((step, people, minutes))
        self.spent += minutes
        self.worked = self.day
        if step.heavy:
            self.heavy_days.add(self.day)

    def _must_rest(self, step: Step) -> bool:
        """Whether as many heavy days as may be have just gone by in a row."""
        problem = self.packer.problem
        heavy, cap = self.heavy_days | problem.heavy_worked, problem.heavy_in_row
        if not step.heavy or cap is None or self.day in heavy:
            return False
        row = next(n for n in count() if self.day - n - 1 not in heavy)
        return bool(row >= cap)

    def why(self, step: Step) -> Why:
        """Why a step is not worked on at the begin of a day."""
        packer, day = self.packer, self.day
        if not step.workable[day]:
            return "closed"
        if not packer.crew.longest_day[day]:
            return "nobody"
        if not packer.comes(step, day):
            return "kit-away"
        if self._must_rest(step):
            return "rests"
        return "short" if packer.best_team(step, day)[0] else "team"


def waits_in(block: Block, packer: Packer) -> Iterator[Wait]:
    """The days inside a visit's block without work, and what keeps it waiting."""
    for day in range(block.first, block.last):
        if day not in block.days:
            at = next(n for n, part in enumerate(block.parts) if part.last > day)
            step = block.visit.steps[at]
            yield Wait(day, step.id, packer.why(block.visit, step, day, block.heavy_days))
