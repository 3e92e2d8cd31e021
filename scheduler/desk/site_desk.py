"""One holding at the desk: its plan, a change tried, a change kept.

Decided: a change is shown with all that it would move before it is kept, and is kept only on the
files that it was shown with; else it is shown anew. Held by
tests/desk/test_site_desk.py::test_two_people_at_once_lose_nothing.
"""

import hashlib
import json
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from pathlib import Path
from threading import RLock
from types import MappingProxyType
from typing import Any

from scheduler.calendars import ForeignFeedError, feeds_of
from scheduler.desk.changes import change_of
from scheduler.desk.forms import Form, SiteEdit, SiteFiles
from scheduler.files import PRIVATE_FILE, BusyError, FaultyFilesError, write_whole
from scheduler.holding import Holding, locked_site, read_holding
from scheduler.reasons import SeasonPlan, because_not_on, plan_season
from scheduler.season import Published
from scheduler.terms import DaySpan, Level, span_words
from scheduler.ways_out import (
    ForeignPageError,
    LossError,
    Manner,
    published_in_folders,
    stamp_of,
    write_feeds,
    write_owner_pages,
)
from scheduler.words import phrases

KEPT_SHOWN = 20  # changes that the desk remembers
KEPT_FILE = ".desk-kept.json"  # beside the calendars
SITE_ENDINGS = (".toml", ".csv", ".xlsx")  # of the files of a site
UNSCHEDULED = "what keeps it out stands in the warnings"
BACK = "it is back on its published day"
SOONER = "nothing keeps it from being sooner any more"
ROOM = "other work that matters more, or keeps a published day, takes the room"


class ChangedMeanwhileError(Exception):
    """The files are no longer those with which a change was shown."""


@dataclass(frozen=True, slots=True)
class Shift:
    """One visit on other days than before."""

    title: str  # its name
    was: str  # its days before, in words
    now: str  # its days now
    because: str  # why; empty where it is done


@dataclass(frozen=True, slots=True)
class Effect:
    """A change, and what comes of it."""

    words: str  # the change, as a sentence
    notes: tuple[str, ...]  # what is worth telling of it
    shifts: tuple[Shift, ...]  # visits on other days
    warnings: tuple[str, ...]  # those that were not there before
    seen: str  # the files that it was tried on
    form: Form  # what tells it again
    at: datetime | None = None  # when it was kept, by the clock of this machine


@dataclass(frozen=True, slots=True)
class Trial:
    """A change, tried."""

    plan: SeasonPlan  # as it would be
    effect: Effect
    edit: SiteEdit


@dataclass(frozen=True, slots=True)
class WriteOptions:
    """How the desk writes calendars; each is an option of ``scheduler write``."""

    alarms: bool = False
    relations: bool = False
    keep_cancelled: bool = False


class SiteDesk:
    """The plan of a holding as its files say it now, and the one way to change them from here."""

    def __init__(
        self,
        folder: Path,
        calendars: Path,
        plan_id: str | None,
        today: Callable[[], date],
        options: WriteOptions = WriteOptions(),
    ) -> None:
        """Look at a site.

        Args:
            folder: its files.
            calendars: where its calendars are written.
            plan_id: the plan to take, where there are several.
            today: asked each time what day it is.
            options: how calendars are written.
        """
        self.folder, self.calendars, self.options = folder, calendars, options
        self.unwritten: tuple[str, ...] = ()  # why calendars or pages could not be written
        self.loses = False  # whether they wait for a word, as they would lose much
        self._kept_file = calendars / KEPT_FILE
        self.kept: deque[Effect] = deque(_kept_in(self._kept_file), maxlen=KEPT_SHOWN)
        self._plan_id, self._today = plan_id, today
        self._planned: tuple[str, SeasonPlan] | None = None
        self._written: SeasonPlan | None = None  # what the calendars tell, where that is known
        self._titles: tuple[SeasonPlan, dict[str, str]] | None = None
        self._trial: Trial | None = None  # the last one; most often it is what is kept
        self._planning = RLock()  # one plan at a time: the solver takes all cores

    def plan(self) -> SeasonPlan:
        """The season as the files say it; planned anew only where they, or the day, changed.

        Raises:
            FaultyFilesError: the files have faults.
            ForeignFeedError: the calendars cannot be read.
        """
        with self._planning:
            was = self._state()
            if self._planned is None or self._planned[0] != was:
                holding = self._read()
                plan = self._plan(holding, self._published(holding))
                saved_meanwhile = self._state() != was
                self._show(plan)
                if saved_meanwhile:  # the next look plans anew
                    self._planned = "", plan
                self.unwritten, self.loses = (), False
            assert self._planned is not None
            return self._planned[1]

    def waiting(self) -> tuple[str, ...]:
        """Why the calendars are older than the plan; nothing where they are not.

        Looking writes nothing: the last written calendars are the memory of yesterday's work.
        """
        plan = self.plan()
        if self.unwritten or plan is self._written:
            return self.unwritten
        elsewhere = [move for move in plan.moves if move.was >= plan.placed.outlook.as_of]
        n = f"{len(elsewhere)} visits stand" if len(elsewhere) > 1 else "1 visit stands"
        return (f"{n} on other days than in the calendars.",) if elsewhere else ()

    def titles(self) -> dict[str, str]:
        """The titles of the calendars, by name of the feed."""
        plan = self.plan()
        if self._titles is None or self._titles[0] is not plan:
            self._titles = plan, {feed.name: feed.title for feed in feeds_of(plan)}
        return self._titles[1]

    def tried(self, form: Form) -> Effect:
        """What a change would come to; nothing is written.

        Raises:
            UnclearError: the form tells no change.
            FaultyFilesError: the files would have faults.
        """
        return self._tried(form).effect

    def keep(self, form: Form, seen: str) -> Effect:
        """Write a change into the files, then the calendars and pages.

        Args:
            form: the change.
            seen: the files that it was shown with.

        Raises:
            ChangedMeanwhileError: they are not the same any more; nothing is written.
            UnclearError, FaultyFilesError, OSError: nothing is written.
        """
        with locked_site(self.folder) as write, self._planning:
            trial = self._tried(form)
            # a hand may have saved a file while it was planned; it takes no lock
            if not trial.effect.seen == seen == self._state():
                raise ChangedMeanwhileError
            write(trial.edit.files)
            self._put_out(trial.plan)
        effect = replace(trial.effect, at=datetime.now().astimezone())
        self.kept.appendleft(effect)  # the latest first
        with suppress(OSError):  # it only tells again what has been told
            told = json.dumps([_told(each) for each in self.kept], ensure_ascii=False)
            write_whole(self._kept_file, told.encode(), PRIVATE_FILE)
        return effect

    def write_again(self) -> None:
        """Write what could not be written, and let it lose what has been shown."""
        with self._planning:
            self._put_out(self.plan(), may_lose=self.loses)

    def _put_out(self, plan: SeasonPlan, *, may_lose: bool = False) -> None:
        """Write calendars and pages by a plan, and show it from now on.

        The pages go on showing what it has moved, until the files or the day change again.
        """
        options, today = self.options, self._today()
        # the desk may have been told to take another day for today
        told = None if today == date.today() else today
        manner = Manner(
            stamp_of(told),
            plan_first=plan.placed.season.first,
            keep_cancelled=options.keep_cancelled,
            may_lose=may_lose,
        )
        self.unwritten, self.loses = (), False
        try:
            feeds = feeds_of(plan, alarms=options.alarms, relations=options.relations)
            written = write_feeds(feeds, self.calendars, manner)
            write_owner_pages(plan, written, self.calendars / "pages")
        except LossError as error:
            self.unwritten, self.loses = tuple(map(str, error.args)), True
        except FaultyFilesError as error:
            self.unwritten = tuple(map(str, error.faults))
        except (ForeignFeedError, ForeignPageError, BusyError, OSError) as error:
            self.unwritten = (str(error),)
        else:
            self._written = plan
        self._show(plan)

    def _show(self, plan: SeasonPlan) -> None:
        self._planned = "", plan  # it names files that the state is made of
        self._planned = self._state(), plan

    def _tried(self, form: Form) -> Trial:
        with self._planning:
            before, seen = self.plan(), self._state()
            last = self._trial
            if last is None or (last.effect.seen, last.effect.form) != (seen, form):
                # not as the plan before had it: what was kept since has been published
                published = self._published(before.placed.holding)
                edit = change_of(form, SiteFiles(self.folder, before.placed, published))
                after = self._plan(self._read(edit.files), published)
                shifts = tuple(_shifts(before, after))
                new = tuple(says for says in _warnings(after) if says not in _warnings(before))
                effect = Effect(edit.words, edit.notes, shifts, new, seen, edit.form or form)
                last = self._trial = Trial(after, effect, edit)
            return last

    def _read(self, edited: Mapping[str, bytes] = MappingProxyType({})) -> Holding:
        return read_holding(self.folder, self._today(), self._plan_id, edited=edited)

    def _plan(self, holding: Holding, published: Published) -> SeasonPlan:
        return plan_season(
            holding, self._today(), published=published, published_later=self._published
        )

    def _published(self, holding: Holding) -> Published:
        return published_in_folders([self.calendars], holding)

    def _state(self) -> str:
        """A name for the day, the files of the site, and what was published.

        Whatever else lies in the folder is left alone, and no file is read for it: one that is
        written anew has another time, size or number.
        """
        paths = {path for path in self.folder.iterdir() if path.suffix in SITE_ENDINGS}
        if self._planned is not None:  # files that lie elsewhere, or have other endings
            holding = self._planned[1].placed.holding
            frost = holding.site.frost
            loggers = (plot.logger for plot in holding.plots)
            named = (*frost.stations, frost.forecast, frost.evenings, *loggers)
            paths |= {self.folder / name for name in named if name}
        state = hashlib.sha256(str(self._today()).encode())
        for path in sorted((*paths, self.calendars / "work.ics")):
            if path.is_file():
                at = path.stat()
                mark = (str(path), at.st_mtime_ns, at.st_size, at.st_ino)
                state.update(repr(mark).encode())
        return state.hexdigest()


def _told(effect: Effect) -> dict[str, Any]:
    at = effect.at and effect.at.isoformat()
    return {**asdict(replace(effect, form={})), "at": at}


def _kept_in(path: Path) -> Iterator[Effect]:
    """What was kept before the desk was stopped; nothing where the file is none of ours."""
    try:
        for told in json.loads(path.read_bytes()):
            shifts = tuple(Shift(**shift) for shift in told["shifts"])
            lists = {name: tuple(told[name]) for name in ("notes", "warnings")}
            at = datetime.fromisoformat(told["at"])
            yield Effect(**{**told, **lists, "shifts": shifts, "at": at})
    except (OSError, ValueError, TypeError, KeyError):
        return


def _warnings(plan: SeasonPlan) -> list[str]:
    return [notice.says for notice in plan.notices if notice.level is Level.WARNING]


def _shifts(before: SeasonPlan, after: SeasonPlan) -> Iterator[Shift]:
    """Visits on other days, in the order of their new days; then those without any."""
    ids = {*after.placed.visits, *before.placed.visits}
    for visit_id in sorted(ids, key=lambda visit_id: (_first_day(after, visit_id), visit_id)):
        was, now = _days_words(before, visit_id), _days_words(after, visit_id)
        if was == now:
            continue
        plan = after if visit_id in after.placed.groups else before
        title = phrases.visit_name(visit_id, plan.placed)
        done = all(task in after.placed.done for task in plan.placed.groups[visit_id])
        yield Shift(title, was, "done" if done else now, _because(before, after, visit_id))


def _because(before: SeasonPlan, after: SeasonPlan, visit_id: str) -> str:
    """Why a visit does not begin on the day that it had; empty where it does, or is done."""
    had, has = before.placed.visits.get(visit_id), after.placed.visits.get(visit_id)
    if had is None or visit_id not in after.placed.problem.visit_by_id:
        return ""
    if has is None:
        return UNSCHEDULED
    if has.first == had.first:
        return ""
    first, last = map(before.placed.season.date_of, (had.first, had.last))
    published = after.placed.published.get(visit_id, ())
    if published and after.placed.season.date_of(has.first) == published[0].first:
        return BACK
    otherwise = SOONER if has.first < had.first else ROOM
    return because_not_on(after.placed, visit_id, first, [DaySpan(first, last)], otherwise)


def _first_day(plan: SeasonPlan, visit_id: str) -> int:
    visit = plan.placed.visits.get(visit_id)
    return plan.placed.season.n_days if visit is None else visit.first


def _days_words(plan: SeasonPlan, visit_id: str) -> str:
    visit = plan.placed.visits.get(visit_id)
    if visit is None:
        return "unscheduled"
    first, last = map(plan.placed.season.date_of, (visit.first, visit.last))
    return f"{first:%a} {span_words(first, last)}"
