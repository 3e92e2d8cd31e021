"""What stands that may do harm, and what could not be done: in plain words."""

from collections.abc import Iterator, Sequence
from datetime import timedelta

import numpy as np

from scheduler.season.bookings import booking_notices
from scheduler.season.conflicts import Conflicts
from scheduler.season.errands import CALLS, Errand
from scheduler.season.own_dates import own_date_notices
from scheduler.season.placed import Placed
from scheduler.season.reach import reach_words
from scheduler.season.spare import spare_notices
from scheduler.stand import Task, cover_of, left_to_utility, never_cut
from scheduler.terms import Level, Notice, day_words
from scheduler.windows import TaskWindow


def notices_of(placed: Placed, errands: Sequence[Errand]) -> tuple[Notice, ...]:
    """Everything worth telling, warnings first."""
    over = placed.outlook.as_of > placed.season.last
    notices = [
        *_frost_warnings(placed),
        *own_date_notices(placed),
        *_hard_nights(placed, errands),
        *_power_lines(placed),
        *(_plan_over(placed) if over else _left_out(placed)),
        *_late_errands(errands),
        *booking_notices(placed),
        *_odd_stock(placed),
        *_odd_log(placed, errands),
        *placed.outlook.notices,
        *spare_notices(placed.outlook.spare),
    ]
    return tuple(sorted(notices, key=lambda notice: notice.level is not Level.WARNING))


def _frost_warnings(placed: Placed) -> Iterator[Notice]:
    for task in placed.tasks.values():
        reach = placed.frost_reach(task)
        if reach is not None and task.plot is not None:
            code = "frost-window-open" if reach.weeks is None else "frost-in-new-growth"
            says = reach_words(reach, task.type.title, task.plot.name, placed.holding)
            yield Notice(code, Level.WARNING, task.id, says)


def _hard_nights(placed: Placed, errands: Sequence[Errand]) -> Iterator[Notice]:
    """Nights that stock wants covering for: a warning once it is tonight or tomorrow."""
    soon = placed.outlook.as_of + timedelta(days=1)
    for errand in errands:
        if errand.kind != "protect":
            continue
        level = Level.WARNING if errand.on <= soon else Level.NOTE
        says = f"{errand.title} on the evening of {day_words(errand.on)}: {errand.because}."
        yield Notice("frost-night", level, errand.id, says)


def _power_lines(placed: Placed) -> Iterator[Notice]:
    for plot in placed.holding.plots:
        words = left_to_utility(plot, placed.holding)
        if words is not None:
            yield Notice("power-line-near", Level.WARNING, plot.id, words)


def _plan_over(placed: Placed) -> Iterator[Notice]:
    says = (
        f"The plan ended on {day_words(placed.season.last)}; make a new plan-<season>.toml, or "
        "log what was done with `scheduler done`."
    )
    yield Notice("plan-over", Level.WARNING, placed.holding.plan.id, says)


def _left_out(placed: Placed) -> Iterator[Notice]:
    conflicts = Conflicts(placed)
    for task_id in placed.roster.left_out:
        task = placed.tasks[task_id]
        code, says = _why_left_out(placed, task, conflicts)
        head = f"{task.type.title} in {placed.place_of(task)} could not be placed"
        yield Notice(code, Level.WARNING, task_id, f"{head}: {says}.")


def _why_left_out(placed: Placed, task: Task, conflicts: Conflicts) -> tuple[str, str]:
    """Code and words of the plainest reason there is."""
    for reason in (_circle, _nobody_can, _date_past, _waits, _no_working_day):
        found = reason(placed, task)
        if found is not None:
            return found
    code = _code_of_days(placed, placed.windows[task.id])
    conflict = conflicts.of(task.id)
    if conflict is not None:
        return code, conflict.words
    return code, (
        f"its open days ({_open_words(placed.windows[task.id])}) leave no room after the work it "
        "waits for, beside the crew's other work"
    )


def _circle(placed: Placed, task: Task) -> tuple[str, str] | None:
    for circle in placed.roster.circles:
        if task.id in circle:
            titles = [placed.tasks[task_id].type.title for task_id in (*circle, circle[0])]
            told = ", then ".join(repr(title) for title in titles)
            return "order-circle", (
                f"the order of work runs in a circle ({told}); take one `after` of these out of "
                "rules.toml"
            )
    return None


def _no_working_day(placed: Placed, _task: Task) -> tuple[str, str] | None:
    """Nobody works on any day of the plan: no statement about this task is to blame."""
    if any(bool((worker.hours > 0).any()) for worker in placed.problem.workers):
        return None
    return "nobody-works", "nobody of the crew has a working day in the plan; see crew.toml"


def _nobody_can(placed: Placed, task: Task) -> tuple[str, str] | None:
    missing = _missing_skills(placed, task)
    if missing:
        return "nobody-can", f"nobody of the crew, own or hired, can do it ({missing})"
    return None


def _date_past(placed: Placed, task: Task) -> tuple[str, str] | None:
    fixed = placed.windows[task.id].fixed_first
    day = None if fixed is None else placed.season.date_of(fixed)
    if day is not None and day < placed.outlook.as_of:
        return "own-date-past", f"your own day for it, {day_words(day)}, has gone by"
    return None


def _waits(placed: Placed, task: Task) -> tuple[str, str] | None:
    waits = [
        placed.tasks[link.before].type.title
        for link in placed.links
        if link.after == task.id and link.before in placed.roster.left_out
    ]
    if waits:
        return "waits-for-left-out", f"it waits for {', '.join(waits)}, which has no place either"
    return None


def _code_of_days(placed: Placed, window: TaskWindow) -> str:
    if window.fixed_first is None and not window.open.any():
        return "no-open-day"
    return "left-out" if _somebody_works(placed, window) else "nobody-works"


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


def _late_errands(errands: Sequence[Errand]) -> Iterator[Notice]:
    for errand in errands:
        if errand.late and errand.needed is not None:
            says = f"{errand.title}: by now it is late for {day_words(errand.needed)}."
            yield Notice("booking-late", Level.WARNING, errand.id, says)


def _odd_stock(placed: Placed) -> Iterator[Notice]:
    holding = placed.holding
    for row in never_cut(holding):
        name = holding.rules.plants[row.plant].name.lower()
        says = (
            f"{row.count} {name} ({row.stratum}, {row.role}, {row.cut_system}) in {row.plot}: no "
            "kind of work takes them. Is cut_system right, or the group of the plant?"
        )
        yield Notice("never-cut", Level.WARNING, row.plot, says)
    for plot in holding.plots:
        for cover in cover_of(plot, holding.stock, holding.rules):
            if cover.share > holding.rules.figure("cover-too-large"):
                says = (
                    f"The crowns of the {cover.stratum} stratum cover {cover.share:.0f} times the "
                    f"ground of {plot.name}: is area_m2 right, or crown_m?"
                )
                yield Notice("cover-too-large", Level.WARNING, plot.id, says)
        if plot.planted > placed.season.last.year:
            says = f"{plot.name} is planted in {plot.planted}, after the end of the plan."
            yield Notice("planted-later", Level.WARNING, plot.id, says)


def _odd_log(placed: Placed, errands: Sequence[Errand]) -> Iterator[Notice]:
    known = {*placed.tasks, *(errand.id for errand in errands)}
    for task_id in placed.progress:
        kind = task_id.partition(".")[2]
        if task_id not in known and not kind.startswith(CALLS):
            says = f"worklog.csv speaks of {task_id}, which is no task of this plan."
            yield Notice("log-unknown-task", Level.WARNING, task_id, says)
