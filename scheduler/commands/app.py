"""The commands: options in, lines and exit codes out; nothing is computed here.

The rooms are imported inside the commands, because their libraries take longer to load
than ``--help`` may last.
"""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.commands.calendar_commands import calendar_commands
from scheduler.commands.door import (
    FINE,
    WARNINGS,
    Afresh,
    AsJson,
    AsOf,
    PlanId,
    PublishedIn,
    Site,
    TaskId,
    a_day,
    answered,
    asked,
    code_of,
    end_with,
    planned,
    print_json,
    read_site,
    refuse,
    refuse_task,
    refuse_unknown,
    say,
    show,
    today,
    told,
)
from scheduler.commands.frost_commands import frost_commands
from scheduler.commands.log_command import log_command

if TYPE_CHECKING:
    from scheduler.holding import Holding

app = typer.Typer(
    name="scheduler",
    help="Decides when the heavy work in multi-strata food forests is done.",
    epilog="Exit codes: 0 fine, 1 there are warnings, 2 something is wrong with a file or an "
    "option, 3 a fault of this program.",
    no_args_is_help=True,
    context_settings={"max_content_width": 110},
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.add_typer(frost_commands)  # frost, record, evening
app.add_typer(log_command)  # done
app.add_typer(calendar_commands)  # write, publish, feed, push


def run() -> None:
    """Start the command line."""
    with answered():
        app()


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
    """Make a new site folder with commented files. Asks for what no option gives."""
    from scheduler.files import read_bytes
    from scheduler.holding import Answers, starter_files, write_new_site
    from scheduler.words import slug_of

    with told():
        day = today(as_of)
        name = asked("name", "Name of the holding", name, folder.resolve().name)
        lat = asked("lat_deg", "Latitude, degrees, north positive", lat, option="--lat")
        lon = asked("lon_deg", "Longitude, degrees, east positive", lon, option="--lon")
        elev = asked("elev_m", "Height above sea level, m", elev, 0.0)
        zone = asked("zone", "IANA time zone, such as Europe/Madrid", zone, option="--zone")
        plot = asked("plot_name", "Name of the first plot", plot, "First plot")
        area = asked("area_m2", "Its ground, m2", area, 600.0)
        planted = asked("planted", "Year in which it was planted", planted, day.year - 3)
        person = asked("person", "Who works there", person, "Grower")
        if station is None:
            own_last = asked("own_last", "Your usual last frost, MM-DD, if known", own_last, "")
            own_first = asked("own_first", "Your usual first frost, if known", own_first, "")
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
            as_of=day,
        )
        files = starter_files(answers)
        if station is not None:
            files[station.name] = read_bytes(station, str(station))
        write_new_site(folder, files, day)
    for written in sorted(files):
        say(f"wrote {folder / written}")
    say(f"Put your own plants into stock.csv, then: scheduler due {folder}")


@app.command(epilog="Example: scheduler sky sites/branasol --from 2027-03-01 --days 31")
def sky(
    site: Site,
    first: Annotated[
        date | None,
        typer.Option("--from", parser=a_day, metavar="DATE", help="First day; else today."),
    ] = None,
    days: Annotated[int, typer.Option(min=1, max=3660, help="How many days.")] = 31,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Moon phases, sun times and season marks of a span."""
    from scheduler.sky import SkyRangeError, sky_of
    from scheduler.terms import Season
    from scheduler.words import records, sheet

    with told():
        holding = read_site(site, as_of)
        try:
            seen = sky_of(holding.site.place, Season(first or today(as_of), days))
        except SkyRangeError as error:
            refuse(str(error))
    show(records.sky_record(seen), sheet.sky_tables(seen), as_json=as_json)


@app.command(epilog="Example: scheduler due sites/branasol")
def due(site: Site, as_of: AsOf = None, plan: PlanId = None, as_json: AsJson = False) -> None:
    """What each plot needs, why, and how much work it is."""
    from scheduler.words import due_sheet, records

    season = planned(site, as_of, plan)
    show(
        records.due_record(season.placed),
        list(due_sheet.due_tables(season.placed)),
        as_json=as_json,
    )
    end_with(season.notices)


@app.command(epilog="Example: scheduler roster sites/branasol --as-of 2026-11-25")
def roster(
    site: Site,
    without: Annotated[
        list[str] | None,
        typer.Option(
            "--without", metavar="ID", help="What a preference costs: moon, hire-blocks."
        ),
    ] = None,
    afresh: Afresh = False,
    published: PublishedIn = None,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """The crew's days, hire and aims as tables. Or what a preference costs."""
    from scheduler.reasons import compared
    from scheduler.words import aim_words, records, roster_words, sheet

    if without:
        ids: list[str] = []
        season = planned(  # published days would hide the cost
            site, as_of, plan, first=lambda holding: ids.extend(_preferences(without, holding))
        )
        told_of = compared(season.placed, ids)
        record = roster_words.comparison_record(told_of, season.placed)
        show(record, [roster_words.comparison_table(told_of, season.placed)], as_json=as_json)
        return
    season = planned(site, as_of, plan, [published], afresh=afresh)
    tables = [
        sheet.roster_table(season),
        *roster_words.hire_tables(season.placed),
        *roster_words.preference_tables(season.placed),
        *aim_words.aim_tables(season.placed),
    ]
    show(records.roster_record(season), tables, as_json=as_json)
    end_with(season.notices)


def _preferences(names: list[str], holding: "Holding") -> list[str]:
    """The ids that are meant; refused where there is no such preference."""
    from scheduler.reasons import known_preferences, preference_of

    found = [(name, preference_of(name, holding)) for name in names]
    for name, one in found:
        if one is None:
            known = ", ".join(known_preferences(holding))
            refuse(f"there is no preference {name!r}; there are: {known}")
    return list(dict.fromkeys(one for _, one in found if one is not None))


@app.command(epilog="Example: scheduler why sites/branasol fondal.release")
def why(
    site: Site,
    task: TaskId,
    afresh: Afresh = False,
    published: PublishedIn = None,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """Why this day and not earlier; or why a visit has no place."""
    from scheduler.words import why_day

    season = planned(
        site, as_of, plan, [published], afresh=afresh, first=lambda of: refuse_unknown(task, of)
    )
    known = [
        *season.placed.groups,
        *season.placed.tasks,
        *(errand.id for errand in season.errands),
    ]
    idle = [notice.says for notice in season.placed.idle if notice.speaks_of(task)]
    if idle:
        refuse(idle[0])
    if task not in known:
        refuse_task(task, known)
    show(why_day.why_record(season, task), [why_day.why_table(season, task)], as_json=as_json)
    visit = {*season.placed.groups.get(task, ()), season.placed.visit_of.get(task, task), task}
    about = [n for n in season.notices if any(map(n.speaks_of, visit))]
    if as_json:
        end_with(about)
    raise typer.Exit(code_of(about))  # the table has told them


@app.command(epilog="Example: scheduler check sites/branasol --as-of 2027-04-20")
def check(
    site: Site,
    afresh: Afresh = False,
    published: PublishedIn = None,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """Warnings: open frost windows, visits left half done. And spare time.

    Above all work planned while a frost window is open; then what has no place, with what would
    free it, and the share of the crew's time that is kept spare.
    """
    from scheduler.season import SPARE_CODE
    from scheduler.terms import Level
    from scheduler.words import records

    season = planned(site, as_of, plan, [published], afresh=afresh)
    warnings = tuple(n for n in season.notices if n.level is Level.WARNING)
    told_of = (*warnings, *(n for n in season.notices if n.code == SPARE_CODE))
    if as_json:
        print_json(records.notice_records(told_of))
        raise typer.Exit(WARNINGS if warnings else FINE)
    if not warnings:
        say("No warnings.")
    end_with(told_of, notes=True)
