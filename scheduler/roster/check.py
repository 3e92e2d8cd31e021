"""Every hard rule, asked of a finished roster without the solver.

Nothing here is shared with the code that makes rosters: the hours are added up again from
the problem and the stints alone.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Literal, TypeAlias

from scheduler.roster.plan import Roster, Stint
from scheduler.roster.problem import HANDS, Job, Order, Problem, Worker

Rule: TypeAlias = Literal[
    "unknown-job", "twice", "missing", "season", "window", "fixed-day", "days-off-only",
    "n-days", "work", "team-size", "team-skill", "team-time", "person-absent", "person-hours",
    "kit", "ground", "order-least", "order-most", "order-missing", "order-day", "heavy-row",
]  # fmt: skip
_SLACK_H = 1e-4


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One hard rule broken.

    Args:
        rule: which rule.
        about: job id, name, kit id or plot.
        day: day number, or -1 where the rule is not about one day.
        fact: the figures, in short and neutral words.
    """

    rule: Rule
    about: str
    day: int
    fact: str


def faults_in(problem: Problem, roster: Roster) -> tuple[Fault, ...]:
    """All faults of a roster, sorted; empty where every hard rule is kept."""
    jobs = {job.id: job for job in problem.jobs}
    known = [s for s in roster.stints if s.job_id in jobs]
    stints = {s.job_id: s for s in known}
    found = [*_listed(problem, roster)]
    for stint in known:
        found += _stands(jobs[stint.job_id], stint, problem)
    for stint in known:
        found += _teams(jobs[stint.job_id], stint, problem)
    found += [*_people(problem, known), *_kits(problem, jobs, known)]
    found += [*_ground(problem, jobs, known), *_orders(problem, jobs, stints)]
    found += [*_heavy_rows(problem, jobs, known)]
    return tuple(sorted(found))


def _listed(problem: Problem, roster: Roster) -> Iterator[Fault]:
    """Every job stands once, or is said to be left out."""
    jobs = {job.id for job in problem.jobs}
    times: dict[str, int] = defaultdict(int)
    for stint in roster.stints:
        times[stint.job_id] += 1
    for job_id in roster.left_out:
        times[job_id] += 1
    for job_id in sorted(set(times) - jobs):
        yield Fault("unknown-job", job_id, -1, "not in the problem")
    for job_id in sorted(jobs):
        if times[job_id] == 0:
            yield Fault("missing", job_id, -1, "neither placed nor left out")
        elif times[job_id] > 1:
            yield Fault("twice", job_id, -1, f"stands {times[job_id]} times")


def _stands(job: Job, stint: Stint, problem: Problem) -> Iterator[Fault]:
    """Within the season and the window, on the grower's own day, bridging only days off.

    Heavy work bridges the one day of rest that the cap asks for, too.
    """
    days = stint.days
    if not days or days[0] < 0 or days[-1] >= problem.season.n_days:
        yield Fault("season", job.id, -1, f"days {days}")
        return
    if any(later <= earlier for earlier, later in pairwise(days)):
        yield Fault("twice", job.id, -1, f"days {days} are not ascending")
    if job.fixed_first is not None and days[0] != job.fixed_first:
        yield Fault("fixed-day", job.id, days[0], f"fixed for day {job.fixed_first}")
    if job.fixed_first is None:
        closed = [day for day in range(days[0], days[-1] + 1) if not job.open[day]]
        yield from (Fault("window", job.id, day, "closed") for day in closed)
    bridged = set(range(days[0], days[-1])) - set(days)
    for day in sorted(bridged):
        if _could_work(job, day, problem) and not _rests(job, stint, day, problem):
            yield Fault("days-off-only", job.id, day, "a day on which the work could go on")


def _rests(job: Job, stint: Stint, day: int, problem: Problem) -> bool:
    """Whether the job's own heavy days, and those worked before it, have reached the cap."""
    if not job.heavy or problem.heavy_in_row is None:
        return False
    spent = set(stint.days) | problem.heavy_worked
    return all(day - back in spent for back in range(1, problem.heavy_in_row + 1))


def _could_work(job: Job, day: int, problem: Problem) -> bool:
    """Whether crew and kit could do something for the job on that day, were it alone."""
    if any(kit.units[day] < job.uses.get(kit.id, 0) for kit in problem.kits):
        return False
    here = [worker for worker in problem.workers if worker.hours[day] * 60 >= 1]
    wanted = [(group, sum(job.team[s] for s in group)) for group in _groups(job.team)]
    return all(sum(_has(w, group) for w in here) >= n for group, n in wanted)


def _groups(skills: object) -> list[tuple[str, ...]]:
    names = sorted(skills)  # type: ignore[call-overload]
    return [group for n in range(len(names)) for group in combinations(names, n + 1)]


def _has(worker: Worker, group: tuple[str, ...]) -> bool:
    return any(skill == HANDS or skill in worker.skills for skill in group)


def _teams(job: Job, stint: Stint, problem: Problem) -> Iterator[Fault]:
    """The work is done, by teams of the right size and skills that nobody fills twice."""
    lists = (stint.hours, stint.elapsed_h, stint.people, stint.each_h)
    if any(len(entries) != len(stint.days) for entries in lists):
        yield Fault("work", job.id, -1, "not one entry for each day")
        return
    if job.n_days is not None and len(stint.days) != job.n_days:
        yield Fault("n-days", job.id, -1, f"{len(stint.days)} days, not {job.n_days}")
    if job.n_days is None and abs(sum(stint.hours) - job.work_h) > _SLACK_H:
        yield Fault("work", job.id, -1, f"{sum(stint.hours):.3f} h, not {job.work_h:.3f}")
    if job.n_days is not None and not job.team:
        return
    workers = {worker.name: worker for worker in problem.workers}
    for i, day in enumerate(stint.days):
        yield from _team_on(job, stint, i, day, workers)


def _team_on(
    job: Job, stint: Stint, i: int, day: int, workers: dict[str, Worker]
) -> Iterator[Fault]:
    hours, elapsed_h = stint.hours[i], stint.elapsed_h[i]
    turns = dict(zip(stint.people[i], stint.each_h[i], strict=True))
    if set(turns) - set(workers):
        yield Fault("person-absent", job.id, day, "a name that is not in the crew")
        return
    if elapsed_h <= 0 or abs(sum(turns.values()) - hours) > _SLACK_H:
        yield Fault("work", job.id, day, f"{sum(turns.values()):.3f} h by name, not {hours:.3f}")
        return
    size, least = hours / elapsed_h, sum(job.team.values())
    most = least if job.n_days is not None else max(job.team_max, least)
    if abs(size - round(size)) > _SLACK_H or not least <= round(size) <= most:
        yield Fault("team-size", job.id, day, f"{size:.3f} people, from {least} to {most}")
    for name, given in sorted(turns.items()):
        if given > elapsed_h + _SLACK_H:
            yield Fault("team-time", name, day, f"{given:.3f} h of {elapsed_h:.3f} for {job.id}")
    for group in _groups([skill for skill in job.team if skill != HANDS]):
        wanted = elapsed_h * sum(job.team[skill] for skill in group)
        able = sum(given for name, given in turns.items() if _has(workers[name], group))
        if able < wanted - _SLACK_H:
            fact = f"{able:.3f} h of {wanted:.3f} h {'+'.join(group)}"
            yield Fault("team-skill", job.id, day, fact)


def _people(problem: Problem, stints: list[Stint]) -> Iterator[Fault]:
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
            yield Fault("person-hours", name, day, f"{hours:.3f} h of {room:.3f} h")


def _kits(problem: Problem, jobs: dict[str, Job], stints: list[Stint]) -> Iterator[Fault]:
    """No more units are held than there are; within a day kit may go from job to job."""
    for kit in problem.kits:
        held: dict[int, float] = defaultdict(float)
        for stint in stints:
            units = jobs[stint.job_id].uses.get(kit.id, 0)
            for day, elapsed_h in zip(stint.days, stint.elapsed_h, strict=True):
                held[day] += units * (elapsed_h / _day_h(problem, day) if elapsed_h else 1.0)
        for day, units_held in sorted(held.items()):
            room = int(kit.units[day]) if 0 <= day < len(kit.units) else 0
            if units_held > room + _SLACK_H:
                yield Fault("kit", kit.id, day, f"{units_held:.2f} units of {room}")


def _day_h(problem: Problem, day: int) -> float:
    return max((float(worker.hours[day]) for worker in problem.workers), default=0.0)


def _ground(problem: Problem, jobs: dict[str, Job], stints: list[Stint]) -> Iterator[Fault]:
    """Jobs of one plot follow one another within the day."""
    spent: dict[tuple[str, int], float] = defaultdict(float)
    for stint in stints:
        for day, elapsed_h in zip(stint.days, stint.elapsed_h, strict=False):
            spent[jobs[stint.job_id].plot, day] += elapsed_h
    for (plot, day), hours in sorted(spent.items()):
        if plot and 0 <= day < problem.season.n_days:
            room = _day_h(problem, day)
            if hours > room + _SLACK_H:
                yield Fault("ground", plot, day, f"{hours:.3f} h of {room:.3f} h")


def _orders(problem: Problem, jobs: dict[str, Job], stints: dict[str, Stint]) -> Iterator[Fault]:
    """Nothing stands without what it follows, too soon after it, or too late."""
    for order in problem.orders:
        before, after = stints.get(order.before), stints.get(order.after)
        if after is None or not after.days:
            continue
        if before is None or not before.days:
            yield Fault("order-missing", order.after, after.days[0], f"without {order.before}")
            continue
        wait = after.days[0] - before.days[-1]
        fact = f"{wait} days after {order.before}"
        if wait < order.min_days:
            yield Fault("order-least", order.after, after.days[0], fact)
        if order.within_days is not None and wait > order.within_days:
            yield Fault("order-most", order.after, after.days[0], fact)
        if wait == 0:
            yield from _one_day(problem, jobs, order, before, after)


def _one_day(
    problem: Problem, jobs: dict[str, Job], order: Order, before: Stint, after: Stint
) -> Iterator[Fault]:
    """On different ground, too, one after the other fits into the day."""
    day, plots = after.days[0], (jobs[order.before].plot, jobs[order.after].plot)
    hours = before.elapsed_h[-1] + after.elapsed_h[0]
    if (not plots[0] or plots[0] != plots[1]) and hours > _day_h(problem, day) + _SLACK_H:
        fact = f"{hours:.3f} h of {_day_h(problem, day):.3f} h"
        yield Fault("order-day", order.after, day, fact)


def _heavy_rows(problem: Problem, jobs: dict[str, Job], stints: list[Stint]) -> Iterator[Fault]:
    """Of any days in a row, one more than the cap, at least one is light."""
    if problem.heavy_in_row is None:
        return
    planned: dict[int, str] = {}
    for stint in stints:
        if jobs[stint.job_id].heavy:
            planned |= dict.fromkeys(stint.days, stint.job_id)
    added = planned.keys() - problem.heavy_worked  # what was worked too long is no fault of these
    for last in sorted(planned.keys() | problem.heavy_worked):
        days = set(range(last - problem.heavy_in_row, last + 1))
        if days <= planned.keys() | problem.heavy_worked and days & added:
            fact = f"{len(days)} heavy days in a row, at most {problem.heavy_in_row}"
            yield Fault("heavy-row", planned[max(days & added)], last, fact)
