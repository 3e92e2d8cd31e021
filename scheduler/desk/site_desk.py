"""One holding at the desk: its plan, a change tried, a change kept.

Decided: a change is shown with all that it would move before it is kept, and is kept only on the
files that it was shown with; else it is shown anew. Held by
tests/desk/test_site_desk.py::test_two_people_at_once_lose_nothing.
"""

import hashlib
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from pathlib import Path
from threading import RLock
from types import MappingProxyType

from scheduler.calendars import ForeignFeedError, feeds_of
from scheduler.desk.changes import Form, SiteEdit, SiteFiles, change_of
from scheduler.files import BusyError
from scheduler.holding import Holding, locked_site, read_holding
from scheduler.reasons import SeasonPlan, because_not_on, plan_season
from scheduler.season import Published
from scheduler.terms import DaySpan, Level, day_words, span_words
from scheduler.ways_out import (
    ForeignPageError,
    LossError,
    Manner,
    published_in_folders,
    write_feeds,
    write_owner_pages,
)
from scheduler.words import phrases

KEPT_SHOWN = 20  # changes that the desk remembers until it is stopped


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
    at: str = ""  # when it was kept
    unwritten: tuple[str, ...] = ()  # why calendars or pages were not written


@dataclass(frozen=True, slots=True)
class _Trial:
    plan: SeasonPlan  # as it would be
    effect: Effect
    edit: SiteEdit

    def is_of(self, form: Form, seen: str) -> bool:
        """Whether the same change was tried on the same files."""
        return seen == self.effect.seen and {**form} == {**self.effect.form}


class SiteDesk:
    """The plan of a holding as its files say it now, and the one way to change them from here."""

    def __init__(
        self, folder: Path, calendars: Path, plan_id: str | None, today: Callable[[], date]
    ) -> None:
        """Look at a site.

        Args:
            folder: its files.
            calendars: where its calendars are written.
            plan_id: the plan to take, where there are several.
            today: asked each time what day it is.
        """
        self.folder, self.calendars = folder, calendars
        self._plan_id, self._today = plan_id, today
        self._planned: tuple[str, SeasonPlan] | None = None
        self._titles: tuple[SeasonPlan, dict[str, str]] | None = None
        self._trial: _Trial | None = None  # the last one; most often it is what is kept
        self._planning = RLock()  # one plan at a time: the solver takes all cores
        self.kept: deque[Effect] = deque(maxlen=KEPT_SHOWN)  # the latest first

    def plan(self) -> SeasonPlan:
        """The season as the files say it; planned anew only where they, or the day, changed.

        Raises:
            FaultyFilesError: the files have faults.
        """
        with self._planning:
            state = self._state()
            if self._planned is None or self._planned[0] != state:
                holding = self._read()
                self._planned = state, self._plan(holding, self._published(holding))
            return self._planned[1]

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
            if self._state() != seen:
                raise ChangedMeanwhileError
            trial = self._tried(form)
            for name, content in trial.edit.files.items():
                write(name, content)
            unwritten = tuple(self.write_out(trial.plan))
            # the pages go on showing what this change has moved
            self._planned = self._state(), trial.plan
        at = f"{datetime.now().astimezone():%H:%M}"
        effect = replace(trial.effect, at=at, unwritten=unwritten)
        self.kept.appendleft(effect)
        return effect

    def write_again(self) -> None:
        """Write the calendars although much of what is to come would go from them."""
        with self._planning:
            plan = self.plan()
            unwritten = tuple(self.write_out(plan, may_lose=True))
            self._planned = self._state(), plan
        kept = (replace(answer, unwritten=unwritten) for answer in self.kept)
        self.kept = deque(kept, maxlen=KEPT_SHOWN)

    def write_out(self, plan: SeasonPlan, *, may_lose: bool = False) -> Iterator[str]:
        """Write calendars and pages; yields why some were not written.

        Args:
            plan: the season.
            may_lose: let much of what is still to come go.
        """
        now = datetime.now(UTC).replace(microsecond=0)
        if self._today() != date.today():  # the desk was told to take another day for today
            now = datetime.combine(self._today(), time.min, UTC)
        manner = Manner(now, plan_first=plan.placed.season.first, may_lose=may_lose)
        try:
            written = write_feeds(feeds_of(plan), self.calendars, manner)
            write_owner_pages(plan, written, self.calendars / "pages")
        except LossError as error:
            yield from error.args
            yield "The calendars stay as they were until you say that they may lose that."
        except (ForeignFeedError, ForeignPageError, BusyError, OSError) as error:
            yield str(error)

    def _tried(self, form: Form) -> "_Trial":
        with self._planning:
            before, seen = self.plan(), self._state()
            if self._trial is not None and self._trial.is_of(form, seen):
                return self._trial
            # not as the plan before had it: what was kept since has been published
            published = self._published(before.placed.holding)
            edit = change_of(form, SiteFiles(self.folder, before.placed, published))
            after = self._plan(self._read(edit.files), published)
            shifts = tuple(_shifts(before, after))
            warnings = tuple(says for says in _warnings(after) if says not in _warnings(before))
            effect = Effect(edit.words, edit.notes, shifts, warnings, seen, edit.form or form)
            self._trial = _Trial(after, effect, edit)
            return self._trial

    def _read(self, edited: Mapping[str, bytes] = MappingProxyType({})) -> Holding:
        return read_holding(self.folder, self._today(), self._plan_id, edited=edited)

    def _plan(self, holding: Holding, published: Published) -> SeasonPlan:
        return plan_season(holding, self._today(), published=published)

    def _published(self, holding: Holding) -> Published:
        return published_in_folders([self.calendars], holding)

    def _state(self) -> str:
        """A name for the day, all files of the site, and what was published."""
        state = hashlib.sha256(str(self._today()).encode())
        for path in sorted((*self.folder.rglob("*"), self.calendars / "work.ics")):
            if path.is_file() and not path.name.startswith("."):
                state.update(f"{path}\0".encode() + path.read_bytes())
        return state.hexdigest()


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
    if has is not None and has.first == had.first:
        return ""
    first, last = map(before.placed.season.date_of, (had.first, had.last))
    return because_not_on(after.placed, visit_id, first, [DaySpan(first, last)])


def _first_day(plan: SeasonPlan, visit_id: str) -> int:
    visit = plan.placed.visits.get(visit_id)
    return plan.placed.season.n_days if visit is None else visit.first


def _days_words(plan: SeasonPlan, visit_id: str) -> str:
    visit = plan.placed.visits.get(visit_id)
    if visit is None:
        return "unscheduled"
    first, last = map(plan.placed.season.date_of, (visit.first, visit.last))
    return (
        f"{first:%a} {day_words(first)}"
        if first == last
        else f"{first:%a} {span_words(first, last)}"
    )
