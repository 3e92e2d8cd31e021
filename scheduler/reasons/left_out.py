"""Work without a place: one warning for each cause, with all that stays out for it.

Decided: what merely waits is named with its cause; a circle is told once.
Held by tests/reasons/test_half_done.py::test_work_that_merely_waits_is_told_with_its_cause.
"""

from collections.abc import Collection, Iterator, Sequence
from typing import get_args

import numpy as np

from scheduler.files import fields
from scheduler.reasons.conflicts import Conflicts
from scheduler.roster import followers, with_followers
from scheduler.season import Placed
from scheduler.stand import Task
from scheduler.terms import Level, Notice, day_words
from scheduler.windows import BY_TODAY, TaskWindow

WAITS = "waits-for-left-out"
NOBODY_WORKS = "nobody-works"
GONE_BY = "days-gone-by"
HALF_DONE_CODE = "visit-half-done"


def left_out_notices(placed: Placed) -> Iterator[Notice]:
    """A warning for each cause, and a note for each task that merely waits for one of those."""
    in_circle = {placed.visit_of[t] for circle in placed.roster.circles for t in circle}
    conflicts, left = Conflicts(placed), set(placed.roster.left_out) - in_circle
    reasons = {v: _why_left_out(placed, v, conflicts) for v in placed.groups if v in left}
    waiting = [visit_id for visit_id, (code, _) in reasons.items() if code == WAITS]
    yield from _circle_notices(placed, waiting)
    alike: dict[tuple[str, str], list[str]] = {}
    for visit_id, (code, says) in reasons.items():
        if code == WAITS:
            yield _notice(placed, code, says, [visit_id], ())
        else:
            alike.setdefault((code, says), []).append(visit_id)
    for (code, says), ids in alike.items():
        yield _notice(placed, code, says, ids, _with_it(placed, ids, waiting))


def _notice(
    placed: Placed, code: str, says: str, ids: Sequence[str], with_it: Sequence[str]
) -> Notice:
    """What could not be placed for one reason, and what stays out with it."""
    title = placed.titled(ids[0])
    head = title[0].upper() + title[1:] if len(ids) == 1 else ", ".join(ids)
    visits = (placed.problem.visit_by_id[visit_id] for visit_id in (*ids, *with_it))
    steps = (step.id for visit in visits for step in visit.steps if step.id != visit.id)
    are = "is" if len(ids) == 1 else "are"
    level = Level.NOTE if code == WAITS else Level.WARNING
    whole = f"{head} {are} unscheduled: {says}.{_with_words(placed, with_it)}"
    return Notice(code, level, ids[0], whole, (*ids[1:], *with_it, *steps))


def _with_it(placed: Placed, causes: Collection[str], waiting: Sequence[str]) -> list[str]:
    """The visits that wait for any of these, or for one that does."""
    after = followers(pair for pair in placed.problem.ties if pair[1] in waiting)
    reached = with_followers(set(causes), after)
    return [visit_id for visit_id in waiting if visit_id in reached]


def _with_words(placed: Placed, with_it: Collection[str]) -> str:
    titles = dict.fromkeys(placed.titled(visit_id) for visit_id in with_it)
    stays = "stays" if len(titles) == 1 else "stay"
    return f" With it {stays} out: {', '.join(titles)}." if titles else ""


def _circle_notices(placed: Placed, waiting: Sequence[str]) -> Iterator[Notice]:
    """Steps that wait for one another in one plot; kinds that do are a fault of rules.toml."""
    for circle in placed.roster.circles:
        titles = [repr(placed.tasks[task_id].title) for task_id in reversed(circle)]
        with_it = _with_it(placed, [placed.visit_of[t] for t in circle], waiting)
        says = (
            f"The order of work runs in a circle, so this is unscheduled: "
            f"{' waits for '.join([*titles, titles[0]])}.{_with_words(placed, with_it)}"
        )
        yield Notice("order-circle", Level.WARNING, circle[0], says, (*circle[1:], *with_it))


def _why_left_out(placed: Placed, visit_id: str, conflicts: Conflicts) -> tuple[str, str]:
    """Code and words of the plainest reason there is."""
    if waits := _waits(placed, visit_id):
        return WAITS, waits
    tasks = [placed.tasks[step.id] for step in placed.problem.visit_by_id[visit_id].steps]
    for reason in (_nobody_can, _date_past, _no_working_day, _gone_by):
        for task in tasks:
            if found := reason(placed, task):
                code, says = found
                whole = code in (GONE_BY, NOBODY_WORKS)  # no step of it is to blame
                return code, says if whole else f"{_step_words(task, tasks, placed)}{says}"
    shut = [(task, code) for task in tasks if (code := _code_of_days(placed, task))]
    code = shut[0][1] if shut else "left-out"
    if conflict := conflicts.of(visit_id):
        about = _step_words(shut[0][0], tasks, placed) if len(shut) == 1 else ""
        return code, f"{about}{conflict}"
    narrow = min(tasks, key=lambda task: int(placed.windows[task.id].open.sum()))
    return code, (
        f"{_step_words(narrow, tasks, placed)}its open days "
        f"({_open_words(placed.windows[narrow.id])}) leave no room after the work it waits for, "
        "beside the crew's other work"
    )


def _waits(placed: Placed, visit_id: str) -> str:
    waits = [
        placed.titled(before)
        for before, after in placed.problem.ties
        if after == visit_id != before and before in placed.roster.left_out
    ]
    are = "is" if len(waits) == 1 else "are"
    return f"it waits for {', '.join(waits)}, which {are} unscheduled too" if waits else ""


def _step_words(task: Task, tasks: Sequence[Task], placed: Placed) -> str:
    """Which step of a visit a reason is about, and how the visit would go without it."""
    if len(tasks) == 1:
        return ""
    return (
        f'{task.title!r} keeps it out (`without = ["{task.type.id}"]` in '
        f"{placed.holding.plan.file} would leave that step alone out): "
    )


def _wanted(missing: Sequence[str]) -> str:
    """What crew.toml lacks for a task, by names of kit and skills."""
    return "; ".join(
        f"crew.toml wants a [[person]] with the skill {name}"
        if name in get_args(fields.Skill) and name != "climber"
        else f'crew.toml wants a [[hire]] with id = "{name}"'
        for name in missing
    )


def _nobody_can(placed: Placed, task: Task) -> tuple[str, str] | None:
    workers = placed.problem.workers
    able = {"hands", *task.hired}.union(*(worker.skills for worker in workers))
    missing: list[str] = [skill for skill in task.team if skill not in able]
    missing += [name for name in task.type.kit if name not in task.hired]
    if missing:
        return "nobody-can", f"nobody of the crew, own or hired, can do it: {_wanted(missing)}"
    own = sum(n for skill, n in task.team.items() if skill not in task.hired)
    if own > len(workers) >= 1:
        return "too-few", (
            f"it takes {own} people: nobody is planned alone with a saw, on a ladder or at a "
            f"chipper, and the crew has {len(workers)}. Somebody to help, or "
            "`works_alone = true` in site.toml if you work alone"
        )
    return None


def _date_past(placed: Placed, task: Task) -> tuple[str, str] | None:
    fixed = placed.windows[task.id].fixed_first
    if fixed is None or fixed >= placed.season.day_of(placed.outlook.as_of):
        return None
    day = day_words(placed.season.date_of(fixed))
    return "own-date-past", f"your own day for it, {day}, has gone by"


def _no_working_day(placed: Placed, _task: Task) -> tuple[str, str] | None:
    """Nobody works on any day of the plan: no statement about this task is to blame."""
    if any(worker.hours.any() for worker in placed.problem.workers):
        return None
    return NOBODY_WORKS, "nobody of the crew has a working day in the plan; see crew.toml"


def _gone_by(placed: Placed, task: Task) -> tuple[str, str] | None:
    """All its days lie before today: done and not logged, or missed."""
    window, today = placed.windows[task.id], placed.season.day_of(placed.outlook.as_of)
    days = np.flatnonzero(window.open_but_for(BY_TODAY))
    if window.fixed_first is not None or not days.size or days[-1] >= today:
        return None
    return GONE_BY, (
        "the days for it have gone by. What was done wants logging (scheduler log SITE VISIT "
        "--on DAY); what was not can be left out of this plan (`without` of its [[work]]; a crop "
        'as "pick:apricot")'
    )


def _code_of_days(placed: Placed, task: Task) -> str:
    """Why a task alone could have no day; empty where it could have one."""
    window = placed.windows[task.id]
    days = window.open
    if window.fixed_first is not None:
        days = np.arange(days.size) == window.fixed_first
    elif not days.any():
        return "no-open-day"
    works = any(worker.hours[days].any() for worker in placed.problem.workers)
    return "" if works else NOBODY_WORKS


def _open_words(window: TaskWindow) -> str:
    if window.fixed_first is not None:
        return day_words(window.season.date_of(window.fixed_first))
    return ", ".join(f"{day_words(span.first)} to {day_words(span.last)}" for span in window.spans)


def half_done_notices(placed: Placed) -> Iterator[Notice]:
    """A warning for each visit that is begun and whose rest has no place, or one far too late.

    None is planned that way: a visit has days for all its steps, or none at all. But days go by,
    and people fall ill.
    """
    for visit_id, ids in placed.groups.items():
        left = [task_id for task_id in ids if task_id not in placed.done]
        begun = any(task_id in placed.progress for task_id in ids)
        if not left or not begun or not placed.tasks[left[0]].is_step:
            continue
        if says := _half_done_words(placed, visit_id, left):
            yield Notice(HALF_DONE_CODE, Level.WARNING, visit_id, says, tuple(left))


def _half_done_words(placed: Placed, visit_id: str, left: list[str]) -> str:
    """What is left lying, and what to do; empty where the rest follows in time."""
    days, visit = placed.logged_days(visit_id), placed.visits.get(visit_id)
    if not days:
        return ""
    titles = [repr(placed.tasks[task_id].title) for task_id in left]
    rest = titles[0] if len(left) == 1 else f"{titles[0]} to {titles[-1]}"
    head = f"{placed.titled(visit_id)} is begun (last logged on {day_words(days[-1])}), but"
    head = f"{head[0].upper()}{head[1:]} the rest ({rest}) is"
    if visit is None:
        return (
            f"{head} unscheduled. Make room for it soon: the warnings about unscheduled work say "
            "how."
        )
    waits = [
        link.within_days
        for link in placed.links
        if link.after in left and link.before in placed.progress and link.within_days is not None
    ]
    first, late = placed.season.date_of(visit.first), placed.holding.rules.figure("far-too-late")
    if not waits or (first - days[-1]).days <= late * max(waits):
        return ""
    return (
        f"{head} planned for {day_words(first)} only. Make room for it soon: `scheduler why SITE "
        f"{visit_id}` says what keeps it."
    )
