"""What already stands on each day, and whether one more placement fits beside it."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

from scheduler.roster.names import Team, shortfall_on, teams_on
from scheduler.roster.placements import Placement
from scheduler.roster.problem import HANDS, Job, Order, Problem
from scheduler.roster.rest import too_long
from scheduler.roster.teams import Crew, places

Sort: TypeAlias = Literal["crew", "kit", "plot", "heavy-row"]


@dataclass(frozen=True, slots=True)
class Load:
    """A limit that a placement would break on one day.

    Args:
        kind: the crew, the kit, the ground of the plot, or heavy days in a row.
        name: skills joined by ``+`` (crew), kit id, plot, or nothing.
        day: day number; of heavy days in a row the first of the placement's own among them.
        beside: ids of the jobs that stand there already and share that limit, sorted.
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
        self.jobs = {job.id: job for job in problem.jobs}
        self.placed: dict[str, Placement] = {}
        self.on_day: dict[int, set[str]] = defaultdict(set)
        n_days = crew.n_days
        self._people = {group: [0] * n_days for group in crew.groups}
        self._room = {group: room.tolist() for group, room in crew.capacity.items()}
        self._kit = {kit.id: [0] * n_days for kit in problem.kits}
        self._whole = [crew.whole_day_minutes(day) for day in range(n_days)]
        self._kit_room = {
            kit.id: [int(n) * whole for n, whole in zip(kit.units, self._whole, strict=True)]
            for kit in problem.kits
        }
        self._ground: dict[str, list[int]] = defaultdict(lambda: [0] * n_days)
        self._day = crew.day_minutes.tolist()
        self._heavy: dict[int, int] = defaultdict(int)  # heavy jobs by day

    def put(self, job: Job, placement: Placement) -> None:
        """Enter a placement, whether it fits or not."""
        self.placed[job.id] = placement
        for day in placement.days:
            self.on_day[day].add(job.id)
        self._enter(job, placement, 1)

    def take(self, job: Job) -> Placement:
        """Take a job's placement out again and return it."""
        placement = self.placed.pop(job.id)
        for day in placement.days:
            self.on_day[day].discard(job.id)
        self._enter(job, placement, -1)
        return placement

    def _enter(self, job: Job, placement: Placement, sign: int) -> None:
        for i, day in enumerate(placement.days):
            self._heavy[day] += sign * job.heavy
            elapsed = placement.elapsed_min[i]
            for group, used in self._people.items():
                used[day] += sign * places(job.team, placement.people[i], group) * elapsed
            if job.plot:
                self._ground[job.plot][day] += sign * elapsed
            for kit, units in job.uses.items():
                self._kit[kit][day] += sign * units * (elapsed or self._whole[day])

    def fits(self, job: Job, placement: Placement) -> bool:
        """Whether the people, the kit, the ground and rest allow one more placement."""
        if self._heavy_row(job, placement):
            return False
        asked = list(zip(placement.days, placement.people, placement.elapsed_min, strict=True))
        return not any(True for one in asked for _ in self._over(job, *one)) and all(
            self._has_names(job, *one) for one in asked
        )

    def loads(self, job: Job, placement: Placement) -> list[Load]:
        """Every limit that the placement would break beside what stands."""
        found: list[Load] = []
        for i, day in enumerate(placement.days):
            found += self._loads_of_day(job, day, placement.people[i], placement.elapsed_min[i])
        if row := self._heavy_row(job, placement):
            there = {other for day in row for other in self.on_day[day] if self.jobs[other].heavy}
            day = next(day for day in placement.days if day in row)
            found.append(Load("heavy-row", "", day, tuple(sorted(there)), row))
        return found

    def _heavy_row(self, job: Job, placement: Placement) -> tuple[int, ...]:
        """The row of heavy days that the placement would make too long."""
        cap = self.problem.heavy_in_row
        if cap is None or not job.heavy:
            return ()
        return too_long(cap, placement.days, self._is_heavy)

    def _is_heavy(self, day: int) -> bool:
        return self._heavy.get(day, 0) > 0 or day in self.problem.heavy_worked

    def _loads_of_day(self, job: Job, day: int, people: int, elapsed: int) -> list[Load]:
        found = []
        for kind, name in self._over(job, day, people, elapsed):
            kit, plot = name if kind == "kit" else "", name if kind == "plot" else ""
            found.append(Load(kind, name, day, self._beside(day, kit=kit, plot=plot)))
        if not found and not self._has_names(job, day, people, elapsed):
            found.append(Load("crew", HANDS, day, self._beside(day)))
        return found

    def _over(self, job: Job, day: int, people: int, elapsed: int) -> Iterator[tuple[Sort, str]]:
        """Sort and name of every limit that would be broken, those of names aside."""
        for group, used in self._people.items():
            wanted = places(job.team, people, group)
            if wanted and used[day] + wanted * elapsed > self._room[group][day]:
                yield "crew", "+".join(sorted(group))
        for kit, units in sorted(job.uses.items()):
            held = units * (elapsed or self._whole[day])
            if self._kit[kit][day] + held > self._kit_room[kit][day]:
                yield "kit", kit
        if job.plot and self._ground[job.plot][day] + elapsed > self._day[day] and elapsed:
            yield "plot", job.plot

    def _has_names(self, job: Job, day: int, people: int, elapsed: int) -> bool:
        there = {job_id: self.placed[job_id] for job_id in self.on_day[day]}
        if not people or not there:
            return True
        teams = [*teams_on(day, self.jobs, there), Team(job, people, elapsed)]
        return shortfall_on(day, teams, self.crew) is None

    def _beside(self, day: int, *, kit: str = "", plot: str = "") -> tuple[str, ...]:
        there = (self.jobs[job_id] for job_id in self.on_day[day])
        return tuple(
            sorted(
                job.id
                for job in there
                if (not kit or job.uses.get(kit)) and (not plot or job.plot == plot)
            )
        )

    def keeps(self, order: Order, before: Placement, after: Placement) -> bool:
        """Whether two placements keep an order, and share a day only if it is long enough."""
        return keeps(self.problem, self.crew, order, before, after)


def keeps(problem: Problem, crew: Crew, order: Order, before: Placement, after: Placement) -> bool:
    """Whether two placements keep an order, and share a day only if it is long enough."""
    wait = after.first - before.last
    if wait < order.min_days or (order.within_days is not None and wait > order.within_days):
        return False
    one, other = problem.by_id[order.before], problem.by_id[order.after]
    if wait > 0 or (one.plot and one.plot == other.plot):
        return True
    return bool(before.elapsed_min[-1] + after.elapsed_min[0] <= crew.day_minutes[after.first])
