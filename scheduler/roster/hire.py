"""Hired kit comes in blocks of days: the rows that count them.

A block begins where some visit begins to use the kit and no visit has it on the day before. Only
the first days of a visit's own uses can begin one, so the relaxation is not empty: a little use
on every day is no way round it.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from scheduler.roster.aims import hired
from scheduler.roster.engine import Model
from scheduler.roster.order import Choices
from scheduler.roster.placements import Block
from scheduler.roster.problem import Kit, Problem
from scheduler.roster.rows import Stands


@dataclass(frozen=True, slots=True)
class Hire:
    """The variables of one hired kit.

    Args:
        kit: the kit.
        days: day numbers on which it can come and somebody may want it.
        here: one literal for each of them: it is used on that day.
        begins: one literal for each of them: a block of use begins on that day.
    """

    kit: Kit
    days: tuple[int, ...]
    here: tuple[int, ...]
    begins: tuple[int, ...]


def add_hires(model: Model, problem: Problem, choices: Choices, stands: Stands) -> list[Hire]:
    """Count the blocks of hired kit, as ``blocks_of`` does of a plan."""
    return [h for kit in hired(problem) for h in _add_hire(model, kit, problem, choices, stands)]


def _add_hire(
    model: Model, kit: Kit, problem: Problem, choices: Choices, stands: Stands
) -> Iterator[Hire]:
    wanted: dict[int, list[int]] = defaultdict(list)  # by day, literals of the blocks that use it
    opening: dict[int, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    days = problem.kit_days[kit.id]
    rank = dict(zip(days, range(len(days)), strict=True))
    for visit_id, blocks in choices.items():
        for literal, block in zip(stands[visit_id].at, blocks, strict=True):
            used = {rank[day] for day in block.kit_days(kit.id)}
            for n in used:
                wanted[n].append(literal)
                if n - 1 not in used:
                    opening[n][visit_id].append(literal)
    if not wanted:
        return
    ranks = range(min(wanted), max(wanted) + 1)
    here = {n: model.flag() for n in ranks}
    begins = {n: model.flag() for n in ranks}
    before: list[int] = []
    for n in ranks:
        model.any_of([model.no(here[n]), *wanted[n]])
        for literal in wanted[n]:
            model.any_of([model.no(literal), here[n]])
        for literals in opening[n].values():
            terms = [*literals, begins[n], *before]
            model.row(terms, [1] * len(literals) + [-1] * (1 + len(before)), -len(terms), 0)
        before = [here[n]]
    days = days[ranks.start : ranks.stop]
    yield Hire(kit, days, tuple(here.values()), tuple(begins.values()))


def fill(hire: Hire, plan: Mapping[str, Block], values: list[int]) -> None:
    """Enter a plan into the values of a hire's variables."""
    wanted = {day for block in plan.values() for day in block.kit_days(hire.kit.id)}
    before = False
    for day, here, begins in zip(hire.days, hire.here, hire.begins, strict=True):
        values[here] = int(day in wanted)
        values[begins] = int(day in wanted and not before)
        before = day in wanted
