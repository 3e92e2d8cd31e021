"""The command that records work: a step, a visit, or all that was planned for a day."""

from datetime import date
from typing import Annotated

import typer

from scheduler.commands.door import (
    AsOf,
    PlanId,
    Site,
    a_day,
    faults_told,
    progress,
    published_in,
    read_site,
    refuse,
    today,
)
from scheduler.commands.screen import say

log_command = typer.Typer()


def hours_typed(text: str) -> float:
    """Person-hours, or the refusal of the option."""
    from scheduler.season import person_hours

    try:
        return person_hours(text)
    except ValueError as error:
        raise typer.BadParameter(str(error)) from error


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
            parser=hours_typed, metavar="H", help="Person-hours still to do, instead of --percent."
        ),
    ] = None,
    hours: Annotated[
        float | None, typer.Option(parser=hours_typed, metavar="H", help="Person-hours worked.")
    ] = None,
    note: Annotated[str, typer.Option(help="What is worth remembering.")] = "",
    as_of: AsOf = None,
    plan: PlanId = None,
) -> None:
    """Record work in the work log; what is left of it is planned again.

    Of a visit, the steps that the plan has for that day and the days before it are recorded as it
    has them; all of it with --percent 100. A day takes every visit of that day.
    """
    from scheduler.holding import LOG_FILE, locked_site, log_with
    from scheduler.season import NotLoggedError, Said, is_day, recorded

    if hours_left is not None and percent is not None:
        refuse("--hours-left and --percent say the same; give one of them")
    if hours_left is not None and len(what) > 1:
        refuse("--hours-left speaks of one piece of work; name that one alone")
    for name in what:
        if is_day(name):
            a_day(name)
    said = Said(on or today(as_of), percent, hours_left, hours, " ".join(note.split()))
    # nobody else may log between the reading of the log and the new rows
    with faults_told(NotLoggedError), locked_site(site) as write, progress():
        holding = read_site(site, as_of, plan)
        published = published_in([None], holding)
        told = recorded(holding, what, said, today(as_of), published)
        write({LOG_FILE: log_with(site, told.entries)})
    for entry in told.entries:
        say(f"{entry.task}: {entry.percent} % done on {entry.date}, written to {site / LOG_FILE}")
    for line in told.words:
        say(line, err=line.startswith("note:"), lines=True)
