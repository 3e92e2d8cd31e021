"""The work of a season on the crew's days, and what a logged day of it means."""

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import Any, Concatenate, ParamSpec, TypeVar

from scheduler.frost import FrostReach, reach_of
from scheduler.holding import Holding, LogEntry
from scheduler.roster import Problem, Roster, Standing, Stint, VisitDays
from scheduler.season.logged import entries_of, finished, logged_days
from scheduler.season.outlook import Outlook
from scheduler.season.roster_problem import Groups, Published, visit_of_task
from scheduler.stand import LoggedCuts, Rotting, Task
from scheduler.terms import Notice, Season
from scheduler.windows import Concern, Link, TaskWindow, concerns_of

_P = ParamSpec("_P")
_T = TypeVar("_T")


def once_a_plan(
    function: Callable[Concatenate["Placed", _P], _T],
) -> Callable[Concatenate["Placed", _P], _T]:
    """Compute once for a plan and the same arguments, as several calendars and pages ask.

    What was found goes with the plan, so that who plans many holdings keeps none of them.
    """

    def known(plan: "Placed", /, *args: _P.args, **kwargs: _P.kwargs) -> _T:
        key = (function, *args, *kwargs.items())
        if key not in plan.found:
            plan.found[key] = function(plan, *args, **kwargs)
        found: _T = plan.found[key]
        return found

    return known


@dataclass(frozen=True, eq=False)
class Placed:
    """Tasks, what the rules say of them, and where the roster put them."""

    outlook: Outlook
    tasks: Mapping[str, Task]  # every task the plan asks for, by id, in the order of work
    windows: Mapping[str, TaskWindow]  # what the rules say of every day, by task id
    links: tuple[Link, ...]  # the order of work
    groups: Groups  # the tasks of each visit, finished ones too
    progress: Mapping[str, LogEntry]  # last log entry of this plan, by task id
    published: Published  # the days for which each visit was last published
    idle: tuple[Notice, ...]  # what was asked for but is not due, with words
    problem: Problem  # what the solver was asked, and ``roster`` what it answered
    roster: Roster
    # by ``once_a_plan``; a plan made from this one begins without
    found: dict[Hashable, Any] = field(default_factory=dict, init=False)

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

    @property
    def begun(self) -> bool:
        """Whether the plan's first day has gone by."""
        return self.season.first < self.outlook.as_of

    @property
    def is_later(self) -> bool:
        """Whether another plan is in force before this one."""
        plans, as_of = self.holding.plans, self.outlook.as_of
        return any(as_of <= plan.season.last < self.season.first for plan in plans)

    @property
    def done_by_its_end(self) -> dict[str, date]:
        """The last day on which each task is planned, or was finished, by its id."""
        planned = {task_id: self.season.date_of(s.last) for task_id, s in self.stints.items()}
        return planned | {task_id: entry.date for task_id, entry in self.done.items()}

    @cached_property
    def stints(self) -> Mapping[str, Stint]:
        """Planned days by task id, in the order of their first day."""
        ordered = sorted(
            self.roster.stints,
            key=lambda stint: (stint.first, self.tasks[stint.step_id].type.order, stint.step_id),
        )
        return {stint.step_id: stint for stint in ordered}

    @cached_property
    def visits(self) -> Mapping[str, VisitDays]:
        """Planned visits by id, in the order of their first day."""
        ordered = sorted(self.roster.visits, key=lambda visit: (visit.first, visit.visit_id))
        return {visit.visit_id: visit for visit in ordered}

    @cached_property
    def standing(self) -> Standing:
        """The roster, to be asked about other days."""
        return Standing(self.problem, self.roster)

    @cached_property
    def log(self) -> dict[str, list[LogEntry]]:
        """Log entries of this plan, by task id."""
        return entries_of(self.holding)

    @cached_property
    def logged_cuts(self) -> LoggedCuts:
        """The last cut of each row of stock, the work log among what is known of it."""
        return LoggedCuts(self.holding, self.outlook.as_of)

    @cached_property
    def rotting(self) -> Rotting:
        """How fast mulch rots at the site."""
        return Rotting(self.holding.record, self.holding.rules)

    @cached_property
    def visit_of(self) -> Mapping[str, str]:
        """The visit of each task, by task id."""
        return visit_of_task(self.groups)

    @cached_property
    def left_out(self) -> tuple[str, ...]:
        """Ids of the tasks of the visits without a place, in the order of work."""
        out = {
            step.id
            for visit_id in self.roster.left_out
            for step in self.problem.visit_by_id[visit_id].steps
        }
        return tuple(task_id for task_id in self.tasks if task_id in out)

    def logged_days(self, visit_id: str) -> tuple[date, ...]:
        """Days up to today on which the log has work of a visit, ascending."""
        ids = self.groups.get(visit_id, ())
        return logged_days(ids, self.log, self.outlook.as_of)

    def place_of(self, task: Task) -> str:
        """The name of the plot, or of the holding, that a task is done in."""
        return task.plot.name if task.plot else self.holding.site.name

    def titled(self, task_id: str) -> str:
        """A task or visit as it is spoken of beside others: ``'Walk the plot' in Low plot``."""
        ids = self.groups.get(task_id, (task_id,))
        task = self.tasks.get(ids[0])
        if task is None:
            return task_id
        if task.is_step and task_id in self.groups:
            return f"the {task.type.visit} visit of {self.place_of(task)}"
        return f"{task.title!r} in {self.place_of(task)}"

    @once_a_plan
    def frost_reach(self, task_id: str) -> FrostReach | None:
        """Whether frost can reach what a planned task lays open, and what it would hurt."""
        task, stint = self.tasks[task_id], self.stints.get(task_id)
        if stint is None or task.plot is None:
            return None
        frost = self.outlook.plots[task.plot.id]
        return reach_of(task, stint.days, self.season, frost, self.holding)

    @once_a_plan
    def concerns(self, task_id: str) -> tuple[Concern, ...]:
        """The rules that pull against the open days of a task."""
        return concerns_of(self.windows[task_id], self.outlook.facts)


def worked_until(placed: Placed, visit_id: str, day: date) -> Iterator[tuple[str, int, float]]:
    """The steps of a visit that the plan has begun by a day, in the order of work.

    What the log has of a step already counts: the plan speaks of the rest alone.

    Returns:
        For each its id, how much of it is done by then, 1 to 100 %, and the person-hours that
        are planned for that day and the days before it.
    """
    until = placed.season.day_of(day)
    for task_id in placed.groups.get(visit_id, ()):
        stint = placed.stints.get(task_id)
        if stint is None or stint.first > until:
            continue
        days = zip(stint.days, stint.hours, strict=True)
        worked_h = sum(hours for on, hours in days if on <= until)
        entry = placed.progress.get(task_id)
        before = entry.percent if entry else 0
        percent = round(before + (100 - before) * worked_h / sum(stint.hours))
        yield task_id, 100 if stint.last <= until else min(max(percent, 1), 99), worked_h


def visits_on(placed: Placed, day: date) -> tuple[str, ...]:
    """The visits with work on a day, or published for it."""
    number = placed.season.day_of(day)
    return tuple(
        visit_id
        for visit_id, ids in placed.groups.items()
        if any(day in span for span in placed.published.get(visit_id, ()))
        or any(t in placed.stints and number in placed.stints[t].days for t in ids)
    )


def planned_from(placed: Placed, visit_id: str, day: date) -> date:
    """The day as of which the plan speaks of what was done of a visit until a day.

    The first day that was published for it, or the day after the last one that is logged: what
    has not been logged since is planned as it was then.
    """
    spans, logged = placed.published.get(visit_id, ()), placed.logged_days(visit_id)
    first = min((span.first for span in spans), default=day)
    if logged:
        first = max(first, logged[-1] + timedelta(days=1))
    return min(first, day)
