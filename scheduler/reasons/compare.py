"""The same season without some of its preferences: what they cost. Pure."""

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from scheduler.holding import Holding
from scheduler.roster import Problem, Roster, Step, solve
from scheduler.season import Placed

HIRE_BLOCKS = "hire-blocks"  # the preference that gathers days of hire, block_days in crew.toml


@dataclass(frozen=True, slots=True)
class Sums:
    """What one roster comes to."""

    late_days: int  # days from the first of the plan to the end of each visit, summed
    open_days: int  # calendar days that visits lie open, summed
    frost_sum: float  # chances of frost damage above what is tolerated, summed over the steps
    frost_most: float  # the largest of them, 0 to 1
    hire_blocks: int  # blocks of days of what is hired
    hire_cost: float  # of these days, in the grower's money
    left_out: int


@dataclass(frozen=True, slots=True)
class Comparison:
    """A season with and without some preferences."""

    # ids of the preferences that are left aside in ``there``, not in ``here``
    without: tuple[str, ...]
    followed: tuple[str, ...]  # those of them that the plan follows at all
    # visit id, first day with and first day without, where these differ; by day
    moved: tuple[tuple[str, int | None, int | None], ...]
    here: Sums
    there: Sums
    proven: bool  # whether no better plan exists on either side


def known_preferences(holding: Holding) -> tuple[str, ...]:
    """Ids of all preferences: of the rules that can prefer days, and of the blocks of hire."""
    book = holding.rules.rules.values()
    prefer = (r for r in book if getattr(r, "points", None) or getattr(r, "best", None))
    return (*(rule.id for rule in prefer), HIRE_BLOCKS)


def preference_of(name: str, holding: Holding) -> str | None:
    """The id that a name means: the id itself, or a word of one id alone; None where none is."""
    ids = known_preferences(holding)
    meant = [name] if name in ids else [id_ for id_ in ids if name in id_.split("-")]
    return meant[0] if len(meant) == 1 else None


def compared(placed: Placed, without: Collection[str]) -> Comparison:
    """Plan the season again without some preferences.

    It is best planned without the memory of published days: they are kept with a preference and
    without it, and would hide what it costs.
    """
    followed, other = _followed(placed), solve(_problem_without(placed, without))
    here, there = (
        {visit.visit_id: visit.first for visit in roster.visits}
        for roster in (placed.roster, other)
    )
    ids = [
        visit.id for visit in placed.problem.visits if here.get(visit.id) != there.get(visit.id)
    ]
    ids.sort(key=lambda visit_id: (here.get(visit_id, placed.season.n_days), visit_id))
    return Comparison(
        without=tuple(without),
        followed=tuple(preference for preference in without if preference in followed),
        moved=tuple((visit_id, here.get(visit_id), there.get(visit_id)) for visit_id in ids),
        here=_sums(placed.problem, placed.roster),
        there=_sums(placed.problem, other),
        proven=placed.roster.proof == other.proof == "proven",
    )


def _followed(placed: Placed) -> set[str]:
    """Ids of the preferences that the plan follows."""
    followed = {HIRE_BLOCKS} if any(kit.block_days for kit in placed.problem.kits) else set()
    for window in placed.windows.values():
        followed |= {ruling.rule_id for ruling in window.rulings if ruling.points.any()}
    return followed


def _problem_without(placed: Placed, without: Collection[str]) -> Problem:
    """The same problem, these preferences not in it."""
    visits = (
        replace(visit, steps=tuple(_step_without(step, placed, without) for step in visit.steps))
        for visit in placed.problem.visits
    )
    kits = placed.problem.kits
    if HIRE_BLOCKS in without:
        kits = tuple(replace(kit, block_days=0.0) for kit in kits)
    return replace(placed.problem, visits=tuple(visits), kits=kits)


def _step_without(step: Step, placed: Placed, without: Collection[str]) -> Step:
    rulings = placed.windows[step.id].rulings
    points = [ruling.points for ruling in rulings if ruling.rule_id not in without]
    return replace(step, points=sum(points, np.zeros(placed.season.n_days)))


def _sums(problem: Problem, roster: Roster) -> Sums:
    steps, visits = problem.by_id, problem.visit_by_id
    risks = [float(steps[s.step_id].risk[list(s.days)].max()) for s in roster.stints]
    return Sums(
        late_days=sum(visit.last for visit in roster.visits),
        open_days=sum(v.span_days for v in roster.visits if visits[v.visit_id].lies_open),
        frost_sum=sum(risks),
        frost_most=max(risks, default=0.0),
        hire_blocks=len(roster.hires),
        hire_cost=sum(hire.cost for hire in roster.hires),
        left_out=len(roster.left_out),
    )
