"""A visit that the work log has begun and whose rest has no place, or one far too late.

None is planned that way: a visit has days for all its steps, or none at all. But days go by, and
people fall ill.
"""

from collections.abc import Iterator

from scheduler.season import Placed
from scheduler.terms import Level, Notice, day_words

HALF_DONE_CODE = "visit-half-done"


def half_done_notices(placed: Placed) -> Iterator[Notice]:
    """A warning for each such visit; it speaks of the work that is left of it."""
    for visit_id, ids in placed.groups.items():
        left = [task_id for task_id in ids if task_id not in placed.done]
        begun = any(task_id in placed.progress for task_id in ids)
        if not left or not begun or not placed.tasks[left[0]].is_step:
            continue
        if told := _words(placed, visit_id, left):
            yield Notice(HALF_DONE_CODE, Level.WARNING, visit_id, told, tuple(left))


def _words(placed: Placed, visit_id: str, left: list[str]) -> str:
    """What is left lying, and what to do; empty where the rest follows in time."""
    days, visit = placed.logged_days(visit_id), placed.visits.get(visit_id)
    if not days:
        return ""
    rest = _rest_words(placed, left)
    head = f"{placed.titled(visit_id)} is begun (last logged on {day_words(days[-1])}), but"
    head = head[0].upper() + head[1:]
    if visit is None:
        return (
            f"{head} {rest} has no place. Make room for it soon: the warnings about work without "
            "a place say how."
        )
    first, longest = placed.season.date_of(visit.first), _longest(placed, left)
    if longest is None or (first - days[-1]).days <= longest:
        return ""
    return (
        f"{head} {rest} has its place on {day_words(first)} only. Make room for it soon: "
        f"`scheduler why SITE {visit_id}` says what keeps it."
    )


def _rest_words(placed: Placed, left: list[str]) -> str:
    first, last = (repr(placed.tasks[task_id].title) for task_id in (left[0], left[-1]))
    return f"the rest ({first})" if len(left) == 1 else f"the rest ({first} to {last})"


def _longest(placed: Placed, left: list[str]) -> float | None:
    """Days after the last logged work beyond which the rest is far too late."""
    waits = [
        link.within_days
        for link in placed.links
        if link.after in left and link.before in placed.progress and link.within_days is not None
    ]
    longest = max(waits, default=None)
    return None if longest is None else placed.holding.rules.figure("far-too-late") * longest
