"""The command that records work: a step, a visit, or all that was planned for a day."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import isfinite
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.commands.door import (
    AsOf,
    PlanId,
    Site,
    a_day,
    booked_days_words,
    faults_told,
    progress,
    published_in,
    read_site,
    refuse,
    refuse_unknown,
    skipped_words,
    today,
)
from scheduler.commands.screen import say

if TYPE_CHECKING:
    from scheduler.holding import Holding, LogEntry
    from scheduler.season import Placed

log_command = typer.Typer()


def person_hours(text: str) -> float:
    """Person-hours as they are typed, with a point or a comma: ``8.5``, ``8,5``."""
    try:
        hours = float(text.replace(",", "."))
    except ValueError as error:
        raise typer.BadParameter(f"{text!r} is no number of person-hours") from error
    if not (isfinite(hours) and hours >= 0):
        raise typer.BadParameter(f"{text}: a number of person-hours is needed, 0 or more")
    return hours


@dataclass(frozen=True)
class Said:
    """What the options say of the work."""

    on: date  # day of the work
    percent: int | None  # how much is done so far, if that is told
    hours_left: float | None  # person-hours still to do, if that is told
    hours: float | None  # person-hours worked, if they were counted
    note: str  # what is worth remembering


@log_command.command(
    epilog="Example: scheduler log sites/branasol fondal.release --on 2027-05-25 --hours 14,5"
)
def log(
    site: Site,
    what: Annotated[
        list[str],
        typer.Argument(
            metavar="WHAT...", help="Visits, steps or calls; or a day: all that it had."
        ),
    ],
    on: Annotated[
        date | None,
        typer.Option("--on", parser=a_day, metavar="DATE", help="Day of the work; else today."),
    ] = None,
    percent: Annotated[
        int | None, typer.Option(min=1, max=100, help="How much is done so far; else all of it.")
    ] = None,
    hours_left: Annotated[
        float | None,
        typer.Option(
            parser=person_hours,
            metavar="H",
            help="Person-hours still to do, instead of --percent.",
        ),
    ] = None,
    hours: Annotated[
        float | None, typer.Option(parser=person_hours, metavar="H", help="Person-hours worked.")
    ] = None,
    note: Annotated[str, typer.Option(help="What is worth remembering.")] = "",
    as_of: AsOf = None,
    plan: PlanId = None,
) -> None:
    """Record work in the work log; what is left of it is planned again.

    Of a visit, the steps that the plan has for that day and the days before it are recorded as it
    has them; all of it with --percent 100. A day takes every visit of that day.
    """
    from scheduler.holding import locked_log

    if hours_left is not None and percent is not None:
        refuse("--hours-left and --percent say the same; give one of them")
    # nobody else may log between the reading of the log and the new rows
    with faults_told(), locked_log(site) as append, progress():
        holding = read_site(site, as_of, plan)
        said = Said(on or today(as_of), percent, hours_left, hours, " ".join(note.split()))
        entries = list(_entries(holding, what, said))
        earlier = _refuse_contradictions(entries, holding, today(as_of))
        words = list(_after_words(holding, entries, as_of))
        append(entries)
    for entry in entries:
        say(f"{entry.task}: {entry.percent} % done on {entry.date}, written to "
                   f"{site / 'worklog.csv'}")  # fmt: skip
    for line in dict.fromkeys((*words, *earlier)):
        say(line, err=line.startswith("note:"), lines=True)


@dataclass(frozen=True)
class Row:
    """One row to write into the work log."""

    task_id: str  # the step, or the call
    on: date  # day of the work
    percent: int  # how much of it is done by then
    # person-hours planned for it; the hours worked are shared in their proportion
    work_h: float = 0.0


def _entries(holding: "Holding", what: Sequence[str], said: Said) -> Iterator["LogEntry"]:
    """The rows for everything that is named."""
    from scheduler.holding import LogEntry
    from scheduler.stand import book_hours_of

    rows = _each_once(_rows(holding, what, said))
    for row, hours in zip(rows, _shared(said.hours, rows), strict=True):
        book_h = book_hours_of(row.task_id, holding)
        yield LogEntry(
            date=row.on,
            plan=holding.plan.id,
            task=row.task_id,
            percent=row.percent,
            hours=hours,
            note=said.note,
            hours_left=said.hours_left or None,
            book_h=None if book_h is None else round(book_h, 2),
        )


def _rows(holding: "Holding", what: Sequence[str], said: Said) -> Iterator[Row]:
    from scheduler.stand import calls_of, tasks_of

    if len(what) > 1 and said.hours_left is not None:
        refuse("--hours-left speaks of one piece of work; name that one alone")
    tasks = tasks_of(holding)
    visits = {task.visit_id for task in tasks if task.visit_id != task.id}
    usual_h = dict.fromkeys(calls_of(holding), 0.0)
    usual_h |= {task.id: task.hours.usual for task in tasks}
    whole = said.hours_left is None and said.percent in (None, 100)
    # other work bears the name of its first task; a part of it is said of that task alone
    single = usual_h.keys() - (visits if whole else set())
    for name in what:
        if not name[:1].isdigit():
            refuse_unknown(name, holding)
        if name in single:
            percent = _percent(holding, name, said, usual_h[name])
            yield Row(name, said.on, percent, usual_h[name])
        elif whole:
            yield from _of_visits(holding, name, said, is_day=name not in visits)
        else:
            only_steps = "--percent below 100 and --hours-left speak of one step; name the step"
            refuse(f"{name}: {only_steps}")


def _percent(holding: "Holding", task_id: str, said: Said, usual_h: float) -> int:
    from scheduler.holding import percent_so_far

    if said.hours_left is None:
        return 100 if said.percent is None else said.percent
    earlier = [e for e in holding.log if (e.plan, e.task) == (holding.plan.id, task_id)]
    return percent_so_far(said.hours_left, usual_h, earlier)


def _of_visits(holding: "Holding", what: str, said: Said, *, is_day: bool) -> Iterator[Row]:
    """The rows of a visit, or of all visits of a day, as the plan has them by then."""
    from scheduler.season import placed_season, visits_on

    day = a_day(what) if is_day else said.on
    published = published_in([None], holding)
    # who has come to work has been called, whatever the log says
    hires = tuple(replace(hire, lead_days=0) for hire in holding.crew.hire)
    holding = replace(holding, crew=replace(holding.crew, hire=hires))
    season = placed_season(holding, day, published=published)
    rows: list[Row] = []
    for visit_id in visits_on(season, day) if is_day else (what,):
        left = [t for t in season.groups.get(visit_id, ()) if t not in season.done]
        if said.percent == 100:
            rows += [Row(t, day, 100, season.tasks[t].hours.usual) for t in left]
        elif left:
            rows += _worked_by(season, visit_id, day)
    if not rows:
        refuse(
            f"{what}: the plan has no work for it up to {day} that is not logged as done; name a "
            "step, or all of a visit with --percent 100"
        )
    yield from rows


def _worked_by(season: "Placed", visit_id: str, day: date) -> Iterator[Row]:
    """The rows of a visit that the plan has begun by a day."""
    from scheduler.season import placed_season, planned_from, worked_until

    holding, published = season.holding, season.published
    since = planned_from(season, visit_id, day)
    there = season if since == day else placed_season(holding, since, published=published)
    worked = list(worked_until(there, visit_id, day))
    if not worked and any(span.first <= day for span in published.get(visit_id, ())):
        # it waits for what nobody has logged; the calendar had it for this day
        there = placed_season(holding, season.season.first, published=published)
        worked = list(worked_until(there, visit_id, day))
    yield from (Row(task_id, day, percent, work_h) for task_id, percent, work_h in worked)


def _each_once(rows: Iterable[Row]) -> list[Row]:
    """By day; of work that is named twice only what the later row adds."""
    kept: dict[str, list[Row]] = {}
    for row in sorted(rows, key=lambda row: row.on):
        mine = kept.setdefault(row.task_id, [])
        if not mine:
            mine.append(row)
        elif row.percent > mine[-1].percent:
            before_h = sum(one.work_h for one in mine)
            mine.append(replace(row, work_h=max(0.0, row.work_h - before_h)))
    return sorted((row for mine in kept.values() for row in mine), key=lambda row: row.on)


def _shared(hours: float | None, rows: Sequence[Row]) -> Iterator[float | None]:
    """The hours worked, shared as the plan shares them; together they are what was told."""
    whole_h = sum(row.work_h for row in rows)
    shares = [row.work_h / whole_h if whole_h else 1 / len(rows) for row in rows]
    given, so_far = 0.0, 0.0
    for share in shares:
        if hours is None:
            yield None
            continue
        so_far += share
        mine = round(round(hours * so_far, 2) - given, 2)
        given += mine
        yield mine


def _refuse_contradictions(
    entries: Sequence["LogEntry"], holding: "Holding", as_of: date
) -> list[str]:
    """Refuse what the log, the plan or the day speaks against, all of it at once.

    Returns:
        Notes about what is early.
    """
    from scheduler.holding import contradictions
    from scheduler.stand import calls_of

    calls, first, against, notes = calls_of(holding), holding.plan.season.first, list[str](), []
    for entry in entries:
        # a call is made before the plan, and cover put on night by night
        call = entry.task in calls
        mine = [e for e in holding.log if (e.plan, e.task) == (entry.plan, entry.task)]
        early = date.min if call else first
        against += contradictions(entry, [] if call else mine, early, as_of)
        if entry.date < early:
            notes.append(f"note: plan {entry.plan} begins on {first}; logged for it all the same")
    if against:
        refuse(*dict.fromkeys(against))
    return notes


def _after_words(
    holding: "Holding", entries: Sequence["LogEntry"], as_of: date | None
) -> Iterator[str]:
    """For which days something was booked, and what was passed over."""
    from scheduler.stand import bookings_of

    logged = replace(holding, log=(*holding.log, *entries))
    for entry in entries:
        if entry.task in bookings_of(holding) and entry.percent == 100:
            yield booked_days_words(logged, as_of, entry.task)
        elif skipped := skipped_words(entry.task, logged):
            yield skipped
