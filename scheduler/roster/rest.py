"""Rest from heavy work: of so many days following one another, one at least is light.

A day is heavy where any heavy step is worked on, anywhere on the holding. One yes/no a day
says so; only rows of days that could grow too long are made.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import chain

from scheduler.roster.engine import Model
from scheduler.roster.order import Choices
from scheduler.roster.placements import Block
from scheduler.roster.problem import Problem
from scheduler.roster.rows import Stands


@dataclass(frozen=True, slots=True)
class Row:
    """One day more than may be heavy in a row.

    Args:
        days: day numbers of those that are not heavy already; one of them must be light.
        visits: ids of the visits that may be heavy there.
    """

    days: tuple[int, ...]
    visits: frozenset[str]


def rows_of(problem: Problem, choices: Choices) -> list[Row]:
    """Every row that could grow too long, by day; a visit alone rests by its blocks.

    Args:
        problem: the whole problem.
        choices: blocks by visit id.
    """
    if problem.heavy_in_row is None:
        return []
    length, users = problem.heavy_in_row + 1, _users(choices)
    rows = []
    for first in sorted({day - back for day in users for back in range(length)}):
        days = tuple(sorted({*range(first, first + length)} - problem.heavy_worked))
        if days and users.keys() >= {*days}:
            visits = frozenset(chain(*(users[day] for day in days)))
            if len(visits) > 1 or len(days) < length:
                rows.append(Row(days, visits))
    return rows


def heavy_days_of(block: Block) -> set[int]:
    """Days on which any heavy step of a block is worked on."""
    return {day for day, there in block.on.items() if any(step.heavy for step, *_ in there)}


def _users(choices: Choices) -> dict[int, dict[str, list[int]]]:
    """For each day the visits that may be heavy there, with the numbers of their blocks."""
    users: dict[int, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for visit_id, blocks in choices.items():
        for k, block in enumerate(blocks):
            for day in heavy_days_of(block):
                users[day][visit_id].append(k)
    return users


def add_rest(model: Model, problem: Problem, choices: Choices, stands: Stands) -> dict[int, int]:
    """No row of heavy days grows too long; as ``rows_of``.

    Returns:
        For each day that such a row speaks of, the literal that it is heavy.
    """
    rows = rows_of(problem, choices)
    users = _users(choices) if rows else {}
    heavy = {day: model.flag() for day in sorted({day for row in rows for day in row.days})}
    for day, flag in heavy.items():
        there = [[stands[v].at[k] for k in ks] for v, ks in users[day].items()]
        for literals in there:
            model.row([*literals, flag], [1] * len(literals) + [-1], -1, 0)
        # not needed, but the proof is a fifth shorter with it (measured on four seasons)
        model.any_of([model.no(flag), *chain.from_iterable(there)])
    for row in rows:
        model.any_of([model.no(heavy[day]) for day in row.days])
    return heavy


def heavy_days(plan: Mapping[str, Block]) -> set[int]:
    """Days on which any heavy step of a plan is worked on."""
    return {day for block in plan.values() for day in heavy_days_of(block)}


def too_long(cap: int, new: Iterable[int], is_heavy: Callable[[int], bool]) -> tuple[int, ...]:
    """The first row that days newly made heavy would make too long; empty where none is.

    Args:
        cap: heavy days that may follow one another.
        new: those days, ascending; a day that is heavy already adds nothing.
        is_heavy: whether a day is heavy already.
    """
    added = [day for day in new if not is_heavy(day)]
    for day in added:
        first = last = day
        while first - 1 in added or is_heavy(first - 1):
            first -= 1
        while last + 1 in added or is_heavy(last + 1):
            last += 1
        if last - first + 1 > cap:
            return tuple(range(first, last + 1))
    return ()
