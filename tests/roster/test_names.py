"""Names for hours: the answer and another solver's flow agree."""

from datetime import date

import numpy as np
from ortools.graph.python import max_flow

from scheduler.roster import CrewTeams, Problem, Step, Visit, Worker
from scheduler.roster.names import Shortfall, Team, shares_on
from scheduler.terms import Season

SKILLS = ("chipper-hand", "ground-saw", "pole-saw")


def a_day(rng: np.random.Generator) -> tuple[list[Team], CrewTeams]:
    """Invented people and teams, near to what the people can give."""
    workers = tuple(
        Worker(
            f"w{n}",
            frozenset(s for s in SKILLS if rng.random() < 0.4),
            np.full(1, float(rng.integers(2, 7))),
        )
        for n in range(int(rng.integers(2, 6)))
    )
    no = np.zeros(1)
    teams = []
    for n in range(int(rng.integers(1, 7))):
        team = {"hands": 1, str(rng.choice(SKILLS)): 1} if rng.random() < 0.6 else {"hands": 1}
        step = Step(f"s{n}", "", 1.0, team, 4, np.ones(1, dtype=bool), no, no)
        size = step.n_people + int(rng.integers(0, 2))
        teams.append(Team(step, size, int(rng.integers(30, 200))))
    visits = tuple(Visit(team.step.id, (team.step,)) for team in teams)
    return teams, CrewTeams(Problem(Season(date(2027, 1, 4), 1), visits, (), workers))


def can_be_named(teams: list[Team], crew: CrewTeams) -> bool:
    """Whether a largest flow of minutes fills every place (push-relabel, of OR-tools)."""
    flow, number, wanted = max_flow.SimpleMaxFlow(), {"start": 0, "end": 1}, 0

    def arc(tail: str, head: str, room: float) -> None:
        ends = (number.setdefault(tail, len(number)), number.setdefault(head, len(number)))
        flow.add_arc_with_capacity(*ends, int(room))

    for worker in crew.workers:
        arc(worker.name, "end", 60 * worker.hours[0])
    for team in teams:
        for skill, places in team.places.items():
            wanted += int(places * team.minutes)
            arc("start", f"{team.step.id} {skill}", places * team.minutes)
            for worker in crew.workers:
                room = 10**6 if worker.can(skill) else 0
                arc(f"{team.step.id} {skill}", f"{team.step.id} {worker.name}", room)
        for worker in crew.workers:
            arc(f"{team.step.id} {worker.name}", worker.name, team.minutes)
    assert flow.solve(0, 1) == flow.OPTIMAL
    return bool(flow.optimal_flow() == wanted)


def test_the_answer_and_another_flow_agree() -> None:
    rng = np.random.default_rng(11)
    n_short = n_turns = 0
    for _ in range(400):
        teams, crew = a_day(rng)
        full = shares_on(0, teams, crew)
        assert isinstance(full, Shortfall) != can_be_named(teams, crew)
        if isinstance(full, Shortfall):
            n_short += 1
        else:
            n_turns += any(
                sum(by.values()) > 0 and len(by) > t.people
                for t, by in zip(teams, full.values(), strict=True)
            )
            for team in teams:
                given = sum(full[team.step.id].values())
                assert abs(given - team.people * team.minutes) < 1e-3
    assert n_short > 50, "days that are too full were asked"
    assert n_turns > 5, "days on which people must take turns were asked"
