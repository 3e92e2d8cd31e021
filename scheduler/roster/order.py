"""The order of work: what comes before what, circles in it, and the windows it leaves."""

from collections.abc import Iterable, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter

from scheduler.roster.placements import Block
from scheduler.roster.problem import Order, Problem

Choices = dict[str, list[Block]]  # by visit id, by first day
NEVER = 10**6  # a day after every season, and so many days
Pair = tuple[str, str]  # ids of what comes before and of what comes after


def circles_of(ids: Iterable[str], pairs: Sequence[Pair]) -> tuple[tuple[str, ...], ...]:
    """Circles among some ids, one for each knot; every circle begins at its smallest id."""
    found: list[tuple[str, ...]] = []
    left = set(ids)
    while True:
        sorter: TopologicalSorter[str] = TopologicalSorter()
        for before, after in pairs:
            if before in left and after in left:
                sorter.add(after, before)
        try:
            sorter.prepare()
        except CycleError as error:
            circle: list[str] = error.args[1][:-1]
        else:
            return tuple(sorted(found))
        start = circle.index(min(circle))
        found.append((*circle[start:], *circle[:start]))
        left -= set(circle)


def in_order(ids: Sequence[str], pairs: Iterable[Pair]) -> list[str]:
    """The ids so that nothing comes before what it must follow; ties as they were given.

    Raises:
        graphlib.CycleError: the orders among these ids run in a circle.
    """
    rank = {one: n for n, one in enumerate(ids)}
    sorter: TopologicalSorter[str] = TopologicalSorter(dict.fromkeys(ids, ()))
    for before, after in pairs:
        if before in rank and after in rank:
            sorter.add(after, before)
    sorter.prepare()
    answer: list[str] = []
    ready: list[str] = []
    while sorter.is_active():
        ready = sorted((*ready, *sorter.get_ready()), key=lambda one: rank[one])
        answer.append(ready.pop(0))
        sorter.done(answer[-1])
    return answer


def tied(problem: Problem, among: Iterable[str]) -> list[Pair]:
    """Pairs of different visits, both among some, that an order ties."""
    there = set(among)
    return [pair for pair in problem.ties if pair[0] != pair[1] and there.issuperset(pair)]


def followers(pairs: Iterable[Pair]) -> dict[str, list[str]]:
    """For each id that something must follow, what follows at once."""
    after: dict[str, list[str]] = {}
    for one, other in pairs:
        after.setdefault(one, []).append(other)
    return after


def with_followers(ids: set[str], after: Mapping[str, Sequence[str]]) -> set[str]:
    """The ids and everything that must come after any of them, as ``followers`` tells it."""
    reached, todo = set(ids), sorted(ids)
    while todo:
        for other in after.get(todo.pop(), ()):
            if other not in reached:
                reached.add(other)
                todo.append(other)
    return reached


def keeps(order: Order, before: Block, after: Block) -> bool:
    """Whether two blocks keep an order between steps of theirs."""
    wait = after.by_step[order.after].first - before.by_step[order.before].last
    return wait >= order.min_days and (order.within_days is None or wait <= order.within_days)


def keeps_all(problem: Problem, plan: Mapping[str, Block], block: Block) -> bool:
    """Whether a block keeps the order of work to all other visits of a plan."""
    own = block.visit.id
    for one, other, orders in problem.ties_of.get(own, ()):
        before = block if one == own else plan.get(one)
        after = block if other == own else plan.get(other)
        if before and after and not all(keeps(order, before, after) for order in orders):
            return False
    return True


def tightened(choices: Mapping[str, list[Block]], problem: Problem, *, all_in: bool) -> Choices:
    """Take away blocks that no plan can use, because of the order of work alone.

    Unless all visits are to be in, one may be left out, and so takes nothing away from what comes
    before it.
    """
    left = {visit_id: list(blocks) for visit_id, blocks in choices.items()}
    pairs = [(pair, order) for pair in tied(problem, left) for order in problem.ties[pair]]
    changed = True
    while changed:
        changed = False
        for (one, other), order in pairs:
            before, after = left[one], left[other]
            left[other] = _follows(after, before, order)
            if all_in:
                left[one] = _precedes(before, left[other], order)
            changed |= len(left[other]) < len(after) or len(left[one]) < len(before)
    return left


def _follows(after: list[Block], before: list[Block], order: Order) -> list[Block]:
    """Those that come neither too soon after every block before, nor too late after each."""
    ends = [block.by_step[order.before].last for block in before] or [NEVER]
    low, high = ends[0] + order.min_days, ends[-1] + _most(order)
    return [block for block in after if low <= block.by_step[order.after].first <= high]


def _precedes(before: list[Block], after: list[Block], order: Order) -> list[Block]:
    begins = [block.by_step[order.after].first for block in after] or [-NEVER]
    low, high = begins[0] - _most(order), begins[-1] - order.min_days
    return [block for block in before if low <= block.by_step[order.before].last <= high]


def _most(order: Order) -> int:
    return NEVER if order.within_days is None else order.within_days
