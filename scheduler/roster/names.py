"""Names for the hours: who stands in which team on a day, and what forbids it if nobody can.

First whole people are tried, one for each place and for the whole of a step's time that
day. Where that fails, places are shared by turns: a largest flow of minutes from steps to
people (Ford and Fulkerson 1956, Canadian Journal of Mathematics 8:399-404), in which nobody
gives a step more than its elapsed time. Where the flow falls short, its smallest cut is a
limit that every plan must keep, and that the rows of the model did not say.
"""

from bisect import insort
from collections import deque
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from scheduler.roster.placements import Block, Placement
from scheduler.roster.problem import HANDS, Step
from scheduler.roster.result import Stint
from scheduler.roster.teams import CrewTeams

Shares = dict[str, dict[str, float]]  # minutes by step id and name


@dataclass(frozen=True)
class Team:
    """One step's team on one day."""

    step: Step  # the step
    people: int  # size of the team
    minutes: float  # time by the clock that each place is filled

    @cached_property
    def places(self) -> dict[str, int]:
        """Places by skill; whoever is above the smallest team needs only hands."""
        places = {skill: n for skill, n in sorted(self.step.team.items()) if n}
        extra = self.people - self.step.n_people
        return {**places, HANDS: places.get(HANDS, 0) + extra}


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A limit that the teams of one day break together.

    These people would have to give more than all their minutes, even if everybody else
    gave each step its whole elapsed time.
    """

    day: int  # day number
    people: frozenset[str]  # their names; empty where nobody is there


def teams_on(day: int, plan: Mapping[str, Block]) -> list[Team]:
    """The teams that stand on a day, by step id."""
    teams = [
        Team(step, people, work_min / people)
        for block in plan.values()
        for step, people, _, work_min in block.on.get(day, ())
    ]
    return sorted(teams, key=lambda team: team.step.id)


def shares_on(day: int, teams: Sequence[Team], crew: CrewTeams) -> Shares | Shortfall:
    """Minutes by step and name on one day, or the limit that forbids these teams."""
    here = {w.name: int(m) for w, m in zip(crew.workers, crew.minutes[:, day], strict=True) if m}
    can = {w.name: w.skills | {HANDS} for w in crew.workers}
    return _whole_people(teams, here, can) or _by_turns(day, teams, here, can)


def _whole_people(
    teams: Sequence[Team], here: Mapping[str, int], can: Mapping[str, frozenset[str]]
) -> Shares | None:
    """Fill the scarcest places first, each with the least skilled person who has the time.

    None where a place could not be filled for the whole of its time.
    """
    free = _Free(here, can, {skill for team in teams for skill in team.places})
    wanted = [(len(free.of[s]), -t.minutes, t.step.id, s, t) for t in teams for s in t.places]
    shares: Shares = {team.step.id: {} for team in teams}
    for _, _, step_id, skill, team in sorted(wanted, key=lambda place: place[:4]):
        for _ in range(team.places[skill]):
            name = free.take(skill, team.minutes, shares[step_id].keys())
            if name is None:
                return None
            shares[step_id][name] = team.minutes
    return shares


class _Free:
    """Who has time left on a day: by skill, the least skilled first, of those the freest."""

    def __init__(
        self, here: Mapping[str, int], can: Mapping[str, frozenset[str]], skills: set[str]
    ) -> None:
        self.can = can
        keys = sorted((len(can[name]), -float(minutes), name) for name, minutes in here.items())
        self.of = {skill: [key for key in keys if skill in can[key[2]]] for skill in skills}

    def take(self, skill: str, minutes: float, but: Collection[str]) -> str | None:
        """Take minutes of the first who has them, and none of those that are excepted."""
        for key in self.of[skill]:
            few, spent, name = key
            if -spent >= minutes - 1e-6 and name not in but:
                for own in self.can[name] & self.of.keys():
                    self.of[own].remove(key)
                    insort(self.of[own], (few, spent + minutes, name))
                return name
        return None


Node = tuple[str, ...]


class _Flow:
    """Capacities between nodes, used up by augmenting along shortest paths."""

    def __init__(self) -> None:
        self.room: dict[Node, dict[Node, float]] = {}

    def add(self, tail: Node, head: Node, room: float) -> None:
        self.room.setdefault(tail, {})[head] = room
        self.room.setdefault(head, {}).setdefault(tail, 0.0)

    def reached(self, start: Node, end: Node | None = None) -> dict[Node, Node]:
        """Nodes that room is left to, each with the node before it; at ``end`` it stops."""
        before, todo = {start: start}, deque([start])
        while todo and end not in before:
            node = todo.popleft()
            for head, room in self.room[node].items():
                if room > 1e-7 and head not in before:
                    before[head] = node
                    todo.append(head)
        return before

    def run(self, start: Node, end: Node) -> float:
        """Push all that goes from start to end; return how much."""
        total = 0.0
        while end in (before := self.reached(start, end)):
            path = [end]
            while path[-1] != start:
                path.append(before[path[-1]])
            path.reverse()
            amount = min(self.room[tail][head] for tail, head in pairwise(path))
            for tail, head in pairwise(path):
                self.room[tail][head] -= amount
                self.room[head][tail] += amount
            total += amount
        return total


START, END, ENDLESS = ("start",), ("end",), 1e9


def _by_turns(
    day: int, teams: Sequence[Team], here: Mapping[str, int], can: Mapping[str, frozenset[str]]
) -> Shares | Shortfall:
    flow, shares = _network(teams, here, can), Shares()
    wanted = sum(flow.room[START].values())
    if flow.run(START, END) < wanted - 1e-4:
        reached = flow.reached(START)
        return Shortfall(day, frozenset(name for name in here if ("person", name) in reached))
    for team in teams:
        given = {name: flow.room["person", name]["turn", team.step.id, name] for name in here}
        shares[team.step.id] = {name: minutes for name, minutes in given.items() if minutes > 1e-6}
    return shares


def _network(
    teams: Sequence[Team], here: Mapping[str, int], can: Mapping[str, frozenset[str]]
) -> _Flow:
    """Minutes from the places of each team through the turns in it to the people's days."""
    flow = _Flow()
    for name, minutes in here.items():
        flow.add(("person", name), END, minutes)
    for team in teams:
        step_id = team.step.id
        for skill, places in team.places.items():
            flow.add(START, ("place", step_id, skill), places * team.minutes)
            for name in here:
                if skill in can[name]:
                    flow.add(("place", step_id, skill), ("turn", step_id, name), ENDLESS)
        for name in here:
            flow.add(("turn", step_id, name), ("person", name), team.minutes)
    return flow


def stints_of(crew: CrewTeams, plan: Mapping[str, Block]) -> tuple[Stint, ...] | list[Shortfall]:
    """The plan with names on it, or every day's limit that forbids it."""
    by_day: dict[int, dict[str, Block]] = {}
    for visit_id, block in plan.items():
        for day in block.days:
            by_day.setdefault(day, {})[visit_id] = block
    answers = {day: shares_on(day, teams_on(day, there), crew) for day, there in by_day.items()}
    short = [answer for _, answer in sorted(answers.items()) if isinstance(answer, Shortfall)]
    if short:
        return short
    shares = {day: answer for day, answer in answers.items() if not isinstance(answer, Shortfall)}
    parts = {step_id: part for block in plan.values() for step_id, part in block.by_step.items()}
    return tuple(_stint(step_id, part, shares) for step_id, part in sorted(parts.items()))


def _stint(step_id: str, p: Placement, shares: Mapping[int, Shares]) -> Stint:
    by_day = [sorted(shares[day].get(step_id, {}).items()) for day in p.days]
    return Stint(
        step_id,
        p.days,
        tuple(minutes / 60 for minutes in p.work_min),
        tuple(w / n / 60 for w, n in zip(p.work_min, p.people, strict=True)),
        tuple(tuple(name for name, _ in turns) for turns in by_day),
        tuple(tuple(minutes / 60 for _, minutes in turns) for turns in by_day),
    )
