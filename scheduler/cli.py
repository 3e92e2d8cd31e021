"""The commands: options in, lines and exit codes out; nothing is computed here.

The rooms are imported inside the commands, because their libraries take longer to load
than ``--help`` may last.
"""

import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

if TYPE_CHECKING:
    from scheduler.holding import Holding
    from scheduler.publish.sheet import Table
    from scheduler.season import SeasonPlan
    from scheduler.terms import Notice

FINE, WARNINGS, FAULTS = 0, 1, 2

app = typer.Typer(
    name="scheduler",
    help="Decides when the heavy work in multi-strata food forests is done.",
    no_args_is_help=True,
    context_settings={"max_content_width": 110},
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def run() -> None:
    """Start the command line."""
    app()


def _a_day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise typer.BadParameter(
            f"{text!r} is not a day that exists; write it as 2027-05-01"
        ) from error


Site = Annotated[Path, typer.Argument(metavar="SITE", help="Folder of the site.")]
TaskId = Annotated[str, typer.Argument(metavar="TASK", help="Task, as `due` prints it.")]
AsOf = Annotated[
    date | None,
    typer.Option("--as-of", parser=_a_day, metavar="DATE", help="Take this day for today."),
]
PlanId = Annotated[
    str | None, typer.Option("--plan", help="Plan to take, where there are several.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print for programs.")]


@app.command(epilog="Example: scheduler start my-hill --lat 43.1 --lon -7.2 --zone Europe/Madrid")
def start(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make.")],
    name: Annotated[str | None, typer.Option(help="Name of the holding.")] = None,
    lat: Annotated[float | None, typer.Option(help="Latitude, degrees, north positive.")] = None,
    lon: Annotated[float | None, typer.Option(help="Longitude, degrees, east positive.")] = None,
    elev: Annotated[float | None, typer.Option(help="Height above sea level, m.")] = None,
    zone: Annotated[str | None, typer.Option(help="IANA time zone.")] = None,
    plot: Annotated[str | None, typer.Option(help="Name of the first plot.")] = None,
    area: Annotated[float | None, typer.Option(help="Its ground, m2.")] = None,
    planted: Annotated[int | None, typer.Option(help="Year of planting.")] = None,
    person: Annotated[str | None, typer.Option(help="Who works there.")] = None,
    station: Annotated[
        Path | None, typer.Option(help="Daily record of minima; it is copied.")
    ] = None,
    own_last: Annotated[str | None, typer.Option(help="Your own last frost, MM-DD.")] = None,
    own_first: Annotated[str | None, typer.Option(help="Your own first frost, MM-DD.")] = None,
    as_of: AsOf = None,
) -> None:
    """Make a new site folder with commented files; asks for what no option gives."""
    from scheduler.holding import Answers, starter_files, write_new_site
    from scheduler.publish.text import slug_of

    with _told():
        today = _today(as_of)
        name = _asked("name", "Name of the holding", name, folder.name)
        lat = _asked("lat_deg", "Latitude, degrees, north positive", lat, option="--lat")
        lon = _asked("lon_deg", "Longitude, degrees, east positive", lon, option="--lon")
        elev = _asked("elev_m", "Height above sea level, m", elev, 0.0)
        zone = _asked("zone", "IANA time zone, such as Europe/Madrid", zone, option="--zone")
        plot = _asked("plot_name", "Name of the first plot", plot, "First plot")
        area = _asked("area_m2", "Its ground, m2", area, 600.0)
        planted = _asked("planted", "Year in which it was planted", planted, today.year - 3)
        person = _asked("person", "Who works there", person, "Grower")
        if station is None:
            own_last = _asked("own_last", "Your usual last frost, MM-DD, if known", own_last, "")
            own_first = _asked("own_first", "Your usual first frost, if known", own_first, "")
        answers = Answers(
            site_id=slug_of(name),
            name=name,
            lat_deg=lat,
            lon_deg=lon,
            elev_m=elev,
            zone=zone,
            plot_name=plot,
            plot_id=slug_of(plot, "plot"),
            area_m2=area,
            planted=planted,
            person=person,
            station=station.name if station else "",
            own_last=own_last or "",
            own_first=own_first or "",
            as_of=today,
        )
        files = starter_files(answers)
        if station is not None:
            files[station.name] = station.read_bytes()
        write_new_site(folder, files, today)
    for written in sorted(files):
        typer.echo(f"wrote {folder / written}")
    typer.echo(f"Put your own plants into stock.csv, then: scheduler due {folder}")


@app.command(epilog="Example: scheduler sky sites/branasol --from 2027-03-01 --days 31")
def sky(
    site: Site,
    first: Annotated[
        date | None,
        typer.Option("--from", parser=_a_day, metavar="DATE", help="First day; else today."),
    ] = None,
    days: Annotated[int, typer.Option(min=1, max=3660, help="How many days.")] = 31,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Moon phases, sun times and season marks of a span."""
    from scheduler.publish import records, sheet
    from scheduler.sky import SkyRangeError, sky_of
    from scheduler.terms import Season

    with _told():
        holding = _holding(site, as_of)
        try:
            seen = sky_of(holding.site.place, Season(first or _today(as_of), days))
        except SkyRangeError as error:
            _refuse(str(error))
    _show(records.sky_record(seen), sheet.sky_tables(seen), as_json=as_json)


@app.command(epilog="Example: scheduler frost sites/branasol --as-of 2027-04-20")
def frost(site: Site, as_of: AsOf = None, plan: PlanId = None, as_json: AsJson = False) -> None:
    """Frost risk by plot, and whether the window is still open."""
    from scheduler.publish import records, sheet
    from scheduler.season import outlook_of

    with _told():
        outlook = outlook_of(_holding(site, as_of, plan), _today(as_of))
    record = records.frost_record(outlook, outlook.as_of)
    _show(record, [sheet.frost_table(outlook, outlook.as_of)], as_json=as_json)
    _end(outlook.notices, notes=True)


@app.command(epilog="Example: scheduler due sites/branasol")
def due(site: Site, as_of: AsOf = None, plan: PlanId = None, as_json: AsJson = False) -> None:
    """What each plot needs, why, and how much work it is."""
    from scheduler.publish import records, sheet

    season = _planned(site, as_of, plan)
    _show(records.due_record(season), list(sheet.due_tables(season)), as_json=as_json)
    _end(season.notices)


@app.command(epilog="Example: scheduler roster sites/branasol --as-of 2026-11-25")
def roster(site: Site, as_of: AsOf = None, plan: PlanId = None, as_json: AsJson = False) -> None:
    """The crew's days, as a table."""
    from scheduler.publish import records, sheet

    season = _planned(site, as_of, plan)
    _show(records.roster_record(season), [sheet.roster_table(season)], as_json=as_json)
    _end(season.notices)


@app.command(epilog="Example: scheduler why sites/branasol fondal.cut-high")
def why(
    site: Site, task: TaskId, as_of: AsOf = None, plan: PlanId = None, as_json: AsJson = False
) -> None:
    """Why this day and not earlier."""
    from scheduler.publish import reasons

    season = _planned(site, as_of, plan)
    known = [*season.tasks, *(errand.id for errand in season.errands)]
    if task not in known:
        _refuse_task(task, known)
    _show(reasons.why_record(season, task), [reasons.why_table(season, task)], as_json=as_json)
    _end([notice for notice in season.notices if notice.about == task])


@app.command(epilog="Example: scheduler write sites/branasol --to calendars/branasol")
def write(
    site: Site,
    to: Annotated[Path | None, typer.Option(help="Folder; else calendars/<site>.")] = None,
    allow_empty: Annotated[
        bool, typer.Option("--allow-empty", help="Let an empty feed replace a full one.")
    ] = False,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """Write the calendars."""
    from scheduler.publish.feeds import feeds_of
    from scheduler.publish.files import write_feeds
    from scheduler.publish.ics import ForeignFeedError, utc_midnight

    season = _planned(site, as_of, plan)
    folder = to or Path("calendars") / site.resolve().name
    now = utc_midnight(as_of) if as_of else datetime.now(UTC).replace(microsecond=0)
    with _told():
        try:
            written = write_feeds(feeds_of(season), folder, now, allow_empty=allow_empty)
        except ForeignFeedError as error:
            _refuse(str(error))
    if as_json:
        _print_json(
            [{"path": str(w.path), "n_events": w.n_events, "changed": w.changed} for w in written]
        )
    else:
        for feed in written:
            state = "written" if feed.changed else "unchanged"
            typer.echo(f"{feed.path}: {feed.n_events} events, {state}")
    _end(season.notices)


@app.command(epilog="Example: scheduler check sites/branasol --as-of 2027-04-20")
def check(site: Site, as_of: AsOf = None, plan: PlanId = None, as_json: AsJson = False) -> None:
    """Warnings only; above all work planned while a frost window is open."""
    from scheduler.publish import records
    from scheduler.terms import Level

    season = _planned(site, as_of, plan)
    warnings = tuple(n for n in season.notices if n.level is Level.WARNING)
    if as_json:
        _print_json(records.notice_records(warnings))
        raise typer.Exit(WARNINGS if warnings else FINE)
    if not warnings:
        typer.echo("No warnings.")
    _end(warnings)


@app.command(epilog="Example: scheduler done sites/branasol fondal.weed-lines --hours 8.5")
def done(
    site: Site,
    task: TaskId,
    on: Annotated[
        date | None,
        typer.Option("--on", parser=_a_day, metavar="DATE", help="Day of the work; else today."),
    ] = None,
    percent: Annotated[int, typer.Option(min=1, max=100, help="How much is done so far.")] = 100,
    hours: Annotated[float | None, typer.Option(min=0, help="Person-hours worked.")] = None,
    note: Annotated[str, typer.Option(help="What is worth remembering.")] = "",
    as_of: AsOf = None,
    plan: PlanId = None,
) -> None:
    """Record finished work in the work log."""
    from scheduler.holding import LogEntry, append_to_log
    from scheduler.stand import tasks_of

    with _told():
        holding = _holding(site, as_of, plan)
        known = [known.id for known in tasks_of(holding)]
        calls = (".book-", ".call-utility")
        if task not in known and not any(call in task for call in calls):
            _refuse_task(task, known)
        if on is not None and on > _today(as_of):
            _refuse(f"--on {on}: that day is still to come")
        entry = LogEntry(
            date=on or _today(as_of),
            plan=holding.plan.id,
            task=task,
            percent=percent,
            hours=hours,
            note=" ".join(note.split()),
        )
        append_to_log(site, entry)
    typer.echo(f"{task}: {percent} % done on {entry.date}, written to {site / 'worklog.csv'}")


def _today(as_of: date | None) -> date:
    return as_of or date.today()


def _holding(site: Path, as_of: date | None, plan: str | None = None) -> "Holding":
    from scheduler.holding import read_holding

    return read_holding(site, _today(as_of), plan)


def _planned(site: Path, as_of: date | None, plan: str | None) -> "SeasonPlan":
    """Read the site and plan its season, with a sign of life on a terminal."""
    from rich.console import Console

    with _told(), Console(stderr=True).status("Planning the season"):
        holding = _holding(site, as_of, plan)
        from scheduler.season import plan_season

        return plan_season(holding, _today(as_of))


@contextmanager
def _told() -> Iterator[None]:
    """Answer faults of the user's files in plain lines, with exit code 2."""
    from scheduler.holding import FaultyFilesError

    try:
        yield
    except FaultyFilesError as error:
        for fault in error.faults:
            typer.echo(str(fault), err=True)
        raise typer.Exit(FAULTS) from error
    except OSError as error:
        _refuse(f"{error.filename or 'file'}: {error.strerror or error}")


def _refuse(line: str) -> NoReturn:
    typer.echo(line, err=True)
    raise typer.Exit(FAULTS)


def _refuse_task(task: str, known: Sequence[str]) -> NoReturn:
    import difflib

    near = difflib.get_close_matches(task, known, n=3)
    hint = f"did you mean {' or '.join(near)}?" if near else "`scheduler due SITE` lists them"
    _refuse(f"there is no task {task!r} in this plan; {hint}")


def _asked(field: str, question: str, given: Any, default: Any = None, option: str = "") -> Any:  # noqa: ANN401  # text or number
    """What an option gave, or the answer to a question where somebody can be asked.

    A wrong answer is told what is allowed, and asked for again.
    """
    from scheduler.holding import answer_of

    def understood(text: str) -> str | float:
        try:
            return answer_of(field, str(text))
        except ValueError as error:
            raise typer.BadParameter(f"allowed: {error}") from error

    if given is not None:
        return given
    if sys.stdin.isatty():
        return typer.prompt(question, default=default, value_proc=understood)
    if default is not None:
        return default
    _refuse(f"{option} is needed: {question}")


def _show(record: Any, tables: "Sequence[Table]", *, as_json: bool) -> None:  # noqa: ANN401  # JSON is anything
    """Print for a program, a terminal or a pipe."""
    if as_json:
        _print_json(record)
    elif sys.stdout.isatty():
        _print_rich(tables)
    else:
        typer.echo("\n\n".join(table.plain() for table in tables))


def _print_json(record: Any) -> None:  # noqa: ANN401  # JSON is anything
    typer.echo(json.dumps(record, ensure_ascii=False, indent=2))


def _print_rich(tables: "Sequence[Table]") -> None:
    from rich.console import Console
    from rich.table import Table as RichTable
    from rich.text import Text

    console = Console()
    for table in tables:
        grid = RichTable(title=table.title, title_justify="left", title_style="bold")
        for column in table.columns:
            grid.add_column(column)
        for row in table.rows:
            grid.add_row(*(Text(cell) for cell in row))
        console.print(grid)
        for line in table.foot:
            console.print(Text(line))


def _end(notices: "Sequence[Notice]", *, notes: bool = False) -> NoReturn:
    """Print the warnings, and notes if asked for, and end with the exit code they ask for."""
    from scheduler.publish.sheet import notice_lines
    from scheduler.terms import Level

    warnings = [notice for notice in notices if notice.level is Level.WARNING]
    for line in notice_lines(notices if notes else warnings):
        typer.echo(line, err=True)
    raise typer.Exit(WARNINGS if warnings else FINE)
