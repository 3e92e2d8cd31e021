"""The work of a season on the crew's days, and how the roster is asked for it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import Holding, LogEntry
from scheduler.roster import Job, Kit, Order, Problem, Roster, Stint, Worker
from scheduler.season.outlook import Outlook
from scheduler.season.reach import FrostReach, reach_of
from scheduler.stand import Task
from scheduler.terms import Season
from scheduler.windows import Link, TaskWindow

QUARTER_H = 0.25  # hours are planned in quarters


@dataclass(frozen=True)
class Placed:
    """Tasks, what the rules say of them, and where the roster put them.

    Args:
        outlook: sky and frost.
        tasks: every task the plan asks for, by id, in the order of work.
        windows: what the rules say of every day, by task id.
        links: the order of work.
        progress: last log entry of this plan, by task id.
        problem: what the solver was asked.
        roster: what it answered.
    """

    outlook: Outlook
    tasks: Mapping[str, Task]
    windows: Mapping[str, TaskWindow]
    links: tuple[Link, ...]
    progress: Mapping[str, LogEntry]
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

    def frost_reach(self, task: Task) -> FrostReach | None:
        """Whether frost can reach what a planned task lays open, and what it would hurt."""
        stint = self.stints.get(task.id)
        if stint is None or task.plot is None:
            return None
        known = self.outlook.plots[task.plot.id]
        return reach_of(task, stint.days, self.season, known, self.holding)


def finished(progress: Mapping[str, LogEntry]) -> dict[str, LogEntry]:
    """The entries of what is wholly done."""
    return {task_id: entry for task_id, entry in progress.items() if entry.percent == 100}


def problem_of(
    outlook: Outlook,
    windows: Mapping[str, TaskWindow],
    links: tuple[Link, ...],
    progress: Mapping[str, LogEntry],
) -> Problem:
    """State the season as the roster takes it; finished work is left out of it."""
    done = finished(progress)
    return Problem(
        season=outlook.season,
        jobs=tuple(
            _job(window, _share_left(progress.get(task_id)), outlook)
            for task_id, window in windows.items()
            if task_id not in done
        ),
        orders=tuple(
            Order(link.before, link.after, link.min_days, _within(link, windows))
            for link in links
            if link.before not in done and link.after not in done
        ),
        workers=tuple(_workers(outlook)),
        kits=tuple(_kits(outlook)),
    )


def _share_left(entry: LogEntry | None) -> float:
    return 1.0 if entry is None else 1.0 - entry.percent / 100


def _within(link: Link, windows: Mapping[str, TaskWindow]) -> int | None:
    """The longest wait after a task; none after a day the grower has set.

    Where the grower cuts before the window closes, the work that follows must wait longer
    than is usual; to leave it out for that would be worse.
    """
    return None if windows[link.before].fixed_first is not None else link.within_days


def _job(window: TaskWindow, share_left: float, outlook: Outlook) -> Job:
    task = window.task
    hours = max(QUARTER_H, round(task.hours.usual * share_left / QUARTER_H) * QUARTER_H)
    return Job(
        id=task.id,
        plot=task.plot.id if task.plot else "",
        work_h=hours,
        # a hired climber is counted below, by the day, and is nobody's spare pair of hands
        team={skill: n for skill, n in task.team.items() if skill not in task.hired},
        team_max=task.type.crew_max,
        uses=dict.fromkeys(task.hired, 1),
        open=window.open,
        points=window.points,
        risk=_frost_chance(task, outlook),
        importance=min(task.type.importance, 9),
        fixed_first=window.fixed_first,
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


def _workers(outlook: Outlook) -> Iterator[Worker]:
    daylight_h = outlook.sky.day_length_h
    for person in outlook.holding.crew.person:
        works = np.array([person.works_on(day) for day in outlook.season], dtype=bool)
        hours = np.where(works, np.minimum(person.hours, daylight_h), 0.0)
        yield Worker(person.name, frozenset[Any](person.skills), hours)


def _kits(outlook: Outlook) -> Iterator[Kit]:
    """What is hired, by the day.

    Its price is not handed on: as an aim of its own, fewest blocks of hire made the demo
    season wait 2,700 task-days longer to save a few of them (DEVELOPERS.md).
    """
    for hire in outlook.holding.crew.hire:
        comes = np.array([hire.comes_on(day) for day in outlook.season], dtype=bool)
        yield Kit(hire.id, np.where(comes, hire.count, 0))
