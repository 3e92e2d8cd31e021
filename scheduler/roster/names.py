"""Names for the hours: who stands in which team on a day, and what forbids it if nobody can.

First whole people are tried, one for each place and for the whole of a job's time that
day. Where that fails, places are shared by turns: a largest flow of minutes from jobs to
people (Ford and Fulkerson 1956, Canadian Journal of Mathematics 8:399-404), in which nobody
gives a job more than its elapsed time. Where the flow falls short, its smallest cut is a
limit that every plan must keep, and that the rows of the model did not say.
"""

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduler.roster.placements import Placement
from scheduler.roster.plan import Stint
from scheduler.roster.problem import HANDS, Job, Problem
from scheduler.roster.teams import Crew

Shares = dict[str, dict[str, float]]  # minutes by job id and name


@dataclass(frozen=True, slots=True)
class Team:
    """One job's team on one day.

    Args:
        job: the job.
        people: size of the team.
        minutes: time by the clock that each place is filled.
    """

    job: Job
    people: int
    minutes: float

    @property
    def places(self) -> dict[str, int]:
        """Places by skill; whoever is above the smallest team needs only hands."""
        places = {skill: n for skill, n in sorted(self.job.team.items()) if n}
        extra = self.people - self.job.n_people
        return {**places, HANDS: places.get(HANDS, 0) + extra}


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A limit that the teams of one day break together.

    These people would have to give more than all their minutes, even if everybody else
    gave each job its whole elapsed time.

    Args:
        day: day number.
        people: their names; empty where nobody is there.
    """

    day: int
    people: frozenset[str]


def teams_on(day: int, jobs: Mapping[str, Job], plan: Mapping[str, Placement]) -> list[Team]:
    """The teams that stand on a day, by job id."""
    teams = []
    for job_id, p in sorted(plan.items()):
        if day in p.days and p.people[i := p.days.index(day)]:
            teams.append(Team(jobs[job_id], p.people[i], p.work_min[i] / p.people[i]))
    return teams


def shares_on(day: int, teams: Sequence[Team], crew: Crew) -> Shares | Shortfall:
    """Minutes by job and name on one day, or the limit that forbids these teams."""
    here = {w.name: int(m) for w, m in zip(crew.workers, crew.minutes[:, day], strict=True) if m}
    can = {w.name: w.skills | {HANDS} for w in crew.workers}
    whole = _whole_people(teams, here, can)
    return whole if whole is not None else _by_turns(day, teams, here, can)


def _whole_people(
    teams: Sequence[Team], here: Mapping[str, int], can: Mapping[str, frozenset[str]]
) -> Shares | None:
    """Fill the scarcest places first, each with the least skilled person who has the time."""
    left: dict[str, float] = dict(here)
    holders = {s: sum(s in can[name] for name in here) for t in teams for s in t.places}
    wanted = [(holders[s], -t.minutes, t.job.id, s, t) for t in teams for s in t.places]
    shares: Shares = {team.job.id: {} for team in teams}
    for _, _, job_id, skill, team in sorted(wanted, key=lambda place: place[:4]):
        for _ in range(team.places[skill]):
            free = [n for n in left if skill in can[n] and n not in shares[job_id]]
            free = [n for n in free if left[n] >= team.minutes - 1e-6]
            if not free:
                return None
            chosen = min(free, key=lambda n: (len(can[n]), -left[n], n))
            shares[job_id][chosen] = team.minutes
            left[chosen] -= team.minutes
    return shares


Node = tuple[str, ...]


class _Flow:
    """Capacities between nodes, used up by augmenting along shortest paths."""

    def __init__(self) -> None:
        self.room: dict[Node, dict[Node, float]] = {}

    def add(self, tail: Node, head: Node, room: float) -> None:
        self.room.setdefault(tail, {})[head] = room
        self.room.setdefault(head, {}).setdefault(tail, 0.0)

    def reached(self, start: Node) -> dict[Node, Node]:
        """Nodes that room is left to, each with the node before it."""
        before, todo = {start: start}, deque([start])
        while todo:
            node = todo.popleft()
            for head, room in self.room[node].items():
                if room > 1e-7 and head not in before:
                    before[head] = node
                    todo.append(head)
        return before

    def run(self, start: Node, end: Node) -> float:
        """Push all that goes from start to end; return how much."""
        total = 0.0
        while end in (before := self.reached(start)):
            path = [end]
            while path[-1] != start:
                path.append(before[path[-1]])
            steps = list(zip(path[1:], path[:-1], strict=True))
            amount = min(self.room[tail][head] for tail, head in steps)
            for tail, head in steps:
                self.room[tail][head] -= amount
                self.room[head][tail] += amount
            total += amount
        return total


START, END, ENDLESS = ("start",), ("end",), 1e9


def _by_turns(
    day: int, teams: Sequence[Team], here: Mapping[str, int], can: Mapping[str, frozenset[str]]
) -> Shares | Shortfall:
    flow, wanted = _Flow(), 0.0
    for name, minutes in here.items():
        flow.add(("person", name), END, minutes)
    for team in teams:
        job_id = team.job.id
        for skill, places in team.places.items():
            wanted += places * team.minutes
            flow.add(START, ("place", job_id, skill), places * team.minutes)
            for name in here:
                if skill in can[name]:
                    flow.add(("place", job_id, skill), ("turn", job_id, name), ENDLESS)
        for name in here:
            flow.add(("turn", job_id, name), ("person", name), team.minutes)
    if flow.run(START, END) < wanted - 1e-4:
        reached = flow.reached(START)
        return Shortfall(day, frozenset(name for name in here if ("person", name) in reached))
    given = {
        team.job.id: {n: flow.room["person", n]["turn", team.job.id, n] for n in here}
        for team in teams
    }
    return {job_id: {n: m for n, m in by.items() if m > 1e-6} for job_id, by in given.items()}


def stints_of(
    problem: Problem, crew: Crew, plan: Mapping[str, Placement]
) -> tuple[Stint, ...] | list[Shortfall]:
    """The plan with names on it, or every day's limit that forbids it."""
    jobs = {job.id: job for job in problem.jobs}
    by_day: dict[int, dict[str, Placement]] = {}
    for job_id, p in plan.items():
        for day in p.days:
            by_day.setdefault(day, {})[job_id] = p
    answers = {
        day: shares_on(day, teams_on(day, jobs, there), crew) for day, there in by_day.items()
    }
    short = [answer for _, answer in sorted(answers.items()) if isinstance(answer, Shortfall)]
    if short:
        return short
    shares = {day: answer for day, answer in answers.items() if not isinstance(answer, Shortfall)}
    return tuple(_stint(job_id, p, shares) for job_id, p in sorted(plan.items()))


def _stint(job_id: str, p: Placement, shares: Mapping[int, Shares]) -> Stint:
    by_day = [sorted(shares[day].get(job_id, {}).items()) for day in p.days]
    return Stint(
        job_id,
        p.days,
        tuple(minutes / 60 for minutes in p.work_min),
        tuple(w / n / 60 if n else 0.0 for w, n in zip(p.work_min, p.people, strict=True)),
        tuple(tuple(name for name, _ in turns) for turns in by_day),
        tuple(tuple(minutes / 60 for _, minutes in turns) for turns in by_day),
    )
