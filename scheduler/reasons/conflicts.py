"""Work without a place: which statements conflict, and what would free it. Pure.

Decided: a deletion filter asks the serial pass, and the solver proves what is left. Refused: the
solver each time, ten times as slow. Held by
tests/roster/test_every_plan.py::test_the_filter_keeps_a_conflict_of_which_nothing_can_be_spared.
"""

from collections.abc import Collection, Iterator
from dataclasses import replace
from datetime import timedelta
from functools import cached_property

from scheduler.reasons.question import Question, Statement
from scheduler.reasons.statements import statements_of
from scheduler.roster import Block, proven_full, smallest
from scheduler.season import Outlook, Placed, outlook_of
from scheduler.sky import SkyRangeError
from scheduler.terms import Season

# Past the end of the plan, to see whether a later end would help: not into the next round.
LONGER_DAYS, LEAST_LONGER_DAYS = 184, 31
MOST_OTHERS = 40  # pieces of other work that are asked about


class Conflicts:
    """What keeps unscheduled work, visit by visit."""

    def __init__(self, placed: Placed) -> None:
        self.placed = placed

    @cached_property
    def outlook(self) -> Outlook:
        """Sky and frost of a season that ends later, where the tables reach so far."""
        holding, season = self.placed.holding, self.placed.season
        whole_year = min(
            season.last + timedelta(days=LONGER_DAYS), season.first + timedelta(days=364)
        )
        later = max(season.last + timedelta(days=LEAST_LONGER_DAYS), whole_year)
        plan = replace(holding.plan, season=Season.between(season.first, later))
        tasks = tuple(self.placed.tasks.values())
        try:
            known = self.placed.outlook
            return outlook_of(replace(holding, plan=plan), known.as_of, tasks, known.done_before)
        except SkyRangeError:
            return self.placed.outlook

    def of(self, visit_id: str) -> str:
        """The statements that keep a visit out, each of which could be met without the others.

        Returns:
            They and what would free the work, in one sentence without a full stop; empty where
            it is not proven that the visit cannot have a place.
        """
        asked = Question(self.placed, self.outlook, visit_id)
        room = asked.room()
        if room is not None:  # alone it has room: not beside the other work near it
            others = _others(self.placed, room)
            asked = Question(self.placed, self.outlook, visit_id, others)
            if asked.room() is not None:
                return ""
        every = statements_of(asked)

        def beside(kept: Collection[Statement]) -> list[Statement]:
            return [statement for statement in every if statement not in kept]

        kept = smallest(every, lambda some: asked.room(beside(some)) is None)
        if not kept or not proven_full(asked.problem(beside(kept))):
            return ""
        says = "; and ".join(statement.says() for statement in kept)
        frees = "; or ".join(_frees(kept, every, asked))
        head = "these do not go together: " if len(kept) > 1 else ""
        free = frees or "no single change, several must give way"
        return f"{head}{says}. What would free it: {free}"


def _others(placed: Placed, room: dict[str, list[Block]]) -> tuple[str, ...]:
    """Visits that stand near days which the visit, or what it waits for, could have; by day."""
    reach = (placed.problem.heavy_in_row or 0) + 1
    days = {day for blocks in room.values() for block in blocks for day in block.days}
    near = [
        visit_id
        for visit_id, visit in placed.visits.items()
        if visit_id not in room
        and not days.isdisjoint(range(visit.first - reach, visit.last + reach + 1))
    ]
    return tuple(near[:MOST_OTHERS])


def _frees(
    kept: Collection[Statement], every: Collection[Statement], asked: Question
) -> Iterator[str]:
    """What frees the work by itself; what the grower can change, if there is any such."""
    # frost dates, once told, open every rule that waits for them
    undated = [statement for statement in every if statement.lacks_frost_dates]
    freed: dict[Statement, list[Block]] = {}
    for statement in kept:
        room = asked.room(undated if statement in undated else [statement])
        if room is not None:
            freed[statement] = room[statement.visit_id]
    for statement in [one for one in freed if one.can_change] or freed:
        yield statement.frees(freed[statement])
