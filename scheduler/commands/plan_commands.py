"""The commands that set up a site and plan its work."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.commands.door import (
    Afresh,
    AsJson,
    AsOf,
    Full,
    PlanId,
    PublishedIn,
    Site,
    TaskId,
    asked,
    faults_told,
    planned,
    refuse,
    refuse_task,
    refuse_unknown,
    today,
)
from scheduler.commands.screen import (
    FINE,
    WARNINGS,
    code_of,
    end_counting,
    end_with,
    print_json,
    say,
    say_notices,
    show,
    warnings_of,
)

if TYPE_CHECKING:
    from scheduler.holding import Holding

plan_commands = typer.Typer()


@plan_commands.command(
    epilog="Example: scheduler new my-hill --lat 43.1 --lon -7.2 --timezone Europe/Madrid"
)
def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make.")],
    name: Annotated[str | None, typer.Option(help="Name of the holding.")] = None,
    lat: Annotated[float | None, typer.Option(help="Latitude, degrees, north positive.")] = None,
    lon: Annotated[float | None, typer.Option(help="Longitude, degrees, east positive.")] = None,
    elev: Annotated[float | None, typer.Option(help="Height above sea level, m.")] = None,
    timezone: Annotated[str | None, typer.Option(help="Such as Europe/Madrid.")] = None,
    plot: Annotated[str | None, typer.Option(help="Name of the first plot.")] = None,
    area: Annotated[float | None, typer.Option(help="Its ground, m2.")] = None,
    planted: Annotated[int | None, typer.Option(help="Year of planting.")] = None,
    person: Annotated[str | None, typer.Option(help="Who works there.")] = None,
    station: Annotated[
        Path | None, typer.Option(help="Daily record of minima; it is copied.")
    ] = None,
    last_frost: Annotated[str | None, typer.Option(help="Your usual last one, MM-DD.")] = None,
    first_frost: Annotated[str | None, typer.Option(help="Your usual first one, MM-DD.")] = None,
    as_of: AsOf = None,
) -> None:
    """Make a new site folder with commented files. Asks for what no option gives."""
    from scheduler.files import read_bytes
    from scheduler.holding import Answers, starter_files, write_new_site
    from scheduler.words import slug_of

    with faults_told():
        day = today(as_of)
        name = asked("name", "Name of the holding", name, folder.resolve().name)
        lat = asked("lat_deg", "Latitude, degrees, north positive", lat, option="--lat")
        lon = asked("lon_deg", "Longitude, degrees, east positive", lon, option="--lon")
        elev = asked("elev_m", "Height above sea level, m", elev, 0.0)
        zone = asked("zone", "Time zone, such as Europe/Madrid", timezone, option="--timezone")
        plot = asked("plot_name", "Name of the first plot", plot, "First plot")
        area = asked("area_m2", "Its ground, m2", area, 600.0)
        planted = asked("planted", "Year in which it was planted", planted, day.year - 3)
        person = asked("person", "Who works there", person, "Grower")
        if station is None:
            last_frost = asked("own_last", "Usual last frost, MM-DD, if known", last_frost, "")
            first_frost = asked("own_first", "Usual first frost, if known", first_frost, "")
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
            own_last=last_frost or "",
            own_first=first_frost or "",
            as_of=day,
        )
        files = starter_files(answers)
        if station is not None:
            files[station.name] = read_bytes(station, str(station))
        write_new_site(folder, files, day)
    for written in sorted(files):
        say(f"wrote {folder / written}")
    say(f"Put your own plants into stock.csv, then: scheduler due {folder}")


@plan_commands.command(epilog="Example: scheduler due sites/branasol fondal")
def due(
    site: Site,
    plot: Annotated[
        str | None, typer.Argument(metavar="[PLOT]", help="This plot alone, in full.")
    ] = None,
    full: Full = False,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """What each plot needs, why, and how much work it is."""
    from scheduler.reasons import GUESS_CODES
    from scheduler.words import due_record, due_tables, short_due

    def known(holding: "Holding") -> None:
        ids = [each.id for each in holding.plots]
        if plot is not None and plot not in ids:
            refuse(f"there is no plot {plot!r}; there are: {', '.join(ids)}")

    season = planned(site, as_of, plan, first=known)
    placed = season.placed
    tables = due_tables(placed, plot) if full or plot else [short_due(placed)]
    show(due_record(placed, plot), tables, as_json=as_json)
    say_notices([n for n in season.notices if n.code in GUESS_CODES], err=True)
    end_counting(season.notices, f"check {site}")


@plan_commands.command(
    name="plan", epilog="Example: scheduler plan sites/branasol --as-of 2026-11-25"
)
def season_plan(
    site: Site,
    full: Full = False,
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
    """The heavy days of each plot. With --full every day, hire and preferences."""
    from scheduler.reasons import compared
    from scheduler.words import (
        comparison_record,
        comparison_table,
        roster_record,
        roster_tables,
        short_plan,
    )

    if without:
        ids: list[str] = []
        season = planned(  # published days would hide the cost
            site, as_of, plan, first=lambda holding: ids.extend(_preferences(without, holding))
        )
        cost = compared(season.placed, ids)
        record = comparison_record(cost, season.placed)
        show(record, [comparison_table(cost, season.placed)], as_json=as_json)
        return
    season = planned(site, as_of, plan, [published], afresh=afresh)
    tables = roster_tables(season) if full else short_plan(season)
    show(roster_record(season), tables, as_json=as_json)
    end_counting(season.notices, f"check {site}")


def _preferences(names: list[str], holding: "Holding") -> list[str]:
    """The ids that are meant; refused where there is no such preference."""
    from scheduler.reasons import known_preferences, preference_of

    found = [(name, preference_of(name, holding)) for name in names]
    for name, one in found:
        if one is None:
            known = ", ".join(known_preferences(holding))
            refuse(f"there is no preference {name!r}; there are: {known}")
    return list(dict.fromkeys(one for _, one in found if one is not None))


@plan_commands.command(epilog="Example: scheduler why sites/branasol fondal.release")
def why(
    site: Site,
    task: TaskId,
    afresh: Afresh = False,
    published: PublishedIn = None,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """Why this day and not earlier; or why a visit stays unscheduled."""
    from scheduler.words import why_record, why_table

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
    show(why_record(season, task), [why_table(season, task)], as_json=as_json)
    visit = {*season.placed.groups.get(task, ()), season.placed.visit_of.get(task, task), task}
    about = [n for n in season.notices if any(map(n.speaks_of, visit))]
    if as_json:
        end_with(about)
    raise typer.Exit(code_of(about))  # the table has told them


@plan_commands.command(epilog="Example: scheduler check sites/branasol --as-of 2027-04-20")
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
    from scheduler.reasons import GUESS_CODES
    from scheduler.season import SPARE_CODE
    from scheduler.words import notice_records

    season = planned(site, as_of, plan, [published], afresh=afresh)
    warnings = warnings_of(season.notices)
    shown = (SPARE_CODE, *GUESS_CODES)
    notices = (*warnings, *(n for n in season.notices if n.code in shown))
    if as_json:
        print_json(notice_records(notices))
        raise typer.Exit(WARNINGS if warnings else FINE)
    if not warnings:
        say("No warnings.")
    say_notices(notices)
    raise typer.Exit(code_of(notices))
