"""What all commands share: their options, their refusals, their way of printing.

The rooms are imported inside the functions, because their libraries take longer to load
than ``--help`` may last.
"""

import os
import sys
import traceback
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from threading import Timer
from time import monotonic
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from scheduler.commands.screen import FAULTS, OUR_FAULT, say

if TYPE_CHECKING:
    from scheduler.holding import Holding
    from scheduler.reasons import SeasonPlan
    from scheduler.season import Published

TRACEBACK_VARIABLE = "SCHEDULER_TRACEBACK"
SLOW_S = 2.0  # work that is over sooner is not spoken of
# the years for which Sun and Moon are known, and frost and plans with them
FIRST_DAY, LAST_DAY = date(1900, 1, 2), date(2053, 9, 30)


def a_day(text: str) -> date:
    """A day as it is typed: ``2027-05-01``."""
    try:
        day = date.fromisoformat(text)
    except ValueError as error:
        raise typer.BadParameter(
            f"{text!r} is not a day that exists, year first; write it as 2027-05-01"
        ) from error
    if not FIRST_DAY <= day <= LAST_DAY:
        raise typer.BadParameter(f"{day}: days from {FIRST_DAY} to {LAST_DAY} can be looked at")
    return day


Site = Annotated[Path, typer.Argument(metavar="SITE", help="Folder of the site.")]
TaskId = Annotated[str, typer.Argument(metavar="TASK", help="Task, as `due` prints it.")]
AsOf = Annotated[
    date | None,
    typer.Option("--as-of", parser=a_day, metavar="DATE", help="Take this day for today."),
]
PlanId = Annotated[
    str | None, typer.Option("--plan", help="Plan to take, where there are several.")
]
Afresh = Annotated[
    bool, typer.Option("--afresh", help="Plan anew, without keeping the days published before.")
]
PublishedIn = Annotated[
    Path | None,
    typer.Option(
        "--published",
        metavar="DIR",
        exists=True,
        file_okay=False,
        help="Folder of calendars whose days are kept; else calendars/<site id>.",
    ),
]
Full = Annotated[bool, typer.Option("--full", help="Everything, not one screen.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print for programs.")]


def today(as_of: date | None) -> date:
    """The one place that asks the clock what day it is."""
    return as_of or date.today()


def read_site(
    site: Path, as_of: date | None, plan: str | None = None, forecast: Path | None = None
) -> "Holding":
    """Read and check the files of a site."""
    from scheduler.holding import read_holding

    return read_holding(site, today(as_of), plan, forecast)


def planned(
    site: Path,
    as_of: date | None,
    plan: str | None,
    folders: Sequence[Path | None] = (),
    *,
    afresh: bool = False,
    first: Callable[["Holding"], None] = lambda _: None,
) -> "SeasonPlan":
    """Read the site and plan its season, and tell what is done where it takes long.

    Args:
        site: folder of the site.
        as_of: day to take for today.
        plan: plan to take, where there are several.
        folders: folders of written calendars, None for the site's own; the days of the first
            that has the work are kept. Without folders nothing is kept.
        afresh: whether nothing is kept whatever the folders hold.
        first: what is asked of the files before anything is planned.
    """
    with faults_told(), progress() as tell:
        holding = read_site(site, as_of, plan)
        first(holding)
        from scheduler.reasons import plan_season

        def published(of: "Holding") -> "Published":
            return published_in(() if afresh else folders, of)

        return plan_season(
            holding,
            today(as_of),
            published=published(holding),
            published_later=published,
            tell=tell,
        )


@contextmanager
def progress() -> Iterator[Callable[[str], None]]:
    """Tell on standard error what is being done, a line for each stage, once it takes long.

    Yields:
        A function to be told each stage as it begins.
    """
    stages = ["Planning"]
    begin = monotonic()
    timer = Timer(SLOW_S, lambda: say(f"{stages[-1]} ...", err=True))

    def tell(stage: str) -> None:
        stages.append(stage)
        if monotonic() - begin > SLOW_S:
            say(f"{stage} ...", err=True)

    timer.daemon = True
    timer.start()
    try:
        yield tell
    finally:
        timer.cancel()


def calendars_of(holding: "Holding") -> Path:
    """The folder in which the calendars of a site stand, where no other is named.

    It goes by the site's id: two holdings may lie in folders of one name.
    """
    return Path("calendars") / holding.site.id


def published_in(folders: Iterable[Path | None], holding: "Holding") -> "Published":
    """The days that the first written work feed tells; nothing is read where there is none.

    Args:
        folders: where to look, in this order; None for the site's own folder.
        holding: the site.
    """
    from scheduler.calendars import ForeignFeedError
    from scheduler.ways_out import published_in_folders

    with faults_told(ForeignFeedError, hint="; --afresh plans without it"):
        return published_in_folders((each or calendars_of(holding) for each in folders), holding)


@contextmanager
def faults_told(*also: type[Exception], hint: str = "") -> Iterator[None]:
    """Answer faults of the user's files in plain lines, with exit code 2.

    Args:
        also: kinds of other errors, whose arguments say in words why not, a line each.
        hint: stands behind each line of those.
    """
    from scheduler.files import BusyError, FaultyFilesError

    try:
        yield
    except also as error:
        refuse(*(f"{line}{hint}" for line in error.args))
    except FaultyFilesError as error:
        for fault in error.faults:
            say(str(fault), err=True)
        raise typer.Exit(FAULTS) from error
    except BusyError as error:
        refuse(str(error))
    except (FileExistsError, NotADirectoryError) as error:
        refuse(f"{error.filename or 'file'}: that is a file, and a folder is needed")
    except OSError as error:
        refuse(f"{error.filename or 'file'}: {error.strerror or error}")


def refuse(*reasons: str) -> NoReturn:
    """Say why not, a line each, and end with exit code 2."""
    for reason in reasons:
        say(reason, err=True)
    raise typer.Exit(FAULTS)


@contextmanager
def answered() -> Iterator[None]:
    """Answer a fault of this program in one line, with an exit code of its own.

    Where the environment has ``SCHEDULER_TRACEBACK``, Python's own account is given instead.
    """
    try:
        yield
    except Exception as error:
        if os.environ.get(TRACEBACK_VARIABLE):
            raise
        where = traceback.extract_tb(error.__traceback__)[-1]
        say(
            f"This is a fault of scheduler, not of your files: {type(error).__name__} in "
            f"{Path(where.filename).name}, line {where.lineno}: {str(error)[:200]}. Please report "
            "this line and your command to the project that you have scheduler from; with "
            f"{TRACEBACK_VARIABLE}=1 it says more.",
            err=True,
        )
        sys.exit(OUR_FAULT)


def refuse_unknown(name: str, holding: "Holding") -> None:
    """Refuse a name that is no visit, step or call of the plan, before anything is planned."""
    from scheduler.stand import bookings_of, calls_of, tasks_of

    tasks = tasks_of(holding)
    visits = dict.fromkeys(task.visit_id for task in tasks)
    named = [*visits, *(task.id for task in tasks)]
    if name not in {*named, *calls_of(holding)}:
        refuse_task(name, [*named, *bookings_of(holding)])


def refuse_task(task: str, known: Sequence[str]) -> NoReturn:
    """Say that there is no such task, and which are near it."""
    from scheduler.season import unknown_words

    refuse(unknown_words(task, known))
