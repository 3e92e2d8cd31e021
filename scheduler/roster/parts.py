"""Parts of a problem that have nothing to do with one another.

Winter pruning and the dry-summer visit share neither order nor a day: each can be made as
good as possible alone, and every aim, being a sum over jobs and days, is then as good as
possible for both.
"""

from collections.abc import Iterable, Sequence

from scheduler.roster.limits import Limit
from scheduler.roster.order import Choices
from scheduler.roster.problem import Kit, Problem
from scheduler.roster.rest import rows_of


def parts_of(problem: Problem, choices: Choices, limits: Sequence[Limit]) -> list[list[str]]:
    """Job ids of each part, the smaller parts first.

    Jobs belong together where an order, a limit that could be broken, a row of heavy days
    that could grow too long, or a block of hired kit that both could be in, ties them.
    """
    root = {job_id: job_id for job_id in choices}
    for order in problem.orders:
        if order.before in root and order.after in root:
            _join(root, (order.before, order.after))
    for limit in limits:
        _join(root, sorted(limit.jobs))
    for row in rows_of(problem, choices):
        _join(root, sorted(row.jobs))
    for kit in problem.kits:
        if kit.gathered:
            for near in _near(problem, kit, choices):
                _join(root, near)
    parts: dict[str, list[str]] = {}
    for job_id in choices:
        parts.setdefault(_root(root, job_id), []).append(job_id)
    return sorted(parts.values(), key=lambda part: (sum(len(choices[j]) for j in part), part))


def _root(root: dict[str, str], job_id: str) -> str:
    while root[job_id] != job_id:
        root[job_id] = root[root[job_id]]
        job_id = root[job_id]
    return job_id


def _join(root: dict[str, str], ids: Iterable[str]) -> None:
    roots = sorted({_root(root, job_id) for job_id in ids})
    for other in roots[1:]:
        root[other] = roots[0]


def _near(problem: Problem, kit: Kit, choices: Choices) -> list[list[str]]:
    """Users of a hired kit whose days touch, day by day the kit can come."""
    rank = {day: n for n, day in enumerate(problem.kit_days[kit.id])}
    spans = [
        (min(days), max(days), job_id)
        for job_id, placements in choices.items()
        if problem.by_id[job_id].uses.get(kit.id)
        and (days := {rank[day] for p in placements for day in p.days})
    ]
    groups: list[list[str]] = []
    reach = -2
    for first, last, job_id in sorted(spans):
        if first > reach + 1:
            groups.append([])
        groups[-1].append(job_id)
        reach = max(reach, last)
    return groups
