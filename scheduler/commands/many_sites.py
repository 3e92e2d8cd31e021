"""`write`, `check` and `frost` of many sites: one line a site, and one bad site stops none."""

import json
import os
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from scheduler.commands.door import faults_told, refuse, today
from scheduler.commands.screen import FINE, say

if TYPE_CHECKING:
    from scheduler.many import SiteJob, SiteOutcome

LIMIT_S = 600.0
Sites = Annotated[
    list[Path], typer.Argument(metavar="SITE...", help="Folders of sites, or of many sites.")
]
Cluster = Annotated[
    str,
    typer.Option(
        metavar="ADDRESS", help="Many sites: on a dask cluster whose workers see the same folders."
    ),
]
Jobs = Annotated[
    int, typer.Option("--jobs", min=0, help="Many sites: processes at once; 0 takes all cores.")
]
Limit = Annotated[
    float, typer.Option(min=1, help="Many sites: seconds after which one is given up.")
]


def only_site(sites: Sequence[Path], **of_one: object) -> Path | None:
    """The site that is meant, where it is one alone; of many, options of one are refused."""
    from scheduler.many import sites_in

    found = sites_in(sites)
    if len(found) == 1 and found[0] in sites:
        return found[0]
    for name, value in of_one.items():
        if value not in (None, False, 0.0):
            refuse(f"--{name.replace('_', '-')} goes with one site alone")
    return None


def many(
    asked: str,
    sites: Sequence[Path],
    as_of: date | None,
    *,
    as_json: bool,
    to: Path | None = None,
    cluster: str = "",
    n_jobs: int = 0,
    limit_s: float = LIMIT_S,
    **how: bool,
) -> NoReturn:
    """Do the same for many sites, a line each, and end with the worst exit code."""
    from scheduler.many import SiteJob, sites_in, write_overview
    from scheduler.ways_out import ForeignPageError, stamp_of

    folder, day = to or Path("calendars"), today(as_of)
    jobs = [
        SiteJob(asked, site.absolute(), day, folder.absolute(), stamp_of(as_of), limit_s, **how)  # type: ignore[arg-type]  # one of three words
        for site in sites_in(sites)
    ]
    _refuse_twins(jobs)
    outcomes = []
    for outcome in _outcomes(jobs, cluster, n_jobs):
        outcomes.append(outcome)
        _tell(outcome, len(outcomes), len(jobs), as_json=as_json)
    if asked == "write" and how.get("pages", True):
        with faults_told(ForeignPageError):
            page = write_overview(sorted(outcomes, key=lambda o: o.folder), folder, day)
        if not as_json:
            say(f"All of them: {page}")
    raise typer.Exit(max((outcome.code for outcome in outcomes), default=FINE))


def _refuse_twins(jobs: "Sequence[SiteJob]") -> None:
    """Refuse sites that would write into one folder, as they bear one id."""
    from scheduler.files import FaultyFilesError
    from scheduler.holding import read_site_file

    folders: dict[str, list[str]] = {}
    for job in jobs:
        try:
            folders.setdefault(read_site_file(job.folder).id, []).append(str(job.folder))
        except FaultyFilesError:
            continue  # told when its turn comes
    twins = [f"{', '.join(same)}: id {id_}" for id_, same in folders.items() if len(same) > 1]
    if twins:
        refuse(*(f"{twin}: each site needs an id of its own in site.toml" for twin in twins))


def _outcomes(jobs: "Sequence[SiteJob]", cluster: str, n_jobs: int) -> "Iterator[SiteOutcome]":
    from scheduler.many import ClusterError, outcomes_here, outcomes_on_cluster

    if not cluster:
        yield from outcomes_here(jobs, min(n_jobs or os.cpu_count() or 1, max(1, len(jobs))))
        return
    try:
        yield from outcomes_on_cluster(jobs, cluster)
    except ClusterError as error:
        refuse(str(error))


def _tell(outcome: "SiteOutcome", n: int, n_all: int, *, as_json: bool) -> None:
    if as_json:
        told = {"site": outcome.folder, "code": outcome.code, "says": outcome.says,
                "faults": outcome.faults, "cpu_s": round(outcome.cpu_s, 3),
                "record": outcome.record}  # fmt: skip
        say(json.dumps(told, ensure_ascii=False))
        return
    bad = bool(outcome.faults)
    say(f"{n}/{n_all} {outcome.folder}: {outcome.says}", err=bad)
