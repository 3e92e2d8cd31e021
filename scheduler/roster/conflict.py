"""What cannot stand together: a smallest set of statements, found by leaving each out in turn."""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np

from scheduler.roster.aims import costs_of
from scheduler.roster.order import Choices, tightened
from scheduler.roster.placements import Packer
from scheduler.roster.problem import Problem
from scheduler.roster.serial import Serial
from scheduler.roster.solve import solve
from scheduler.roster.teams import CrewTeams

EFFORT = 0.2  # to prove one conflict

Statement = TypeVar("Statement", bound=Hashable)


def smallest(
    statements: Sequence[Statement], conflict: Callable[[frozenset[Statement]], bool]
) -> tuple[Statement, ...]:
    """A set of statements in conflict of which none can be spared; the first are spared first.

    Deletion filter: Chinneck and Dravnieks 1991, Locating minimal infeasible constraint sets in
    linear programs, ORSA Journal on Computing 3:157-168, from memory. More statements never
    conflict less.

    >>> smallest("abcd", lambda kept: {"b", "d"} <= kept)
    ('b', 'd')
    """
    kept = list(statements)
    step = max(1, len(kept) // 2)
    while True:  # halves first: most statements have nothing to do with it
        at = 0
        while at < len(kept):
            rest = [*kept[:at], *kept[at + step :]]
            if conflict(frozenset(rest)):
                kept = rest
            else:
                at += step
        if step == 1:
            return tuple(kept)
        step = max(1, step // 2)


def room_for_all(problem: Problem) -> Choices | None:
    """Where each visit could stand from its day in a first plan on; None where none was found.

    The problem is one of ``only_rules``. The first plan is that of the serial pass, which may
    miss one: ``proven_full`` tells.
    """
    crew = CrewTeams(problem)
    packer = Packer(problem, crew)
    every = {visit.id: packer.blocks(visit) for visit in problem.visits}
    choices = tightened(every, problem, all_in=True)
    if not all(choices.values()):
        return None
    plan = Serial(problem, crew, choices, costs_of(problem, choices)).run()
    if len(plan) < len(choices):
        return None
    return {
        visit_id: [block for block in blocks if block.first >= plan[visit_id].first]
        for visit_id, blocks in choices.items()
    }


def proven_full(problem: Problem) -> bool:
    """Whether it is proven that not all visits of a problem of ``only_rules`` have room.

    False too where the effort ended.
    """
    roster = solve(problem, effort=EFFORT)
    return bool(roster.left_out) and roster.stage("fit", 5).gap == 0


def only_rules(problem: Problem) -> Problem:
    """The same work, none of it more important, published, preferred or at risk anywhere."""
    zeros = np.zeros(problem.season.n_days)
    visits = (
        replace(
            visit,
            importance=5,
            published_first=None,
            steps=tuple(replace(step, points=zeros, risk=zeros) for step in visit.steps),
        )
        for visit in problem.visits
    )
    return replace(problem, visits=tuple(visits))
