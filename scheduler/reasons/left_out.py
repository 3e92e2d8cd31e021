"""Work without a place: one warning for each cause, with all that stays out for it."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import TypeAlias

import numpy as np

from scheduler.holding import TaskType, package_tasks
from scheduler.reasons.conflicts import Conflicts
from scheduler.season import Placed
from scheduler.stand import Task
from scheduler.terms import Level, Notice, day_words
from scheduler.windows import TaskWindow

BY_TODAY = ("not-past", "hire-notice")  # rules that close days because of what day it is
WAITS = "waits-for-left-out"
NOBODY_WORKS = "nobody-works"
GONE_BY = "days-gone-by"
Edge: TypeAlias = tuple[str, str]  # a kind of work, and one that its `after` names


def left_out_notices(placed: Placed) -> Iterator[Notice]:
    """A warning for each cause, and a note for each task that merely waits for one of those."""
    in_circle = {placed.visit_of[t] for circle in placed.roster.circles for t in circle}
    conflicts, left = Conflicts(placed), set(placed.roster.left_out) - in_circle
    reasons: dict[str, tuple[str, str]] = {}
    for visit_id in (v for v in placed.groups if v in left):
        reasons[visit_id] = _why_left_out(placed, visit_id, conflicts)
    waiting = [visit_id for visit_id, (code, _) in reasons.items() if code == WAITS]
    yield from _circle_notices(placed, waiting)
    alike: dict[tuple[str, str], list[str]] = {}
    for visit_id, (code, says) in reasons.items():
        if code == WAITS:
            told = f"{_head(placed, [visit_id])}: {says}."
            yield Notice(code, Level.NOTE, visit_id, told, _tasks_of(placed, [visit_id]))
        else:
            alike.setdefault((code, says), []).append(visit_id)
    for (code, says), ids in alike.items():
        with_it = _with_it(placed, ids, waiting)
        told = f"{_head(placed, ids)}: {says}.{_with_words(placed, with_it)}"
        also = (*ids[1:], *with_it, *_tasks_of(placed, (*ids, *with_it)))
        yield Notice(code, Level.WARNING, ids[0], told, also)


def _tasks_of(placed: Placed, visit_ids: Iterable[str]) -> tuple[str, ...]:
    """The steps that are left to do of some visits; of a visit of one step it is the visit."""
    visits = (placed.problem.visit_by_id[visit_id] for visit_id in visit_ids)
    return tuple(step.id for visit in visits for step in visit.steps if step.id != visit.id)


def _head(placed: Placed, ids: Sequence[str]) -> str:
    """What could not be placed for one reason."""
    titles = [placed.titled(visit_id) for visit_id in ids]
    told = titles[0][0].upper() + titles[0][1:] if len(ids) == 1 else ", ".join(ids)
    return f"{told} could not be placed"


def _with_it(placed: Placed, causes: Collection[str], waiting: Collection[str]) -> tuple[str, ...]:
    """The visits that wait for any of these, or for one that does."""
    reached, todo = set(causes), list(causes)
    while todo:
        before = todo.pop()
        found = {other for one, other in placed.problem.ties if one == before}
        found &= set(waiting) - reached
        reached |= found
        todo += sorted(found)
    return tuple(visit_id for visit_id in waiting if visit_id in reached)


def _with_words(placed: Placed, with_it: Collection[str]) -> str:
    titles = dict.fromkeys(placed.titled(visit_id) for visit_id in with_it)
    if not titles:
        return ""
    stays = "stays" if len(titles) == 1 else "stay"
    return f" With it {stays} out: {', '.join(titles)}."


def _circle_notices(placed: Placed, waiting: Collection[str]) -> Iterator[Notice]:
    """Each circle once, however many plots it stands in: by the entries that close it."""
    found: dict[tuple[Edge, ...], list[tuple[str, ...]]] = {}
    for circle in placed.roster.circles:
        found.setdefault(_closing(placed, circle), []).append(circle)
    for closing, circles in found.items():
        ids = tuple(task_id for circle in circles for task_id in circle)
        with_it = _with_it(placed, [placed.visit_of[t] for t in ids], waiting)
        says = _circle_words(placed, min(circles, key=len), closing, ids)
        told = f"{says}{_with_words(placed, with_it)}"
        yield Notice("order-circle", Level.WARNING, ids[0], told, (*ids[1:], *with_it))


def _closing(placed: Placed, circle: tuple[str, ...]) -> tuple[Edge, ...]:
    """The entries of a circle that are the site's own; all where none is."""
    book = package_tasks()
    kinds = [placed.tasks[task_id].type.id for task_id in circle]
    edges = [
        edge
        for before, after in zip(kinds, (*kinds[1:], kinds[0]), strict=True)
        for edge in _edges(placed, after, before)
    ]
    own = [(kind, waits) for kind, waits in edges if not _in_book(kind, waits, book)]
    return tuple(sorted(own or edges))


def _in_book(kind: str, waits_for: str, book: Mapping[str, TaskType]) -> bool:
    return kind in book and any(after.task == waits_for for after in book[kind].after)


def _circle_words(
    placed: Placed, circle: tuple[str, ...], closing: tuple[Edge, ...], ids: Collection[str]
) -> str:
    """The circle in the grower's words, from the entry that closes it round to it again."""
    tasks = [placed.tasks[task_id] for task_id in reversed(circle)]  # each waits for the next
    start = closing[0][0] if closing else tasks[0].type.id
    at = next((n for n, task in enumerate(tasks) if task.type.id == start), 0)
    first, *others = (repr(task.title) for task in tasks[at:] + tasks[:at])
    chain = ", that for ".join([*others, first])
    places = ", ".join(dict.fromkeys(placed.place_of(placed.tasks[task_id]) for task_id in ids))
    told = ", ".join(f"[[task]] {kind}, after {waits_for}" for kind, waits_for in closing)
    those = "this `after`" if len(closing) == 1 else "one of these `after`"
    return (
        f"The order of work runs in a circle in {places}, so it could not be placed: {first} "
        f"waits for {chain}. Your rules.toml closes it ({told}); take {those} out."
    )


def _edges(placed: Placed, after: str, before: str) -> tuple[Edge, ...]:
    """The entries ``after`` that lead from a kind of work back to one that it waits for.

    Kinds that are missing in the plot are looked through, as the order of work does it.
    """
    tasks = placed.holding.rules.tasks
    ways: list[tuple[Edge, ...]] = [((after, one.task),) for one in tasks[after].after]
    seen: set[str] = set()
    for way in ways:  # grows while it is walked: the shortest way comes first
        last = way[-1][1]
        if last == before:
            return way
        if last not in seen:
            seen.add(last)
            ways += [(*way, (last, one.task)) for one in tasks[last].after]
    return ()


def _why_left_out(placed: Placed, visit_id: str, conflicts: Conflicts) -> tuple[str, str]:
    """Code and words of the plainest reason there is."""
    if waits := _waits(placed, visit_id):
        return WAITS, waits
    tasks = [placed.tasks[step.id] for step in placed.problem.visit_by_id[visit_id].steps]
    for reason in (_nobody_can, _date_past, _no_working_day, _gone_by):
        for task in tasks:
            found = reason(placed, task)
            if found is not None:
                code, says = found
                whole = code in (GONE_BY, NOBODY_WORKS)  # no step of it is to blame
                return code, says if whole else f"{_step_words(task, tasks, placed)}{says}"
    shut = [(task, code) for task in tasks if (code := _code_of_days(placed, task))]
    code = shut[0][1] if shut else "left-out"
    conflict = conflicts.of(visit_id)
    if conflict is not None:
        about = _step_words(shut[0][0], tasks, placed) if len(shut) == 1 else ""
        return code, f"{about}{conflict.words}"
    narrow = min(tasks, key=lambda task: int(placed.windows[task.id].open.sum()))
    return code, (
        f"{_step_words(narrow, tasks, placed)}its open days "
        f"({_open_words(placed.windows[narrow.id])}) leave no room after the work it waits for, "
        "beside the crew's other work"
    )


def _step_words(task: Task, tasks: Sequence[Task], placed: Placed) -> str:
    """Which step of a visit a reason is about, and how the visit would go without it."""
    if len(tasks) == 1:
        return ""
    return (
        f'{task.title!r} keeps it out (`without = ["{task.type.id}"]` in '
        f"plan-{placed.holding.plan.id}.toml would leave that step alone out): "
    )


def _no_working_day(placed: Placed, _task: Task) -> tuple[str, str] | None:
    """Nobody works on any day of the plan: no statement about this task is to blame."""
    if any(bool((worker.hours > 0).any()) for worker in placed.problem.workers):
        return None
    return NOBODY_WORKS, "nobody of the crew has a working day in the plan; see crew.toml"


def _nobody_can(placed: Placed, task: Task) -> tuple[str, str] | None:
    missing = _missing_skills(placed, task)
    if missing:
        return "nobody-can", f"nobody of the crew, own or hired, can do it ({missing})"
    own = sum(n for skill, n in task.team.items() if skill not in task.hired)
    if own > len(placed.problem.workers) >= 1:
        return "too-few", (
            f"it takes {own} people: nobody is planned alone with a saw, on a ladder or at a "
            f"chipper, and the crew has {len(placed.problem.workers)}. Somebody to help, or "
            "`works_alone = true` in site.toml if you work alone"
        )
    return None


def _date_past(placed: Placed, task: Task) -> tuple[str, str] | None:
    fixed = placed.windows[task.id].fixed_first
    day = None if fixed is None else placed.season.date_of(fixed)
    if day is not None and day < placed.outlook.as_of:
        return "own-date-past", f"your own day for it, {day_words(day)}, has gone by"
    return None


def _gone_by(placed: Placed, task: Task) -> tuple[str, str] | None:
    """All its days lie before today: done and not logged, or missed."""
    window, today = placed.windows[task.id], placed.season.day_of(placed.outlook.as_of)
    closed = np.zeros(placed.season.n_days, dtype=bool)
    for ruling in window.rulings:
        if ruling.rule_id not in BY_TODAY:
            closed |= ruling.closed
    days = np.flatnonzero(~closed)
    if window.fixed_first is not None or not days.size or days[-1] >= today:
        return None
    return GONE_BY, (
        "the days for it have gone by. What was done wants logging (scheduler log SITE VISIT "
        "--on DAY); what was not can be left out of this plan (`without` of its [[work]])"
    )


def _waits(placed: Placed, visit_id: str) -> str:
    waits = [
        placed.titled(one)
        for one, other in placed.problem.ties
        if other == visit_id and one in placed.roster.left_out and one != visit_id
    ]
    have = "has" if len(waits) == 1 else "have"
    return f"it waits for {', '.join(waits)}, which {have} no place either" if waits else ""


def _code_of_days(placed: Placed, task: Task) -> str:
    """Why a task alone could have no day; empty where it could have one."""
    window = placed.windows[task.id]
    if window.fixed_first is None and not window.open.any():
        return "no-open-day"
    return "" if _somebody_works(placed, window) else NOBODY_WORKS


def _missing_skills(placed: Placed, task: Task) -> str:
    able = {skill for worker in placed.problem.workers for skill in worker.skills}
    needed = [skill for skill in task.team if skill != "hands" and skill not in task.hired]
    kit = [name for name in task.type.kit if name not in task.hired]
    return ", ".join([skill for skill in needed if skill not in able] + kit)


def _somebody_works(placed: Placed, window: TaskWindow) -> bool:
    days = window.open.copy()
    if window.fixed_first is not None:
        days = np.arange(days.size) == window.fixed_first
    return any(bool((worker.hours[days] > 0).any()) for worker in placed.problem.workers)


def _open_words(window: TaskWindow) -> str:
    if window.fixed_first is not None:
        return day_words(window.season.date_of(window.fixed_first))
    return ", ".join(f"{day_words(s.first)} to {day_words(s.last)}" for s in window.spans)
