"""The commands about frost: the windows, what the record is worth, how cold tonight will be."""

from pathlib import Path
from typing import Annotated

import typer

from scheduler.commands.door import (
    AsJson,
    AsOf,
    PlanId,
    Site,
    end_with,
    read_site,
    refuse,
    show,
    today,
    told,
)

frost_commands = typer.Typer()


@frost_commands.command(epilog="Example: scheduler frost sites/branasol --as-of 2027-04-20")
def frost(
    site: Site,
    as_of: AsOf = None,
    forecast: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Forecast minima: CSV with issued,date,tmin_c."),
    ] = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """Frost risk by plot, and whether the window is still open."""
    from scheduler.season import outlook_of
    from scheduler.words import frost_record, frost_tables

    with told():
        outlook = outlook_of(read_site(site, as_of, plan, forecast), today(as_of))
    day = outlook.as_of
    show(frost_record(outlook, day), frost_tables(outlook, day), as_json=as_json)
    end_with(outlook.notices, notes=True)


@frost_commands.command(epilog="Example: scheduler record sites/branasol --threshold -2.2")
def record(
    site: Site,
    threshold: Annotated[
        float, typer.Option(min=-60, max=40, help="A frost at the station, degrees C.")
    ] = 0.0,
    tested: Annotated[
        int | None,
        typer.Option(min=1, help="Latest seasons to test the chances on; else a third."),
    ] = None,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """What the station's record says of frost and rain. And whether its chances came true."""
    from scheduler.frost import report_of
    from scheduler.season import spare_time_of
    from scheduler.words import rain_tables, spare_record, station_record, station_tables

    with told():
        holding = read_site(site, as_of)
    if holding.record is None:
        refuse("site.toml: [frost] stations: no record is named; there is nothing to look at")
    report = report_of(
        holding.record,
        threshold_c=threshold,
        period_seasons=holding.site.frost.period_seasons,
        southern=holding.site.place.southern,
        n_tested=tested,
    )
    spare = spare_time_of(holding)
    show(
        {**station_record(report), "spare_time": spare_record(spare)},
        (*station_tables(report), *rain_tables(spare)),
        as_json=as_json,
    )
    end_with(report.climate.notices, notes=True)


@frost_commands.command(epilog="Example: scheduler evening sites/branasol --temp 4.5 --dew -1")
def evening(
    site: Site,
    temp: Annotated[
        float, typer.Option(min=-60, max=40, help="Two hours after sunset, degrees C.")
    ],
    dew: Annotated[
        float | None, typer.Option(min=-60, max=40, help="Dew point then, degrees C.")
    ] = None,
    humidity: Annotated[
        float | None, typer.Option(min=1, max=100, help="Or the humidity then, %.")
    ] = None,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """How cold a clear, calm night will be. It takes two readings in the evening."""
    from scheduler.frost import dew_point_c
    from scheduler.season import NoEstimateError, outlook_of, tonight_of
    from scheduler.sky import SkyRangeError
    from scheduler.words import tonight_record, tonight_tables

    if (dew is None) == (humidity is None):
        refuse("one of --dew and --humidity is needed")
    point_c = dew if dew is not None else dew_point_c(temp, humidity or 100.0)
    if point_c > temp:
        refuse(f"--dew {point_c:g}: a dew point is never above the temperature, {temp:g}")
    with told():
        outlook = outlook_of(read_site(site, as_of), today(as_of))
        try:
            tonight = tonight_of(outlook, temp, point_c)
        except (NoEstimateError, SkyRangeError) as error:
            refuse(str(error))
    show(tonight_record(tonight), tonight_tables(tonight, outlook), as_json=as_json)
