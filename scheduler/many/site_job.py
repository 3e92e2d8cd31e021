"""One holding of many: its work done in a worker, and what is told of it.

Decided: a site that takes too long is stopped from within its worker, by an exception that a timer
raises in it, so that the same limit holds on this machine and on a cluster. Held by
tests/many/test_jobs.py::test_a_site_that_takes_too_long_is_stopped_and_told
"""

import ctypes
import gc
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any, Literal

from scheduler.calendars import ForeignFeedError, feeds_of
from scheduler.files import BusyError, FaultyFilesError
from scheduler.holding import Holding, read_holding
from scheduler.pages import Rows, front_sheet
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.season import Published, outlook_of
from scheduler.terms import Level, day_words
from scheduler.ways_out import (
    ForeignPageError,
    LossError,
    Manner,
    published_in_folders,
    write_feeds,
    write_owner_pages,
    written_record,
)
from scheduler.words import frost_record, notice_records, plain

FINE, WARNINGS, FAULTS, OUR_FAULT = 0, 1, 2, 3  # the exit codes of the commands
AGAIN_S = 0.5  # between one try to stop a site and the next
SITE_FILE = "site.toml"  # a folder with this file is a site
REFUSED = (FaultyFilesError, ForeignFeedError, ForeignPageError, BusyError, LossError, OSError)


class TooLongError(BaseException):
    """A site takes longer than it may; nothing that catches errors of its own takes it for one.

    It comes once the interpreter is back in Python: a long call of a library is ended first.
    """


@dataclass(frozen=True)
class SiteJob:
    """What is to be done for one site."""

    asked: Literal["write", "check", "frost"]
    folder: Path  # of the site
    as_of: date  # today
    calendars: Path  # folder below which each site has its own, by its id
    now: datetime  # time stamp of what has changed, aware, UTC
    limit_s: float  # the site is given up after so long
    pages: bool = True  # whether pages are written, too
    may_lose: bool = False  # let much of what is to come go from calendars
    alarms: bool = False
    relations: bool = False
    afresh: bool = False  # published days are not kept


@dataclass(frozen=True)
class SiteOutcome:
    """What came of it."""

    folder: str
    code: int  # the exit code that the single command would end with
    says: str  # in one line
    faults: tuple[str, ...] = ()  # all of them, a line each
    record: Any = None  # what the single command tells programs
    front: Rows | None = None  # this week, frost and what wants an answer; of ``write``
    pages: str = ""  # folder of its pages; empty where there are none
    cpu_s: float = 0.0  # seconds of the processor, of the whole worker while it was done


def sites_in(paths: Iterable[Path]) -> list[Path]:
    """The sites that are meant: folders of a site, or of sites, each once in order."""
    found: dict[Path, None] = {}
    for path in paths:
        below = sorted(each.parent for each in path.glob(f"*/{SITE_FILE}"))
        found |= dict.fromkeys([path] if (path / SITE_FILE).exists() or not below else below)
    return list({path.resolve(): path for path in reversed(found)}.values())[::-1]


def done(job: SiteJob) -> SiteOutcome:
    """Do a job; whatever happens is told in its outcome."""
    begin = time.process_time()
    try:
        with _within(job.limit_s):
            outcome = _ASKED[job.asked](job)
    except REFUSED as error:
        faults = tuple(map(str, getattr(error, "faults", error.args)))
        if isinstance(error, OSError):
            faults = (f"{error.filename or 'file'}: {error.strerror or error}",)
        outcome = SiteOutcome(str(job.folder), FAULTS, _one_line(faults), faults)
    except TooLongError:
        says = f"given up after {job.limit_s:g} s; its calendars are as they were, or whole"
        outcome = SiteOutcome(str(job.folder), FAULTS, says, (says,))
    except Exception as error:  # noqa: BLE001  # one bad site stops none
        says = f"a fault of scheduler, not of your files: {type(error).__name__}: {error}"[:300]
        outcome = SiteOutcome(str(job.folder), OUR_FAULT, says, (says,))
    gc.collect()  # a plan is full of circles, and is not to stay until somebody looks for it
    return replace(outcome, cpu_s=time.process_time() - begin)


def _one_line(faults: tuple[str, ...]) -> str:
    more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
    return f"{faults[0] if faults else 'refused'}{more}"


@contextmanager
def _within(limit_s: float) -> Iterator[None]:
    """Raise ``TooLongError`` in this thread once so many seconds have gone by.

    It is raised again until it is heard: in a callback of the interpreter it is lost.
    """
    thread, deciding, over = threading.get_ident(), threading.Lock(), threading.Event()

    def stop() -> None:
        over.wait(limit_s)
        while not over.is_set():
            with deciding:  # so that it is raised inside, or not at all
                if not over.is_set():
                    error = ctypes.py_object(TooLongError)
                    ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread), error)
            over.wait(AGAIN_S)

    threading.Thread(target=stop, daemon=True).start()
    try:
        yield
    finally:
        while not over.is_set():
            with suppress(TooLongError), deciding:
                over.set()


def _planned(job: SiteJob) -> tuple[SeasonPlan, Path]:
    holding = read_holding(job.folder, job.as_of)
    home = job.calendars / holding.site.id

    def published(of: Holding) -> Published:
        return {} if job.afresh else published_in_folders([home], of)

    plan = plan_season(holding, job.as_of, published=published(holding), published_later=published)
    return plan, home


def _write(job: SiteJob) -> SiteOutcome:
    plan, home = _planned(job)
    manner = Manner(job.now, plan_first=plan.placed.season.first, may_lose=job.may_lose)
    feeds = feeds_of(plan, alarms=job.alarms, relations=job.relations)
    written = write_feeds(feeds, home, manner)
    if job.pages:
        write_owner_pages(plan, written, home / "pages")
    changed = sum(feed.changed for feed in written)
    n_events = sum(feed.n_events for feed in written if feed.path.stem == "work")
    warnings = _warnings(plan)
    front = front_sheet(plan)
    heavy = front["next_visit"]
    says = (
        f"{n_events} events of work, {changed} of {len(written)} calendars changed, "
        f"{len(warnings)} warnings"
        + (f", heavy work from {day_words(heavy.first)}" if heavy else "")
    )
    return SiteOutcome(
        str(job.folder),
        WARNINGS if warnings else FINE,
        says,
        record=[written_record(feed) for feed in written],
        front=front,
        pages=str(home / "pages") if job.pages else "",
    )  # fmt: skip


def _check(job: SiteJob) -> SiteOutcome:
    plan, _ = _planned(job)
    warnings = _warnings(plan)
    says = f"{len(warnings)} warnings: {warnings[0]}" if warnings else "no warnings"
    code = WARNINGS if warnings else FINE
    return SiteOutcome(str(job.folder), code, says, record=plain(notice_records(plan.notices)))


def _frost(job: SiteJob) -> SiteOutcome:
    outlook = outlook_of(read_holding(job.folder, job.as_of), job.as_of)
    open_plots = [
        frost.plot.name for frost in outlook.plots.values() if frost.risk.is_open(job.as_of)
    ]
    says = f"frost window open in {', '.join(open_plots)}" if open_plots else "closed everywhere"
    warned = any(notice.level is Level.WARNING for notice in outlook.notices)
    code = WARNINGS if warned else FINE
    return SiteOutcome(str(job.folder), code, says, record=plain(frost_record(outlook, job.as_of)))


def _warnings(plan: SeasonPlan) -> list[str]:
    return [notice.says for notice in plan.notices if notice.level is Level.WARNING]


_ASKED = {"write": _write, "check": _check, "frost": _frost}
