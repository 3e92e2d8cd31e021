"""Every hard rule, asked of a finished roster without the solver.

Nothing here is shared with the code that makes rosters: the hours are added up again from
the problem and the stints alone.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Literal, TypeAlias

from scheduler.roster.problem import HANDS, Problem, Step, Worker
from scheduler.roster.result import Roster, Stint

Rule: TypeAlias = Literal[
    "unknown-step", "twice", "missing", "half-visit", "season", "window", "fixed-day", "work",
    "team-size", "team-skill", "team-time", "person-absent", "person-hours", "kit", "ground",
    "order-least", "order-most", "order-missing", "heavy-row", "pause",
]  # fmt: skip
_SLACK_H = 1e-4


@dataclass(frozen=True, slots=True, order=True)
class Breach:
    """One hard rule broken."""

    rule: Rule  # which rule
    about: str  # step or visit id, name, kit id or plot
    day: int  # day number, or -1 where the rule is not about one day
    fact: str  # the figures, in short and neutral words


class BrokenRuleError(Exception):
    """A plan that was made breaks hard rules: the program is at fault, and it is not given out."""

    def __init__(self, faults: Sequence[Breach]) -> None:
        told = "; ".join(f"{f.rule} of {f.about} (day {f.day}): {f.fact}" for f in faults)
        super().__init__(f"the plan breaks hard rules: {told}")


def faults_in(problem: Problem, roster: Roster) -> tuple[Breach, ...]:
    """All faults of a roster, sorted; empty where every hard rule is kept."""
    steps = problem.by_id
    known = [s for s in roster.stints if s.step_id in steps]
    stints = {s.step_id: s for s in known}
    faults = [*_listed(problem, roster)]
    for stint in known:
        step = steps[stint.step_id]
        faults += [*_stands(step, stint, problem), *_teams(step, stint, problem)]
    faults += [*_people(problem, known), *_kits(problem, steps, known)]
    faults += [*_ground(problem, steps, known), *_orders(problem, stints)]
    faults += [*_heavy_rows(problem, steps, known), *_pauses(problem, stints)]
    return tuple(sorted(faults))


def _listed(problem: Problem, roster: Roster) -> Iterator[Breach]:
    """Every step of a visit is placed once, or the whole visit is said to be left out."""
    times, left_out = Counter(stint.step_id for stint in roster.stints), set(roster.left_out)
    unknown = (times.keys() - problem.by_id.keys()) | (left_out - problem.visit_by_id.keys())
    for name in sorted(unknown):
        yield Breach("unknown-step", name, -1, "not in the problem")
    for visit in problem.visits:
        placed = [step.id for step in visit.steps if times[step.id]]
        for step_id in placed:
            if times[step_id] > 1 or visit.id in left_out:
                yield Breach("twice", step_id, -1, f"placed {times[step_id]} times, or left out")
        if len(placed) not in (0, len(visit.steps)):
            yield Breach("half-visit", visit.id, -1, f"{len(placed)} of {len(visit.steps)} steps")
        if not placed and visit.id not in left_out:
            yield Breach("missing", visit.id, -1, "neither placed nor left out")


def _stands(step: Step, stint: Stint, problem: Problem) -> Iterator[Breach]:
    """Within the season and the window, on the grower's own day."""
    days = stint.days
    if not days or days[0] < 0 or days[-1] >= problem.season.n_days:
        yield Breach("season", step.id, -1, f"days {days}")
        return
    if any(later <= earlier for earlier, later in pairwise(days)):
        yield Breach("twice", step.id, -1, f"days {days} are not ascending")
    if step.fixed_first is not None and days[0] != step.fixed_first:
        yield Breach("fixed-day", step.id, days[0], f"fixed for day {step.fixed_first}")
    if step.fixed_first is None:
        yield from (Breach("window", step.id, day, "closed") for day in days if not step.open[day])


def _groups(skills: Collection[str]) -> list[tuple[str, ...]]:
    names = sorted(skills)
    return [group for n in range(len(names)) for group in combinations(names, n + 1)]


def _who_has(skills: tuple[str, ...], workers: dict[str, Worker]) -> list[str]:
    return [name for name, worker in workers.items() if not worker.skills.isdisjoint(skills)]


def _teams(step: Step, stint: Stint, problem: Problem) -> Iterator[Breach]:
    """The work is done, by teams of the right size and skills that nobody fills twice."""
    lists = (stint.hours, stint.elapsed_h, stint.people, stint.each_h)
    if any(len(entries) != len(stint.days) for entries in lists):
        yield Breach("work", step.id, -1, "not one entry for each day")
        return
    if abs(sum(stint.hours) - step.work_h) > _SLACK_H:
        yield Breach("work", step.id, -1, f"{sum(stint.hours):.3f} h, not {step.work_h:.3f}")
    workers = {worker.name: worker for worker in problem.workers}
    for i, day in enumerate(stint.days):
        yield from _team_on(step, stint, i, day, workers)


def _team_on(
    step: Step, stint: Stint, i: int, day: int, workers: dict[str, Worker]
) -> Iterator[Breach]:
    hours, elapsed_h = stint.hours[i], stint.elapsed_h[i]
    turns = dict(zip(stint.people[i], stint.each_h[i], strict=True))
    if set(turns) - set(workers):
        yield Breach("person-absent", step.id, day, "a name that is not in the crew")
        return
    if elapsed_h <= 0 or abs(sum(turns.values()) - hours) > _SLACK_H:
        yield Breach("work", step.id, day, f"{sum(turns.values()):.3f} h by name, not {hours:.3f}")
        return
    size, least = hours / elapsed_h, sum(step.team.values())
    most = max(step.team_max, least)
    if abs(size - round(size)) > _SLACK_H or not least <= round(size) <= most:
        yield Breach("team-size", step.id, day, f"{size:.3f} people, from {least} to {most}")
    for name, given in sorted(turns.items()):
        if given > elapsed_h + _SLACK_H:
            yield Breach("team-time", name, day, f"{given:.3f} h of {elapsed_h:.3f} for {step.id}")
    for group in _groups(step.team.keys() - {HANDS}):
        wanted = elapsed_h * sum(step.team[skill] for skill in group)
        able = sum(turns.get(name, 0.0) for name in _who_has(group, workers))
        if able < wanted - _SLACK_H:
            fact = f"{able:.3f} h of {wanted:.3f} h {'+'.join(group)}"
            yield Breach("team-skill", step.id, day, fact)


def _people(problem: Problem, stints: list[Stint]) -> Iterator[Breach]:
    """Nobody works more than their hours of the day."""
    given: dict[tuple[str, int], float] = defaultdict(float)
    for stint in stints:
        for day, names, each in zip(stint.days, stint.people, stint.each_h, strict=False):
            for name, hours in zip(names, each, strict=False):
                given[name, day] += hours
    has = {worker.name: worker.hours for worker in problem.workers}
    for (name, day), hours in sorted(given.items()):
        room = float(has[name][day]) if name in has and 0 <= day < len(has[name]) else 0.0
        if hours > room + _SLACK_H:
            yield Breach("person-hours", name, day, f"{hours:.3f} h of {room:.3f} h")


def _kits(problem: Problem, steps: dict[str, Step], stints: list[Stint]) -> Iterator[Breach]:
    """Kit is held no longer than it is there; within a day it may go from step to step."""
    for kit in problem.kits:
        held: dict[int, float] = defaultdict(float)
        for stint in stints:
            units = steps[stint.step_id].uses.get(kit.id, 0)
            for day, elapsed_h in zip(stint.days, stint.elapsed_h, strict=True):
                held[day] += units * elapsed_h
        for day, hours in sorted(held.items()):
            there = 0 <= day < len(kit.units)
            room = float(kit.units[day]) * _day_h(problem, day) if there else 0.0
            if there and kit.minutes is not None:
                room = min(room, float(kit.minutes[day]) / 60)
            if hours > room + _SLACK_H:
                yield Breach("kit", kit.id, day, f"{hours:.2f} h of {room:.2f} h")


def _day_h(problem: Problem, day: int) -> float:
    return max((float(worker.hours[day]) for worker in problem.workers), default=0.0)


def _ground(problem: Problem, steps: dict[str, Step], stints: list[Stint]) -> Iterator[Breach]:
    """Jobs of one plot follow one another within the day."""
    spent: dict[tuple[str, int], float] = defaultdict(float)
    for stint in stints:
        for day, elapsed_h in zip(stint.days, stint.elapsed_h, strict=False):
            spent[steps[stint.step_id].plot, day] += elapsed_h
    for (plot, day), hours in sorted(spent.items()):
        if plot and 0 <= day < problem.season.n_days:
            room = _day_h(problem, day)
            if hours > room + _SLACK_H:
                yield Breach("ground", plot, day, f"{hours:.3f} h of {room:.3f} h")


def _orders(problem: Problem, stints: dict[str, Stint]) -> Iterator[Breach]:
    """Nothing stands without what it follows, too soon after it, or too late."""
    for order in problem.orders:
        before, after = stints.get(order.before), stints.get(order.after)
        if after is None or not after.days:
            continue
        if before is None or not before.days:
            yield Breach("order-missing", order.after, after.days[0], f"without {order.before}")
            continue
        wait = after.days[0] - before.days[-1]
        fact = f"{wait} days after {order.before}"
        if wait < order.min_days:
            yield Breach("order-least", order.after, after.days[0], fact)
        if order.within_days is not None and wait > order.within_days:
            yield Breach("order-most", order.after, after.days[0], fact)


def _pauses(problem: Problem, stints: dict[str, Stint]) -> Iterator[Breach]:
    """A visit that is begun goes on before too many days have gone by."""
    for visit in problem.visits:
        stood = [stints[step.id] for step in visit.steps if step.id in stints]
        days = sorted({day for stint in stood for day in stint.days})
        for one, other in pairwise(days):
            if visit.pause_days is not None and other - one > visit.pause_days:
                fact = f"{other - one} days after its last work, at most {visit.pause_days}"
                yield Breach("pause", visit.id, other, fact)


def _heavy_rows(problem: Problem, steps: dict[str, Step], stints: list[Stint]) -> Iterator[Breach]:
    """Of any days in a row, one more than the cap, at least one is light."""
    if problem.heavy_in_row is None:
        return
    planned: dict[int, str] = {}
    for stint in stints:
        if steps[stint.step_id].heavy:
            planned |= dict.fromkeys(stint.days, stint.step_id)
    added = planned.keys() - problem.heavy_worked  # what was worked too long is no fault of these
    for last in sorted(planned.keys() | problem.heavy_worked):
        days = set(range(last - problem.heavy_in_row, last + 1))
        if days <= planned.keys() | problem.heavy_worked and days & added:
            fact = f"{len(days)} heavy days in a row, at most {problem.heavy_in_row}"
            yield Breach("heavy-row", planned[max(days & added)], last, fact)
