"""The work of a season on the crew's days, and how the roster is asked for it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import Holding, LogEntry, hours_to_do
from scheduler.roster import Job, Kit, Order, Problem, Roster, Stint, Worker
from scheduler.season.kept_days import days_to_keep
from scheduler.season.outlook import Outlook
from scheduler.season.reach import FrostReach, reach_of
from scheduler.stand import Task
from scheduler.terms import DaySpan, Notice, Season
from scheduler.windows import Link, TaskWindow

QUARTER_H = 0.25  # hours are planned in quarters

# Runs of days for which each task was last published, by task id.
Published: TypeAlias = Mapping[str, Sequence[DaySpan]]


@dataclass(frozen=True)
class Placed:
    """Tasks, what the rules say of them, and where the roster put them.

    Args:
        outlook: sky and frost.
        tasks: every task the plan asks for, by id, in the order of work.
        windows: what the rules say of every day, by task id.
        links: the order of work.
        progress: last log entry of this plan, by task id.
        published: the days for which each task was last published.
        idle: what was asked for but is not due, with words.
        problem: what the solver was asked.
        roster: what it answered.
    """

    outlook: Outlook
    tasks: Mapping[str, Task]
    windows: Mapping[str, TaskWindow]
    links: tuple[Link, ...]
    progress: Mapping[str, LogEntry]
    published: Published
    idle: tuple[Notice, ...]
    problem: Problem
    roster: Roster

    @property
    def holding(self) -> Holding:
        """The site's files."""
        return self.outlook.holding

    @property
    def season(self) -> Season:
        """The days of the plan."""
        return self.outlook.season

    @property
    def done(self) -> Mapping[str, LogEntry]:
        """Last log entry of what is finished, by id."""
        return finished(self.progress)

    @cached_property
    def stints(self) -> Mapping[str, Stint]:
        """Planned days by task id, in the order of their first day."""
        ordered = sorted(
            self.roster.stints,
            key=lambda stint: (stint.first, self.tasks[stint.job_id].type.order, stint.job_id),
        )
        return {stint.job_id: stint for stint in ordered}

    def place_of(self, task: Task) -> str:
        """The name of the plot, or of the holding, that a task is done in."""
        return task.plot.name if task.plot else self.holding.site.name

    def titled(self, task_id: str) -> str:
        """A task as it is spoken of beside others: ``'Chip the branch wood' in Low plot``."""
        task = self.tasks.get(task_id)
        return task_id if task is None else f"{task.type.title!r} in {self.place_of(task)}"

    def frost_reach(self, task: Task) -> FrostReach | None:
        """Whether frost can reach what a planned task lays open, and what it would hurt."""
        stint = self.stints.get(task.id)
        if stint is None or task.plot is None:
            return None
        known = self.outlook.plots[task.plot.id]
        return reach_of(task, stint.days, self.season, known, self.holding)


def progress_of(holding: Holding) -> dict[str, LogEntry]:
    """The last entry of each task of the plan in force, by id."""
    return {task_id: entries[-1] for task_id, entries in entries_of(holding).items()}


def finished(progress: Mapping[str, LogEntry]) -> dict[str, LogEntry]:
    """The entries of what is wholly done."""
    return {task_id: entry for task_id, entry in progress.items() if entry.percent == 100}


def problem_of(
    outlook: Outlook,
    windows: Mapping[str, TaskWindow],
    links: tuple[Link, ...],
    published: Published,
) -> Problem:
    """State the season as the roster takes it; finished work is left out of it."""
    log = entries_of(outlook.holding)
    done = finished(progress_of(outlook.holding))
    todo = {task_id: window for task_id, window in windows.items() if task_id not in done}
    keeps = days_to_keep(outlook, todo, links, published)
    return Problem(
        season=outlook.season,
        jobs=tuple(
            _job(window, log.get(task_id, ()), keeps.get(task_id), outlook)
            for task_id, window in todo.items()
        ),
        orders=tuple(
            Order(link.before, link.after, link.min_days, _within(link, windows))
            for link in links
            if link.before not in done and link.after not in done
        ),
        workers=tuple(_workers(outlook)),
        kits=tuple(_kits(outlook)),
        heavy_in_row=outlook.holding.crew.heavy_days_in_row,
        heavy_worked=_heavy_worked(outlook),
    )


def entries_of(holding: Holding) -> dict[str, list[LogEntry]]:
    """The entries of the plan in force, by task id, in the order of the log."""
    answer: dict[str, list[LogEntry]] = {}
    for entry in holding.log:
        if entry.plan == holding.plan.id:
            answer.setdefault(entry.task, []).append(entry)
    return answer


def _heavy_worked(outlook: Outlook) -> frozenset[int]:
    """Days up to today on which heavy work was logged, whatever plan it was of."""
    holding, types = outlook.holding, outlook.holding.rules.tasks
    return frozenset(
        outlook.season.day_of(entry.date)
        for entry in holding.log
        if entry.date <= outlook.as_of
        and (kind := types.get(entry.task.rpartition(".")[2])) is not None
        and kind.heavy
    )


def _within(link: Link, windows: Mapping[str, TaskWindow]) -> int | None:
    """The longest wait after a task; none after a day the grower has set.

    Where the grower cuts before the window closes, the work that follows must wait longer
    than is usual; to leave it out for that would be worse.
    """
    return None if windows[link.before].fixed_first is not None else link.within_days


def _job(window: TaskWindow, log: Sequence[LogEntry], keep: int | None, outlook: Outlook) -> Job:
    task = window.task
    hours = hours_to_do(log, task.hours.usual)
    return Job(
        id=task.id,
        plot=task.plot.id if task.plot else "",
        work_h=max(QUARTER_H, round(hours / QUARTER_H) * QUARTER_H),
        # a hired climber is counted below, by the day, and is nobody's spare pair of hands
        team={skill: n for skill, n in task.team.items() if skill not in task.hired},
        team_max=task.type.crew_max,
        uses=dict.fromkeys(task.hired, 1),
        open=window.open,
        points=window.points,
        risk=_frost_chance(task, outlook),
        importance=min(task.type.importance, 9),
        hurry=_hurry(window, outlook),
        heavy=task.type.heavy,
        fixed_first=window.fixed_first,
        published_first=keep,
    )


def _frost_chance(task: Task, outlook: Outlook) -> NDArray[np.float64]:
    """Chance of another frost on or after each day, for tasks that lay something open to it.

    A chance that the grower tolerates counts as none: otherwise every piece of work would
    slip to midsummer for the last tenth of a per cent.
    """
    n_days = outlook.season.n_days
    if task.plot is None or not task.type.exposes:
        return np.zeros(n_days)
    risk = outlook.frost[task.plot.id]
    chance = np.nan_to_num(risk.chance_on_or_after[:n_days], nan=1.0)
    return np.where(risk.open[:n_days], chance, 0.0)


def _hurry(window: TaskWindow, outlook: Outlook) -> int:
    """More where covers may go on in the open frost window: each night without them counts."""
    task = window.task
    if task.plot is None or not task.type.covers:
        return 1
    is_open = outlook.frost[task.plot.id].open[: outlook.season.n_days]
    late = bool((window.open & is_open).any())
    return round(outlook.holding.rules.figure("late-cover-hurry")) if late else 1


def _workers(outlook: Outlook) -> Iterator[Worker]:
    """Everybody's hours, cut by daylight, less the share that is kept free."""
    daylight_h = outlook.sky.day_length_h
    kept = outlook.spare.worked(outlook.season)
    for person in outlook.holding.crew.person:
        told_h = np.array([person.hours_on(day) for day in outlook.season])
        hours = kept * np.minimum(told_h, daylight_h)
        yield Worker(person.name, frozenset[Any](person.skills), hours)


def _kits(outlook: Outlook) -> Iterator[Kit]:
    """What is hired, by the day."""
    for hire in outlook.holding.crew.hire:
        comes = np.array([hire.comes_on(day) for day in outlook.season], dtype=bool)
        units = np.where(comes, hire.count, 0)
        yield Kit(hire.id, units, hire.cost_day, hire.block_days)
