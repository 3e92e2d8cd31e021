"""The command that records work: a step, a visit, or all that was planned for a day."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.door import (
    AsOf,
    PlanId,
    Site,
    a_day,
    booked_days_words,
    calendars_of,
    published_in,
    read_site,
    refuse,
    refuse_task,
    skipped_words,
    today,
    told,
)

if TYPE_CHECKING:
    from scheduler.holding import Holding, LogEntry

log_command = typer.Typer()


def hours_of(text: str) -> float:
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
    """What the options say of the work.

    Args:
        on: day of the work.
        percent: how much is done so far, if that is told.
        hours_left: person-hours still to do, if that is told.
        hours: person-hours worked, if they were counted.
        note: what is worth remembering.
    """

    on: date
    percent: int | None
    hours_left: float | None
    hours: float | None
    note: str


@log_command.command(
    epilog="Example: scheduler done sites/branasol fondal.release --on 2027-05-25 --hours 14,5"
)
def done(
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
            parser=hours_of, metavar="H", help="Person-hours still to do, instead of --percent."
        ),
    ] = None,
    hours: Annotated[
        float | None, typer.Option(parser=hours_of, metavar="H", help="Person-hours worked.")
    ] = None,
    note: Annotated[str, typer.Option(help="What is worth remembering.")] = "",
    as_of: AsOf = None,
    plan: PlanId = None,
) -> None:
    """Record work in the work log; what is left of it is planned again.

    Of a visit, the steps that the plan has for that day and the days before it are recorded as it
    has them; all of it with --percent 100. A day takes every visit of that day.
    """
    from scheduler.holding import append_to_log

    if hours_left is not None and percent is not None:
        refuse("--hours-left and --percent say the same; give one of them")
    with told():
        holding = read_site(site, as_of, plan)
        said = Said(on or today(as_of), percent, hours_left, hours, " ".join(note.split()))
        entries = list(_entries(site, holding, what, said))
        earlier = _refuse_contradictions(entries, holding, today(as_of))
        words = list(_after_words(site, holding, entries, as_of))
        append_to_log(site, entries)
    for entry in entries:
        typer.echo(f"{entry.task}: {entry.percent} % done on {entry.date}, written to "
                   f"{site / 'worklog.csv'}")  # fmt: skip
    for line in (*words, *earlier):
        typer.echo(line, err=line.startswith("note:"))


def _entries(
    site: Path, holding: "Holding", what: Sequence[str], said: Said
) -> Iterator["LogEntry"]:
    """The rows for everything that is named."""
    from scheduler.stand import bookings_of, calls_of, tasks_of

    tasks = {task.id: task for task in tasks_of(holding)}
    visits = {task.visit_id for task in tasks.values() if task.visit_id != task.id}
    named: list[str] = []
    for one in what:
        if one in tasks or one in calls_of(holding):
            named.append(one)
        elif one in visits or one[:1].isdigit():
            yield from _of_visits(site, holding, one, said)
        else:
            refuse_task(one, [*visits, *tasks, *bookings_of(holding)])
    if len(what) > 1 and said.hours_left is not None:
        refuse("--hours-left speaks of one piece of work; name that one alone")
    share = None if said.hours is None else said.hours / len(what)
    for one in dict.fromkeys(named):
        usual_h = tasks[one].hours.usual if one in tasks else 0.0
        yield _entry(holding, one, replace(said, hours=share), usual_h)


def _entry(holding: "Holding", task_id: str, said: Said, usual_h: float) -> "LogEntry":
    from scheduler.holding import LogEntry, percent_so_far
    from scheduler.stand import book_hours_of

    earlier = [e for e in holding.log if (e.plan, e.task) == (holding.plan.id, task_id)]
    percent = 100 if said.percent is None else said.percent
    if said.hours_left is not None:
        percent = percent_so_far(said.hours_left, usual_h, earlier)
    book_h = book_hours_of(task_id, holding)
    return LogEntry(
        date=said.on,
        plan=holding.plan.id,
        task=task_id,
        percent=percent,
        hours=said.hours,
        note=said.note,
        hours_left=said.hours_left or None,
        book_h=None if book_h is None else round(book_h, 2),
    )


def _of_visits(site: Path, holding: "Holding", what: str, said: Said) -> Iterator["LogEntry"]:
    """The rows of a visit, or of all visits of a day, as the plan has them by then."""
    from scheduler.season import plan_season, planned_from, visits_on, worked_until

    if said.hours_left is not None or said.percent not in (None, 100):
        refuse(f"{what}: --percent below 100 and --hours-left speak of one step; name the step")
    is_day = what[:1].isdigit()
    day = a_day(what) if is_day else said.on
    published = published_in([calendars_of(site, None, afresh=False)], holding)
    # who has come to work has been called, whatever the log says
    hires = tuple(replace(hire, lead_days=0) for hire in holding.crew.hire)
    holding = replace(holding, crew=replace(holding.crew, hire=hires))
    season = plan_season(holding, day, published=published)
    visits = visits_on(season, day) if is_day else (what,)
    found: list[tuple[str, int, float]] = []
    for visit_id in visits:
        if said.percent == 100:
            found += [(t, 100, 1.0) for t in season.groups[visit_id] if t not in season.done]
            continue
        since = planned_from(season, visit_id, day)
        there = season if since == day else plan_season(holding, since, published=published)
        found += [(w.task_id, w.percent, w.work_h) for w in worked_until(there, visit_id, day)]
    if not found:
        refuse(
            f"{what}: the plan has no work for it up to {day}; name a step, or all of a visit "
            "with --percent 100"
        )
    whole = sum(work_h for _, _, work_h in found)
    for task_id, percent, work_h in found:
        hours = None if said.hours is None else round(said.hours * work_h / whole, 2)
        yield _entry(holding, task_id, replace(said, on=day, percent=percent, hours=hours), 0.0)


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
        refuse("\n".join(dict.fromkeys(against)))
    return notes


def _after_words(
    site: Path, holding: "Holding", entries: Sequence["LogEntry"], as_of: date | None
) -> Iterator[str]:
    """For which days something was booked, and what was passed over."""
    from scheduler.stand import bookings_of

    logged = replace(holding, log=(*holding.log, *entries))
    for entry in entries:
        if entry.task in bookings_of(holding) and entry.percent == 100:
            yield booked_days_words(site, logged, as_of, entry.task)
        elif skipped := skipped_words(entry.task, logged):
            yield skipped
