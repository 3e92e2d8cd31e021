"""The order of work: what comes before what, circles in it, and the windows it leaves."""

from collections.abc import Iterable, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter

from scheduler.roster.placements import Block
from scheduler.roster.problem import Order, Problem

Choices = dict[str, list[Block]]  # by visit id, by first day
Pair = tuple[str, str]  # ids of what comes before and of what comes after


def circles(problem: Problem) -> tuple[tuple[str, ...], ...]:
    """Circles in the order of work, each as the step ids along it; one for each knot of orders.

    Every circle begins at its smallest id.
    """
    pairs = [(order.before, order.after) for order in problem.orders]
    return circles_of([step.id for step in problem.steps], pairs)


def circles_of(ids: Iterable[str], pairs: Sequence[Pair]) -> tuple[tuple[str, ...], ...]:
    """Circles among some ids, one for each knot."""
    found: list[tuple[str, ...]] = []
    left = set(ids)
    while (circle := _circle(pairs, left)) is not None:
        start = circle.index(min(circle))
        found.append((*circle[start:], *circle[:start]))
        left -= set(circle)
    return tuple(sorted(found))


def _circle(pairs: Sequence[Pair], among: set[str]) -> list[str] | None:
    sorter: TopologicalSorter[str] = TopologicalSorter()
    for before, after in pairs:
        if before in among and after in among:
            sorter.add(after, before)
    try:
        sorter.prepare()
    except CycleError as error:
        found: list[str] = error.args[1]
        return found[:-1]
    return None


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
    """The ids and everything that must come after any of them.

    Args:
        ids: of visits, or of steps.
        after: as ``followers`` gives it.
    """
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


def tightened(choices: Mapping[str, list[Block]], problem: Problem, *, all_in: bool) -> Choices:
    """Take away blocks that no plan can use, because of the order of work alone.

    Args:
        choices: blocks by visit id, by first day.
        problem: whose order of work is meant.
        all_in: whether every visit is to be placed; otherwise one may be left out, and so takes
            nothing away from what comes before it.
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
    if not before:
        return []
    low = before[0].by_step[order.before].last + order.min_days
    high = before[-1].by_step[order.before].last + (order.within_days or 0)
    return [
        block
        for block in after
        if (first := block.by_step[order.after].first) >= low
        and (order.within_days is None or first <= high)
    ]


def _precedes(before: list[Block], after: list[Block], order: Order) -> list[Block]:
    if not after:
        return []
    high = after[-1].by_step[order.after].first - order.min_days
    low = after[0].by_step[order.after].first - (order.within_days or 0)
    return [
        block
        for block in before
        if (last := block.by_step[order.before].last) <= high
        and (order.within_days is None or last >= low)
    ]
