"""Names for hours: the quick question and the full answer agree."""

from datetime import date

import numpy as np

from scheduler.roster.names import Shortfall, Team, shares_on, shortfall_on
from scheduler.roster.problem import Job, Problem, Worker
from scheduler.roster.teams import Crew
from scheduler.terms import Season

SKILLS = ("chipper-hand", "ground-saw", "pole-saw")


def a_day(rng: np.random.Generator) -> tuple[list[Team], Crew]:
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
        job = Job(f"j{n}", "", 1.0, team, 4, np.ones(1, dtype=bool), no, no)
        teams.append(Team(job, job.n_people + int(rng.integers(0, 2)), int(rng.integers(30, 200))))
    problem = Problem(Season(date(2027, 1, 4), 1), tuple(t.job for t in teams), (), workers)
    return teams, Crew(problem)


def test_the_quick_question_finds_the_same_limit_as_the_full_answer() -> None:
    rng = np.random.default_rng(11)
    n_short = n_turns = 0
    for _ in range(400):
        teams, crew = a_day(rng)
        full, quick = shares_on(0, teams, crew), shortfall_on(0, teams, crew)
        assert quick == (full if isinstance(full, Shortfall) else None)
        n_short += quick is not None
        if not isinstance(full, Shortfall):
            n_turns += any(
                sum(by.values()) > 0 and len(by) > t.people
                for t, by in zip(teams, full.values(), strict=True)
            )
            for team in teams:
                given = sum(full[team.job.id].values())
                assert abs(given - team.people * team.minutes) < 1e-3
    assert n_short > 50, "days that are too full were asked"
    assert n_turns > 5, "days on which people must take turns were asked"
