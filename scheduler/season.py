"""The walk through the rooms: from a holding's files to its crew's days. Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

import numpy as np

from scheduler.frost import FrostClimate, FrostRisk, climate_of, risk_of
from scheduler.holding import Holding, LogEntry
from scheduler.roster import Job, Kit, Order, Problem, Roster, Stint, Worker, solve
from scheduler.sky import Sky, sky_of
from scheduler.stand import Task, tasks_of
from scheduler.terms import Level, Notice, Season, day_words
from scheduler.windows import Facts, Link, TaskWindow, links_between, window_of

LOOK_AHEAD_DAYS = 210  # past the plan's end, for rules that count back from the next frost
QUARTER_H = 0.25  # hours are planned in quarters


@dataclass(frozen=True, slots=True)
class Errand:
    """A call or order that has to be made some days before the work that needs it.

    Args:
        id: ``holding.book-<what>-<visit>``.
        what: name of who or what is booked.
        on: the last good day for it.
        needed: first day on which it is needed.
        tasks: ids of the tasks that need it.
        late: whether that day has gone by.
    """

    id: str
    what: str
    on: date
    needed: date
    tasks: tuple[str, ...]
    late: bool


@dataclass(frozen=True)
class Outlook:
    """What is known of sky and frost, before any work is planned.

    Args:
        holding: the site's files, checked.
        as_of: today.
        season: the days of the plan.
        sky: Sun and Moon over those days.
        climate: the station's frost climate; None without a record.
        frost: frost risk by plot id, ``LOOK_AHEAD_DAYS`` longer than the plan.
    """

    holding: Holding
    as_of: date
    season: Season
    sky: Sky
    climate: FrostClimate | None
    frost: Mapping[str, FrostRisk]

    @cached_property
    def notices(self) -> tuple[Notice, ...]:
        """What the record says of itself, and where no frost date can be given."""
        told = self.climate.notices if self.climate else ()
        return (*told, *_unknown_frost(self))


@dataclass(frozen=True)
class SeasonPlan:
    """A season, planned.

    Args:
        outlook: sky and frost.
        tasks: every task the plan asks for, by id, in the order of work.
        windows: what the rules say of every day, by task id.
        links: the order of work.
        done: last log entry of finished tasks, by task id.
        problem: what the solver was asked.
        roster: what it answered.
    """

    outlook: Outlook
    tasks: Mapping[str, Task]
    windows: Mapping[str, TaskWindow]
    links: tuple[Link, ...]
    done: Mapping[str, LogEntry]
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

    @cached_property
    def stints(self) -> Mapping[str, Stint]:
        """Planned days by task id, in the order of their first day."""
        ordered = sorted(
            self.roster.stints, key=lambda stint: (stint.first, self._rank(stint), stint.job_id)
        )
        return {stint.job_id: stint for stint in ordered}

    def _rank(self, stint: Stint) -> int:
        return self.tasks[stint.job_id].type.order

    @cached_property
    def errands(self) -> tuple[Errand, ...]:
        """Bookings, by day."""
        return tuple(sorted(_errands(self), key=lambda errand: (errand.on, errand.id)))

    @cached_property
    def notices(self) -> tuple[Notice, ...]:
        """Everything worth telling, warnings first."""
        notices = [
            *_frost_warnings(self),
            *_line_warnings(self),
            *_left_out(self),
            *_late_errands(self),
            *self.outlook.notices,
        ]
        return tuple(sorted(notices, key=lambda notice: notice.level is not Level.WARNING))

    def frost_open(self, task: Task) -> tuple[date, float] | None:
        """First planned day of a task on which frost can reach what it exposes.

        Returns:
            The day and the chance of another frost from then on, NaN where no record says;
            None where the task exposes nothing or stands outside the frost window.
        """
        stint = self.stints.get(task.id)
        if stint is None or task.plot is None or not task.type.exposes:
            return None
        risk = self.outlook.frost[task.plot.id]
        return next(
            (
                (self.season.date_of(day), float(risk.chance_on_or_after[day]))
                for day in stint.days
                if risk.open[day]
            ),
            None,
        )


def outlook_of(holding: Holding, as_of: date) -> Outlook:
    """Compute sky and frost for the plan in force."""
    season = holding.plan.season
    climate = None
    policy = holding.site.frost
    if holding.record is not None:
        climate = climate_of(holding.record, period_seasons=policy.period_seasons)
    longer = Season(season.first, season.n_days + LOOK_AHEAD_DAYS)
    frost = {
        plot.id: risk_of(
            climate,
            threshold_c=policy.threshold_c,
            offset_c=plot.frost_offset_c,
            tolerance=policy.tolerance,
            season=longer,
            own_last=policy.own_last,
            own_first=policy.own_first,
            southern=holding.site.place.southern,
        )
        for plot in holding.plots
    }
    return Outlook(holding, as_of, season, sky_of(holding.site.place, season), climate, frost)


def plan_season(holding: Holding, as_of: date) -> SeasonPlan:
    """Plan the season: the whole walk.

    Args:
        holding: the site's files, checked.
        as_of: today; nothing is planned before it.

    Returns:
        The plan. What does not fit is left out and said in its notices.
    """
    outlook = outlook_of(holding, as_of)
    facts = Facts(holding, outlook.season, outlook.sky, outlook.frost, as_of)
    tasks = tasks_of(holding)
    windows = {task.id: window_of(task, facts) for task in tasks}
    links = links_between(tasks, holding.rules)
    done = {
        entry.task: entry
        for entry in holding.log
        if entry.plan == holding.plan.id and entry.percent == 100
    }
    problem = problem_of(outlook, windows, links, done)
    return SeasonPlan(
        outlook=outlook,
        tasks={task.id: task for task in tasks},
        windows=windows,
        links=links,
        done=done,
        problem=problem,
        roster=solve(problem),
    )


def problem_of(
    outlook: Outlook,
    windows: Mapping[str, TaskWindow],
    links: tuple[Link, ...],
    done: Mapping[str, LogEntry],
) -> Problem:
    """State the season as the roster takes it; finished work is left out of it."""
    part_done = {
        entry.task: entry.percent / 100
        for entry in outlook.holding.log
        if entry.plan == outlook.holding.plan.id
    }
    return Problem(
        season=outlook.season,
        jobs=tuple(
            _job(window, 1 - part_done.get(task_id, 0.0), outlook)
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


def _frost_chance(task: Task, outlook: Outlook) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
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
        yield Worker(person.name, frozenset(person.skills), hours)


def _kits(outlook: Outlook) -> Iterator[Kit]:
    for hire in outlook.holding.crew.hire:
        comes = np.array([hire.comes_on(day) for day in outlook.season], dtype=bool)
        yield Kit(hire.id, np.where(comes, hire.count, 0), 0.0)


def _errands(plan: SeasonPlan) -> Iterator[Errand]:
    """For each hire and visit: when it has to be booked at the latest."""
    for hire in plan.holding.crew.hire:
        by_visit: dict[str, list[str]] = {}
        for task_id in plan.stints:
            task = plan.tasks[task_id]
            if hire.id in task.hired:
                by_visit.setdefault(task.type.visit, []).append(task_id)
        for visit, task_ids in by_visit.items():
            needed = plan.season.date_of(min(plan.stints[task_id].first for task_id in task_ids))
            on = needed - timedelta(days=hire.lead_days)
            yield Errand(
                id=f"holding.book-{hire.id}-{visit}",
                what=hire.name,
                on=max(on, plan.outlook.as_of),
                needed=needed,
                tasks=tuple(task_ids),
                late=on < plan.outlook.as_of,
            )


def _frost_warnings(plan: SeasonPlan) -> Iterator[Notice]:
    for task in plan.tasks.values():
        found = plan.frost_open(task)
        if found is None or task.plot is None:
            continue
        day, chance = found
        risk = plan.outlook.frost[task.plot.id]
        closes = risk.closes_after(day)
        until = f"stays open until {day_words(closes)}" if closes else "never closes"
        says = (
            f"{task.type.title} in {task.plot.name} is planned for {day_words(day)}, while the "
            f"frost window there {until}"
        )
        if not np.isnan(chance):
            says += f": the chance of another frost from that day on is {_percent(chance)}"
        yield Notice("frost-window-open", Level.WARNING, task.id, says + ".")


def _percent(chance: float) -> str:
    """Never 0 or 100: a record cannot promise."""
    return f"{min(99, max(1, round(100 * chance)))} %"


def _line_warnings(plan: SeasonPlan) -> Iterator[Notice]:
    for task in plan.tasks.values():
        words = task.power_line_warning
        if words is not None:
            yield Notice("power-line-near", Level.WARNING, task.id, words)


def _left_out(plan: SeasonPlan) -> Iterator[Notice]:
    in_circle = {task_id for circle in plan.roster.circles for task_id in circle}
    for task_id in plan.roster.left_out:
        window, task = plan.windows[task_id], plan.tasks[task_id]
        where = task.plot.name if task.plot else plan.holding.site.name
        head = f"{task.type.title} in {where} could not be placed"
        if task_id in in_circle:
            says, code = "the order of work runs in a circle", "order-circle"
        elif not window.open.any():
            says, code = _closing_rules(window), "no-open-day"
        else:
            says = (
                "its open days ("
                + ", ".join(f"{day_words(s.first)} to {day_words(s.last)}" for s in window.spans)
                + ") leave no room after the work it waits for, beside the crew's other work"
            )
            code = "left-out"
        yield Notice(code, Level.WARNING, task_id, f"{head}: {says}.")


def _closing_rules(window: TaskWindow) -> str:
    """The fewest rules found that together close every day: the conflict the grower decides."""
    needed = list(window.rulings)
    for ruling in window.rulings:
        rest = [other for other in needed if other is not ruling]
        if rest and np.logical_or.reduce([other.closed for other in rest]).all():
            needed = rest
    return "no day is open to it, because " + "; and ".join(r.words for r in needed)


def _late_errands(plan: SeasonPlan) -> Iterator[Notice]:
    for errand in plan.errands:
        if errand.late:
            says = f"{errand.what} should have been booked by now for {day_words(errand.needed)}."
            yield Notice("booking-late", Level.WARNING, errand.id, says)


def _unknown_frost(outlook: Outlook) -> Iterator[Notice]:
    for plot in outlook.holding.plots:
        if outlook.frost[plot.id].basis == "unknown":
            says = (
                f"No frost dates are known for {plot.name}: work that frost could hurt is held "
                "back. Name a station record or your own dates under [frost] in site.toml."
            )
            yield Notice("frost-unknown", Level.WARNING, plot.id, says)
