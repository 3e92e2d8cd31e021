"""Parts of a problem that have nothing to do with one another.

Winter pruning and the dry-summer visit share neither order nor a day: each can be made as
good as possible alone, and every aim, being a sum over visits and days, is then as good as
possible for both.
"""

from collections.abc import Iterable, Sequence

from scheduler.roster.aims import hired
from scheduler.roster.limits import Limit
from scheduler.roster.order import Choices, tied
from scheduler.roster.problem import Kit, Problem
from scheduler.roster.rest import rows_of


def parts_of(problem: Problem, choices: Choices, limits: Sequence[Limit]) -> list[list[str]]:
    """Visit ids of each part, the smaller parts first.

    Visits belong together where an order, a limit that could be broken, a row of heavy days
    that could grow too long, or a block of hired kit that both could be in, ties them.
    """
    root = {visit_id: visit_id for visit_id in choices}
    for pair in tied(problem, root):
        _join(root, pair)
    for limit in limits:
        _join(root, sorted(limit.visits))
    for row in rows_of(problem, choices):
        _join(root, sorted(row.visits))
    for kit in hired(problem):
        for near in _near(problem, kit, choices):
            _join(root, near)
    parts: dict[str, list[str]] = {}
    for visit_id in choices:
        parts.setdefault(_root(root, visit_id), []).append(visit_id)
    return sorted(parts.values(), key=lambda part: (sum(len(choices[v]) for v in part), part))


def _root(root: dict[str, str], visit_id: str) -> str:
    while root[visit_id] != visit_id:
        root[visit_id] = root[root[visit_id]]
        visit_id = root[visit_id]
    return visit_id


def _join(root: dict[str, str], ids: Iterable[str]) -> None:
    roots = sorted({_root(root, visit_id) for visit_id in ids})
    for other in roots[1:]:
        root[other] = roots[0]


def _near(problem: Problem, kit: Kit, choices: Choices) -> list[list[str]]:
    """Users of a hired kit whose days touch, day by day the kit can come."""
    rank = {day: n for n, day in enumerate(problem.kit_days[kit.id])}
    spans = [
        (min(days), max(days), visit_id)
        for visit_id, blocks in choices.items()
        if (days := {rank[day] for block in blocks for day in block.kit_days(kit.id)})
    ]
    groups: list[list[str]] = []
    reach = -2
    for first, last, visit_id in sorted(spans):
        if first > reach + 1:
            groups.append([])
        groups[-1].append(visit_id)
        reach = max(reach, last)
    return groups
