"""The commands that bring calendars to their readers: a folder, a server, another server."""

import importlib
import importlib.util
import os
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn, TypeVar

import typer

from scheduler.commands.door import (
    Afresh,
    AsJson,
    AsOf,
    PlanId,
    Site,
    calendars_of,
    faults_told,
    planned,
    read_site,
    refuse,
    today,
)
from scheduler.commands.many_sites import LIMIT_S, Cluster, Jobs, Limit, Sites, many, only_site
from scheduler.commands.screen import FINE, WARNINGS, can_ask, end_counting, print_json, say

if TYPE_CHECKING:
    from scheduler.reasons import SeasonPlan
    from scheduler.ways_out import Manner, Written

calendar_commands = typer.Typer()
_T = TypeVar("_T")
PASSWORD_VARIABLE = "SCHEDULER_PASSWORD"  # noqa: S105  # the name of a place, not a password

AllowEmpty = Annotated[
    bool, typer.Option("--allow-empty", help="Let an empty feed replace a full one.")
]
RemoveEnded = Annotated[
    bool,
    typer.Option(
        "--remove-ended", help="Take away feeds of people and plots without work, or gone."
    ),
]
Yes = Annotated[
    bool, typer.Option("--yes", help="Write although much of what is to come would go.")
]
KeepCancelled = Annotated[
    bool, typer.Option("--keep-cancelled", help="Show cancelled work until its day has passed.")
]
Alarms = Annotated[
    bool,
    typer.Option(
        "--alarms",
        help="Two reminders, the evening before and that morning; many readers ignore them.",
    ),
]
Dependencies = Annotated[
    bool, typer.Option("--dependencies", help="Order of work for programs too (RFC 9253).")
]


@calendar_commands.command(
    epilog="Example: scheduler write sites/branasol --to calendars/branasol"
)
def write(
    sites: Sites,
    to: Annotated[Path | None, typer.Option(help="Folder; else calendars/<site id>.")] = None,
    allow_empty: AllowEmpty = False,
    remove_ended: RemoveEnded = False,
    yes: Yes = False,
    keep_cancelled: KeepCancelled = False,
    alarms: Alarms = False,
    dependencies: Dependencies = False,
    no_pages: Annotated[
        bool, typer.Option("--no-pages", help="Calendars alone, no pages to look at.")
    ] = False,
    afresh: Afresh = False,
    as_of: AsOf = None,
    plan: PlanId = None,
    jobs: Jobs = 0,
    limit: Limit = LIMIT_S,
    cluster: Cluster = "",
    as_json: AsJson = False,
) -> None:
    """Write calendars and pages; of many sites an overview, too."""
    from scheduler.calendars import feeds_of
    from scheduler.ways_out import write_feeds

    site = only_site(sites, plan=plan, allow_empty=allow_empty, remove_ended=remove_ended,
                     keep_cancelled=keep_cancelled)  # fmt: skip
    if site is None:
        many("write", sites, as_of, as_json=as_json, to=to, cluster=cluster, n_jobs=jobs,
             limit_s=limit, pages=not no_pages, may_lose=yes, alarms=alarms,
             relations=dependencies, afresh=afresh)  # fmt: skip
    season = planned(site, as_of, plan, [to], afresh=afresh)
    folder = to or calendars_of(season.placed.holding)
    if not (season.placed.published or afresh) and season.placed.begun:
        say(f"No calendars were in {folder}: days may differ from those on your phones.", err=True)
    asked = {"allow_empty": allow_empty, "remove_ended": remove_ended, "may_lose": yes}
    manner = _manner(season, as_of, keep_cancelled=keep_cancelled, **asked)
    feeds = feeds_of(season, alarms=alarms, relations=dependencies)
    written = _agreed(lambda how: write_feeds(feeds, folder, how), manner)
    _tell(written, as_json=as_json)
    if not no_pages:
        _write_pages(season, written, folder / "pages", as_json=as_json)
    _tell_moves(season)
    _end(written, season, site)


def _write_pages(
    season: "SeasonPlan", written: "tuple[Written, ...]", folder: Path, *, as_json: bool
) -> None:
    from scheduler.ways_out import ForeignPageError, write_owner_pages

    with faults_told(ForeignPageError, hint="; --no-pages writes the calendars alone"):
        changed = write_owner_pages(season, written, folder)
    if not as_json:
        state = f"{changed} files of pages written" if changed else "pages unchanged"
        say(f"{folder / 'index.html'}: {state}")


@calendar_commands.command(
    epilog="Example: scheduler share sites/branasol --to www --address https://example.org/cal"
)
def share(
    site: Site,
    to: Annotated[Path, typer.Option(help="Folder that a web host or synced folder serves.")],
    address: Annotated[
        str, typer.Option(help="Where that folder can be reached; the pages then show addresses.")
    ] = "",
    new_token: Annotated[
        list[str] | None,
        typer.Option(
            "--new-token",
            metavar="FEED",
            help="A new private link for this feed, `pages` or `all`.",
        ),
    ] = None,
    allow_empty: AllowEmpty = False,
    remove_ended: RemoveEnded = False,
    yes: Yes = False,
    keep_cancelled: KeepCancelled = False,
    alarms: Alarms = False,
    dependencies: Dependencies = False,
    afresh: Afresh = False,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """Write calendars and pages under private links: yours, and each person's own."""
    from scheduler.calendars import feeds_of
    from scheduler.ways_out import ForeignPageError, share_feeds, share_pages

    # what is published for the first time stands on the days that `write` has told already
    season = planned(site, as_of, plan, [to, None], afresh=afresh)
    asked = {"allow_empty": allow_empty, "remove_ended": remove_ended, "may_lose": yes}
    manner = _manner(season, as_of, keep_cancelled=keep_cancelled, **asked)
    feeds, renewed = feeds_of(season, alarms=alarms, relations=dependencies), new_token or ()
    shared = _agreed(
        lambda how: share_feeds(feeds, to, how, address=address, new_token=renewed), manner
    )
    with faults_told(ForeignPageError):
        share_pages(season, shared)
    _tell(shared.feeds, as_json=as_json)
    if not as_json:
        say(f"All pages and addresses, for yourself only: {shared.pages / 'index.html'}")
    _tell_moves(season)
    _end(shared.feeds, season, site)


def _agreed(write_how: "Callable[[Manner], _T]", manner: "Manner") -> _T:
    """Write; where readers would lose much, only after the grower has agreed.

    Args:
        write_how: writes in the manner given.
        manner: how it was asked for.
    """
    from scheduler.calendars import ForeignFeedError
    from scheduler.ways_out import LossError, ShareError

    with faults_told(ForeignFeedError, ShareError):
        try:
            return write_how(manner)
        except LossError as error:
            if not can_ask():
                refuse(*error.args, "Nothing was written; --yes writes it all the same.")
            for line in error.args:
                say(line, err=True)
            if not typer.confirm("Write it all the same?", err=True):
                refuse("Nothing was written.")
            return write_how(replace(manner, may_lose=True))


def _tell_moves(season: "SeasonPlan") -> None:
    """Say which published work moved, and why."""
    from scheduler.words import move_lines

    for each in season.seasons:
        for line in move_lines(each):
            say(line, err=True)


def _manner(season: "SeasonPlan", as_of: date | None, **asked: bool) -> "Manner":
    from scheduler.ways_out import Manner, stamp_of

    return Manner(stamp_of(as_of), plan_first=season.placed.season.first, **asked)


def _tell(written: "tuple[Written, ...]", *, as_json: bool) -> None:
    from scheduler.ways_out import written_lines, written_record

    if as_json:
        print_json([written_record(feed) for feed in written])
    else:
        for line in written_lines(written):
            say(line)


def _end(written: "tuple[Written, ...]", season: "SeasonPlan", site: Path) -> NoReturn:
    """Say what was left as it was, and the season's warnings; the exit code tells of either."""
    from scheduler.ways_out import left_lines
    from scheduler.words import proof_words

    if season.placed.roster.proof != "proven":
        say(proof_words(season.placed.roster), err=True)
    left = list(left_lines(written))
    for line in left:
        say(line, err=True)
    end_counting(season.notices, f"check {site}", at_least=WARNINGS if left else FINE)


@calendar_commands.command(epilog="Example: scheduler serve sites/branasol")
def serve(
    site: Site,
    host: Annotated[
        str, typer.Option(help="Address to listen at; else this machine alone.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port; 0 takes a free one.")] = 8008,
    to: Annotated[
        Path | None, typer.Option(help="Folder of its calendars; else calendars/<site id>.")
    ] = None,
    new_links: Annotated[
        bool, typer.Option("--new-links", help="End all private links given out before.")
    ] = False,
    keep_cancelled: KeepCancelled = False,
    alarms: Alarms = False,
    dependencies: Dependencies = False,
    as_of: AsOf = None,
    plan: PlanId = None,
) -> None:
    """Serve live pages and calendars, and take what happens, until stopped.

    What is kept there is written into the files of the site, and calendars as `write` does.
    """
    from scheduler.calendars import ForeignFeedError
    from scheduler.desk import SiteDesk, WriteOptions, links_in, listening, server_of
    from scheduler.pages import code_lines
    from scheduler.ways_out import LOOPBACK, address_of

    options = WriteOptions(alarms, dependencies, keep_cancelled)
    with faults_told(ForeignFeedError):
        folder = to or calendars_of(read_site(site, as_of, plan))
        if folder.resolve() == site.resolve():
            refuse(f"--to {folder}: that is the site; calendars need a folder of their own")
        folder.mkdir(parents=True, exist_ok=True)
        links = links_in(folder, renew=new_links)
        desk = SiteDesk(site, folder, plan, lambda: today(as_of), options)
        desk.plan()
        if not (folder / "work.ics").exists():
            desk.write_again()
    for line in desk.waiting():
        say(line, err=True)
    try:
        door = listening(host, port)
    except (OSError, ValueError) as error:  # a name that cannot be one is a ValueError
        says = getattr(error, "strerror", None) or error
        refuse(f"cannot listen at --host {host} --port {port}: {says}")
    at = address_of(host, int(door.getsockname()[1]))
    if host not in LOOPBACK:
        say("Nothing is encrypted: use it on your home network only.", err=True)
        at = f"{at}{links.desk}/"
        say("Whoever knows this link can read and change the plan; the code is for your phone:")
        say(code_lines(at), lines=True)
    say(f"{at}\nCtrl-C stops it.", lines=True)
    # uvicorn ends by itself on Ctrl-C, and may pass it on
    with suppress(KeyboardInterrupt), door:
        server = server_of(desk, links, host, say, open_to_all=host in LOOPBACK)
        server.run(sockets=[door])
    say("Stopped.")


@calendar_commands.command(
    epilog="Example: scheduler push calendars/branasol/work.ics https://example.org/dav/woods/ "
    "--user uxia"
)
def push(
    file: Annotated[Path, typer.Argument(metavar="FEED", help="Feed that `write` has written.")],
    url: Annotated[str, typer.Argument(metavar="URL", help="Calendar on a CalDAV server.")],
    user: Annotated[str, typer.Option(help="User there; the password is never an option.")] = "",
    whole: Annotated[
        bool, typer.Option("--whole", help="Push one file to a WebDAV server, not single events.")
    ] = False,
    memory: Annotated[
        Path | None, typer.Option(help="File that keeps what was pushed; else beside the feed.")
    ] = None,
    allow_empty: AllowEmpty = False,
) -> None:
    """Push a feed to a calendar server. Password from SCHEDULER_PASSWORD or keyring."""
    from scheduler.calendars import ForeignFeedError
    from scheduler.ways_out import PushError, Server, push_feed, report_lines

    with faults_told(ForeignFeedError, PushError):
        server = Server(url, user)
        server.password = _password(user, server.host)
        beside = memory or file.parent / f"{file.stem}.pushed.json"
        report = push_feed(file, server, beside, whole=whole, allow_empty=allow_empty)
    for number, line in enumerate(report_lines(report)):
        say(line, err=number > 0)
    raise typer.Exit(WARNINGS if report.left_alone else FINE)


def _password(user: str, host: str) -> str:
    """From the environment, or the keyring of the system where that library is installed."""
    who = f"{user}@{host}"
    password = os.environ.get(PASSWORD_VARIABLE, "")
    if user and not password and importlib.util.find_spec("keyring") is not None:
        password = importlib.import_module("keyring").get_password("scheduler", who) or ""
    if user and not password:
        refuse(
            f"no password for {user}: set {PASSWORD_VARIABLE}, or install keyring and run "
            f"`keyring set scheduler {who}`"
        )
    return password
