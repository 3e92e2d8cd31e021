"""The order of work: what comes before what, circles in it, and the windows it leaves."""

from collections.abc import Mapping, Sequence
from graphlib import CycleError, TopologicalSorter

from scheduler.roster.placements import Placement
from scheduler.roster.problem import Order, Problem

Choices = dict[str, list[Placement]]


def circles(problem: Problem) -> tuple[tuple[str, ...], ...]:
    """Circles in the order of work, each as the ids along it; one for each knot of orders.

    Every circle begins at its smallest id.
    """
    found: list[tuple[str, ...]] = []
    left = {job.id for job in problem.jobs}
    while (circle := _circle(problem.orders, left)) is not None:
        start = circle.index(min(circle))
        found.append((*circle[start:], *circle[:start]))
        left -= set(circle)
    return tuple(sorted(found))


def _circle(orders: Sequence[Order], among: set[str]) -> list[str] | None:
    sorter: TopologicalSorter[str] = TopologicalSorter()
    for order in orders:
        if order.before in among and order.after in among:
            sorter.add(order.after, order.before)
    try:
        sorter.prepare()
    except CycleError as error:
        found: list[str] = error.args[1]
        return found[:-1]
    return None


def in_order(ids: Sequence[str], orders: Sequence[Order]) -> list[str]:
    """The ids so that nothing comes before what it must follow; ties by id.

    Raises:
        graphlib.CycleError: the orders among these ids run in a circle.
    """
    among = set(ids)
    sorter: TopologicalSorter[str] = TopologicalSorter(dict.fromkeys(sorted(ids), ()))
    for order in orders:
        if order.before in among and order.after in among:
            sorter.add(order.after, order.before)
    sorter.prepare()
    answer: list[str] = []
    while sorter.is_active():
        ready = sorted(sorter.get_ready())
        answer += ready
        sorter.done(*ready)
    return answer


def followers(orders: Sequence[Order]) -> dict[str, list[str]]:
    """For each job that something must follow, what follows at once."""
    after: dict[str, list[str]] = {}
    for order in orders:
        after.setdefault(order.before, []).append(order.after)
    return after


def with_followers(ids: set[str], after: Mapping[str, Sequence[str]]) -> set[str]:
    """The ids and everything that must come after any of them.

    Args:
        ids: of jobs.
        after: as ``followers`` gives it.
    """
    reached, todo = set(ids), sorted(ids)
    while todo:
        for job_id in after.get(todo.pop(), ()):
            if job_id not in reached:
                reached.add(job_id)
                todo.append(job_id)
    return reached


def tightened(
    choices: Mapping[str, list[Placement]], orders: Sequence[Order], *, all_in: bool
) -> Choices:
    """Take away placements that no plan can use, because of the order of work alone.

    Args:
        choices: placements by job id, by first day.
        orders: the order of work.
        all_in: whether every job is to be placed; otherwise a job may be left out, and so
            takes nothing away from what comes before it.
    """
    left = {job_id: list(placements) for job_id, placements in choices.items()}
    orders = [order for order in orders if order.before in left and order.after in left]
    changed = True
    while changed:
        changed = False
        for order in orders:
            before, after = left[order.before], left[order.after]
            left[order.after] = _follows(after, before, order)
            if all_in:
                left[order.before] = _precedes(before, left[order.after], order)
            changed |= len(left[order.after]) < len(after) or len(left[order.before]) < len(before)
    return left


def _follows(after: list[Placement], before: list[Placement], order: Order) -> list[Placement]:
    if not before:
        return []
    low = before[0].last + order.min_days
    high = before[-1].last + order.within_days if order.within_days is not None else None
    return [p for p in after if p.first >= low and (high is None or p.first <= high)]


def _precedes(before: list[Placement], after: list[Placement], order: Order) -> list[Placement]:
    if not after:
        return []
    high = after[-1].first - order.min_days
    low = after[0].first - order.within_days if order.within_days is not None else None
    return [p for p in before if p.last <= high and (low is None or p.last >= low)]
