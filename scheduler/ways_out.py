"""The commands that bring calendars to their readers: a folder, a server, another server."""

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.door import AsJson, AsOf, PlanId, Site, end_with, planned, print_json, refuse, told

if TYPE_CHECKING:
    from scheduler.publish.files import Manner, Written

ways_out = typer.Typer()

AllowEmpty = Annotated[
    bool, typer.Option("--allow-empty", help="Let an empty feed replace a full one.")
]
KeepCancelled = Annotated[
    bool,
    typer.Option("--keep-cancelled", help="Show cancelled work until its day has passed."),
]
Alarms = Annotated[bool, typer.Option("--alarms", help="Two reminders for each event.")]
Relations = Annotated[
    bool, typer.Option("--relations", help="Order of work for programs too (RFC 9253).")
]


@ways_out.command(epilog="Example: scheduler write sites/branasol --to calendars/branasol")
def write(
    site: Site,
    to: Annotated[Path | None, typer.Option(help="Folder; else calendars/<site>.")] = None,
    allow_empty: AllowEmpty = False,
    keep_cancelled: KeepCancelled = False,
    alarms: Alarms = False,
    relations: Relations = False,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """Write the calendars."""
    from scheduler.publish.disk import BusyError
    from scheduler.publish.feeds import Extras, feeds_of
    from scheduler.publish.files import no_longer_written, write_feeds
    from scheduler.publish.ics import ForeignFeedError

    season = planned(site, as_of, plan)
    folder = to or Path("calendars") / site.resolve().name
    manner = _manner(as_of, allow_empty=allow_empty, keep_cancelled=keep_cancelled)
    with told():
        try:
            feeds = feeds_of(season, Extras(alarms, relations))
            written = write_feeds(feeds, folder, manner)
        except (ForeignFeedError, BusyError) as error:
            refuse(str(error))
    if as_json:
        print_json(_records(written))
    else:
        _tell(written)
    for path in no_longer_written(folder, written):
        typer.echo(f"{path} is no longer written; remove it if nobody subscribes to it", err=True)
    end_with(season.notices)


@ways_out.command(
    epilog="Example: scheduler publish sites/branasol --to www --address https://example.org/cal"
)
def publish(
    site: Site,
    to: Annotated[Path, typer.Option(help="Folder that a web host or synced folder serves.")],
    address: Annotated[
        str, typer.Option(help="Where that folder can be reached; makes a page of addresses.")
    ] = "",
    new_token: Annotated[
        list[str] | None,
        typer.Option(
            "--new-token", metavar="FEED", help="Give this feed, or `all`, a new secret address."
        ),
    ] = None,
    allow_empty: AllowEmpty = False,
    keep_cancelled: KeepCancelled = False,
    alarms: Alarms = False,
    relations: Relations = False,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """Write the calendars under secret addresses, with a page that shows them."""
    from scheduler.publish.disk import BusyError
    from scheduler.publish.feeds import Extras, feeds_of
    from scheduler.publish.ics import ForeignFeedError
    from scheduler.publish.share import ShareError, share_feeds

    season = planned(site, as_of, plan)
    manner = _manner(as_of, allow_empty=allow_empty, keep_cancelled=keep_cancelled)
    with told():
        try:
            feeds = feeds_of(season, Extras(alarms, relations))
            shared = share_feeds(feeds, to, manner, address=address, new_token=new_token or ())
        except (ForeignFeedError, BusyError, ShareError) as error:
            refuse(str(error))
    if as_json:
        print_json(_records(shared.feeds))
    else:
        _tell(shared.feeds)
        if shared.page is not None:
            typer.echo(f"All addresses, for yourself only: {shared.page}")
    end_with(season.notices)


def _manner(as_of: date | None, *, allow_empty: bool, keep_cancelled: bool) -> "Manner":
    from scheduler.publish.files import Manner
    from scheduler.publish.ics import utc_midnight

    now = utc_midnight(as_of) if as_of else datetime.now(UTC).replace(microsecond=0)
    return Manner(now, allow_empty=allow_empty, keep_cancelled=keep_cancelled)


def _records(written: "tuple[Written, ...]") -> list[dict[str, str | int | bool]]:
    return [{"path": str(w.path), "n_events": w.n_events, "changed": w.changed} for w in written]


def _tell(written: "tuple[Written, ...]") -> None:
    for feed in written:
        state = "written" if feed.changed else "unchanged"
        typer.echo(f"{feed.path}: {feed.n_events} events, {state}")


@ways_out.command(epilog="Example: scheduler feed calendars/branasol")
def feed(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder with feeds.")],
    host: Annotated[
        str, typer.Option(help="Address to listen at; else this machine alone.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port; 0 takes a free one.")] = 8008,
) -> None:
    """Serve feeds on this machine or the home network, until stopped."""
    from scheduler.publish.serve import LOOPBACK, server_of

    if not folder.is_dir():
        refuse(f"{folder}: no such folder")
    with told():
        server = server_of(folder, host, port, typer.echo)
    if host not in LOOPBACK:
        typer.echo(
            f"Whoever is on the network of {host} can reach this, and nothing is encrypted.",
            err=True,
        )
    at = f"http://{host}:{server.server_address[1]}/"
    for path in sorted(folder.glob("*.ics")):
        typer.echo(f"{at}{path.name}")
    typer.echo(f"Serving {folder} at {at}; Ctrl-C stops it.")
    try:
        server.serve_forever()
    except KeyboardInterrupt:
        typer.echo("Stopped.")
    finally:
        server.server_close()
