"""The commands about frost and sky: the windows, the record, tonight; Moon and daylight."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.commands.door import (
    AsJson,
    AsOf,
    Full,
    PlanId,
    Site,
    a_day,
    faults_told,
    read_site,
    refuse,
    today,
)
from scheduler.commands.many_sites import LIMIT_S, Cluster, Jobs, Limit, Sites, many, only_site
from scheduler.commands.screen import FINE, WARNINGS, end_counting, end_with, say, show

if TYPE_CHECKING:
    from scheduler.fetched import Asker, Spot
    from scheduler.holding import Site as SiteFile

frost_commands = typer.Typer()

Temperature = Annotated[
    float | None,
    typer.Option(min=-60, max=40, help="With --tonight: degrees C two hours after sunset."),
]
DewPoint = Annotated[
    float | None, typer.Option(min=-60, max=40, help="With --tonight: the dew point then.")
]
Humidity = Annotated[
    float | None, typer.Option(min=1, max=100, help="With --tonight: or the humidity then, %.")
]


@frost_commands.command(epilog="Example: scheduler frost sites/branasol --as-of 2027-04-20")
def frost(
    sites: Sites,
    full: Full = False,
    history: Annotated[
        bool, typer.Option("--history", help="What the station's record says, how well it held.")
    ] = False,
    tonight: Annotated[
        bool, typer.Option("--tonight", help="How cold a clear, calm night will be.")
    ] = False,
    forecast: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Forecast minima: CSV with issued,date,tmin_c."),
    ] = None,
    fetch: Annotated[
        bool, typer.Option("--fetch", help="Ask open data for stations near the site.")
    ] = False,
    station: Annotated[
        str | None,
        typer.Option(metavar="ID", help="With --fetch: fetch the record of this station."),
    ] = None,
    update_forecast: Annotated[
        bool, typer.Option("--update-forecast", help="Fetch the forecast of the coming nights.")
    ] = False,
    threshold: Annotated[
        float,
        typer.Option(min=-60, max=40, help="With --history: what is a frost there, degrees C."),
    ] = 0.0,
    temp: Temperature = None,
    dew: DewPoint = None,
    humidity: Humidity = None,
    as_of: AsOf = None,
    plan: PlanId = None,
    jobs: Jobs = 0,
    limit: Limit = LIMIT_S,
    cluster: Cluster = "",
    as_json: AsJson = False,
) -> None:
    """Is frost still a risk? Each plot's window, open or closed, and until when."""
    asked = {
        "--history": history,
        "--tonight": tonight,
        "--fetch": fetch,
        "--update-forecast": update_forecast,
    }
    given = [name for name, is_given in asked.items() if is_given]
    if len(given) > 1:
        refuse(f"{given[0]} and {given[1]} ask two different things; give one of them")
    _refuse_strays(given, (temp, dew, humidity), threshold, station)
    of_one = {name.removeprefix("--"): True for name in given}
    site = only_site(sites, plan=plan, full=full, forecast=forecast, **of_one)
    if site is None:
        many("frost", sites, as_of, as_json=as_json, cluster=cluster, n_jobs=jobs, limit_s=limit)
    if history:
        _history(site, as_of, threshold, as_json=as_json)
    elif tonight:
        _tonight(site, as_of, temp, _dew_point(temp, dew, humidity), as_json=as_json)
    elif fetch:
        _fetch(site, as_of, station, as_json=as_json)
    elif update_forecast:
        _update_forecast(site, as_json=as_json)
    else:
        _windows(site, as_of, plan, forecast, full=full, as_json=as_json)


def _refuse_strays(
    given: Sequence[str], evening: tuple[float | None, ...], threshold: float, station: str | None
) -> None:
    """Refuse options that go with another one, which is not given."""
    if "--tonight" not in given and evening != (None, None, None):
        refuse("--temp, --dew and --humidity go with --tonight")
    if "--history" not in given and threshold != 0.0:
        refuse("--threshold goes with --history")
    if "--fetch" not in given and station is not None:
        refuse("--station goes with --fetch")


def _windows(
    site: Path,
    as_of: date | None,
    plan: str | None,
    forecast: Path | None,
    *,
    full: bool,
    as_json: bool,
) -> None:
    from scheduler.season import outlook_of
    from scheduler.words import frost_record, frost_tables, short_frost

    with faults_told():
        outlook = outlook_of(read_site(site, as_of, plan, forecast), today(as_of))
    day = outlook.as_of
    tables = frost_tables(outlook, day) if full else (short_frost(outlook, day),)
    show(frost_record(outlook, day), tables, as_json=as_json)
    if full:
        end_with(outlook.notices, notes=True)
    end_counting(outlook.notices, f"frost {site} --full")


def _history(site: Path, as_of: date | None, threshold: float, *, as_json: bool) -> None:
    from scheduler.frost import report_of
    from scheduler.season import spare_time_of
    from scheduler.words import rain_tables, spare_record, station_record, station_tables

    with faults_told():
        holding = read_site(site, as_of)
    if holding.record is None:
        refuse("site.toml: [frost] stations: no record is named; there is nothing to look at")
    report = report_of(
        holding.record,
        threshold_c=threshold,
        period_seasons=holding.site.frost.period_seasons,
        southern=holding.site.place.southern,
    )
    spare = spare_time_of(holding)
    show(
        {**station_record(report), "spare_time": spare_record(spare)},
        (*station_tables(report), *rain_tables(spare)),
        as_json=as_json,
    )
    end_with(report.climate.notices, notes=True)


def _dew_point(temp: float | None, dew: float | None, humidity: float | None) -> float:
    from scheduler.frost import dew_point_c

    if temp is None:
        refuse("--temp is needed: the temperature two hours after sunset, degrees C")
    if dew is None and humidity is not None:
        return dew_point_c(temp, humidity)
    if dew is None or humidity is not None:
        refuse("one of --dew and --humidity is needed")
    if dew > temp:
        refuse(f"--dew {dew:g}: a dew point is never above the temperature, {temp:g}")
    return dew


def _tonight(
    site: Path, as_of: date | None, temp: float | None, dew_c: float, *, as_json: bool
) -> None:
    from scheduler.season import NoEstimateError, outlook_of, tonight_of
    from scheduler.sky import SkyRangeError
    from scheduler.words import tonight_record, tonight_tables

    assert temp is not None, "the dew point was asked for with it"
    with faults_told(NoEstimateError, SkyRangeError):
        outlook = outlook_of(read_site(site, as_of), today(as_of))
        night = tonight_of(outlook, temp, dew_c)
    show(tonight_record(night), tonight_tables(night, outlook), as_json=as_json)


def _fetch(site: Path, as_of: date | None, station: str | None, *, as_json: bool) -> None:
    """Show the stations near the site, or fetch the record of one."""
    from scheduler.fetched import keep_record, record_of, stations_near, stations_table

    with _asking(site) as (ask, holds, spot):
        if station is None:
            near = stations_near(ask, spot, today(as_of))
            record = {"as_of": today(as_of), "enough": near.enough, "stations": near.stations,
                      "doubts": near.doubts}  # fmt: skip
            show(record, [stations_table(near, holds.name)], as_json=as_json)
            for line in near.doubts:
                say(line, err=True)
            if near.stations and not as_json:
                best = near.stations[0].id
                say(f"`scheduler frost {site} --fetch --station {best}` fetches the first.")
            raise typer.Exit(FINE if near.enough else WARNINGS)
        _refuse_json(as_json=as_json)
        fetched = record_of(ask, station, today(as_of))
        keep_record(site, fetched)
    for line in fetched.says:
        say(line)
    names = holds.frost.stations
    say(f"Written: {site / fetched.file}.")
    if fetched.file not in names:
        listed = ", ".join(f'"{name}"' for name in (*names, fetched.file))
        say(f"To use it, put this under [frost] in site.toml: stations = [{listed}]")


def _update_forecast(site: Path, *, as_json: bool) -> None:
    from scheduler.fetched import update_forecast

    _refuse_json(as_json=as_json)
    with _asking(site) as (ask, holds, spot):
        name = holds.frost.forecast or "forecast.csv"
        for line in update_forecast(ask, site / name, spot, holds.zone, datetime.now(UTC)):
            say(line)
    if holds.frost.forecast is None:
        say(f'To use it, put this under [frost] in site.toml: forecast = "{name}"')


def _refuse_json(*, as_json: bool) -> None:
    if as_json:
        refuse("--json goes with --fetch alone, and not with what is written into the site")


@contextmanager
def _asking(site: Path) -> Iterator[tuple["Asker", "SiteFile", "Spot"]]:
    """Who asks, the site, and its place; what goes wrong is one plain line.

    Only ``site.toml`` is read: weather can be fetched before the other files are in order.
    """
    from scheduler.fetched import Asker, FetchError, Spot
    from scheduler.holding import read_site_file

    with faults_told(FetchError, hint=". Nothing was written."), Asker() as ask:
        holds = read_site_file(site)
        yield ask, holds, Spot(holds.lat_deg, holds.lon_deg, holds.elev_m)


@frost_commands.command(epilog="Example: scheduler sky sites/branasol --from 2027-03-01 --days 28")
def sky(
    site: Site,
    first: Annotated[
        date | None,
        typer.Option("--from", parser=a_day, metavar="DATE", help="First day; else today."),
    ] = None,
    days: Annotated[int, typer.Option(min=1, max=3660, help="How many days.")] = 28,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Moon phases, sun times and season marks of a span."""
    from scheduler.sky import SkyRangeError, sky_of
    from scheduler.terms import Season
    from scheduler.words import sky_record, sky_tables

    with faults_told(SkyRangeError):
        holding = read_site(site, as_of)
        seen = sky_of(holding.site.place, Season(first or today(as_of), days))
    show(sky_record(seen), sky_tables(seen), as_json=as_json)
