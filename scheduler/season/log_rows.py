"""What is told of work into rows of the work log, as the plan has it. Pure."""

import difflib
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import isfinite

from scheduler.holding import Holding, LogEntry, contradictions, percent_so_far
from scheduler.season.errands import logged_words
from scheduler.season.logged import finished, progress_of
from scheduler.season.placed import Placed, planned_from, visits_on, worked_until
from scheduler.season.roster_problem import Published
from scheduler.season.walk import placed_season
from scheduler.stand import book_hours_of, bookings_of, calls_of, tasks_of
from scheduler.windows import left_before


class NotLoggedError(Exception):
    """Nothing is logged, for the reasons in its arguments, a line each."""


@dataclass(frozen=True)
class Said:
    """What the grower says of the work."""

    on: date  # day of the work
    percent: int | None = None  # how much is done so far, if that is told
    hours_left: float | None = None  # person-hours still to do, if that is told
    hours: float | None = None  # person-hours worked, if they were counted
    note: str = ""  # what is worth remembering

    @property
    def is_whole(self) -> bool:
        """Whether nothing is told to be left."""
        return self.hours_left is None and self.percent in (None, 100)


@dataclass(frozen=True)
class Recorded:
    """What is to be written, and what is worth telling of it."""

    entries: tuple[LogEntry, ...]
    words: tuple[str, ...]


@dataclass(frozen=True)
class _Row:
    task_id: str  # the step, or the call
    on: date  # day of the work
    percent: int  # how much of it is done by then
    # person-hours planned for it; the hours worked are shared in their proportion
    work_h: float = 0.0


def recorded(
    holding: Holding, what: Sequence[str], said: Said, as_of: date, published: Published
) -> Recorded:
    """The rows of the log for everything that is named.

    Args:
        holding: the site's files.
        what: visits, steps or calls, or a day as 2027-05-01 for all that it had.
        said: what is told of them.
        as_of: today.
        published: the days for which visits were last published.

    Raises:
        NotLoggedError: there is no such work, or the log, the plan or the day speaks against it.
    """
    return _recorded(
        _each_once(_rows(holding, what, said, published)), holding, said, as_of, published
    )


def ticked(
    placed: Placed, visit_id: str, steps: Collection[str], said: Said, published: Published
) -> Recorded:
    """The rows of the log for steps of a visit that were ticked on the page of a day.

    They are as far as the plan has them by then.

    Args:
        placed: the season that the page showed.
        visit_id: the visit.
        steps: those that were ticked.
        said: what is told of them.
        published: the days for which visits were last published.

    Raises:
        NotLoggedError: see ``recorded``; a step is not in the plan by that day.
    """
    holding, as_of = placed.holding, placed.outlook.as_of
    if said.on < as_of:  # a page that was open past midnight
        rows = list(_of_visits(holding, visit_id, said, published))
    else:
        worked = worked_until(placed, visit_id, said.on)
        rows = [_Row(task_id, said.on, percent, work_h) for task_id, percent, work_h in worked]
    rows = [row for row in rows if row.task_id in steps]
    if missing := sorted({*steps} - {row.task_id for row in rows}):
        names = ", ".join(missing)
        raise NotLoggedError(f"{names}: the plan does not have that up to {said.on}")
    return _recorded(rows, holding, said, as_of, published)


def _recorded(
    rows: Sequence[_Row], holding: Holding, said: Said, as_of: date, published: Published
) -> Recorded:
    shares = _shared(said.hours, rows)
    entries = tuple(
        _entry(row, hours, holding, said) for row, hours in zip(rows, shares, strict=True)
    )
    early = _refuse_contradictions(entries, holding, as_of)
    after = _after_words(holding, entries, as_of, published)
    return Recorded(entries, tuple(dict.fromkeys((*after, *early))))


def person_hours(text: str) -> float:
    """Person-hours as they are typed, with a point or a comma: ``8.5``, ``8,5``.

    Raises:
        ValueError: they are no such number, in words for the person who typed it.
    """
    try:
        hours = float(text.replace(",", "."))
    except ValueError as error:
        raise ValueError(f"{text!r} is no number of person-hours") from error
    if not (isfinite(hours) and hours >= 0):
        raise ValueError(f"{text}: a number of person-hours is needed, 0 or more")
    return hours


def is_day(name: str) -> bool:
    """Whether a day is named, such as 2027-05-01; a plot's name may begin with a figure."""
    return name[:1].isdigit() and "." not in name


def unknown_words(name: str, known: Sequence[str]) -> str:
    """That no task bears a name, and which are near it."""
    near = difflib.get_close_matches(name, dict.fromkeys(known), n=3)
    hint = (
        f"did you mean {' or '.join(near)}?" if near else "`scheduler plan SITE --full` lists them"
    )
    return f"there is no task {name!r} in this plan; {hint}"


def _entry(row: _Row, hours: float | None, holding: Holding, said: Said) -> LogEntry:
    book_h = book_hours_of(row.task_id, holding)
    return LogEntry(
        date=row.on,
        plan=holding.plan.id,
        task=row.task_id,
        percent=row.percent,
        hours=hours,
        note=said.note,
        hours_left=said.hours_left or None,
        book_h=None if book_h is None else round(book_h, 2),
    )


def _rows(
    holding: Holding, what: Sequence[str], said: Said, published: Published
) -> Iterator[_Row]:
    tasks = tasks_of(holding)
    visits = {task.visit_id for task in tasks if task.visit_id != task.id}
    usual_h = dict.fromkeys(calls_of(holding), 0.0) | {t.id: t.hours.usual for t in tasks}
    known = [*visits, *usual_h, *bookings_of(holding)]
    for name in what:
        if not (name in known or is_day(name)):
            raise NotLoggedError(unknown_words(name, known))
        # other work bears the name of its first task; a part of it is said of that task alone
        if name in usual_h and (name not in visits or not said.is_whole):
            yield _Row(name, said.on, _percent(holding, name, said, usual_h[name]), usual_h[name])
        elif not said.is_whole:
            only_steps = "--percent below 100 and --hours-left speak of one step; name the step"
            raise NotLoggedError(f"{name}: {only_steps}")
        else:
            yield from _of_visits(holding, name, said, published)


def _percent(holding: Holding, task_id: str, said: Said, usual_h: float) -> int:
    if said.hours_left is None:
        return 100 if said.percent is None else said.percent
    earlier = [e for e in holding.log if (e.plan, e.task) == (holding.plan.id, task_id)]
    return percent_so_far(said.hours_left, usual_h, earlier)


def _of_visits(holding: Holding, what: str, said: Said, published: Published) -> Iterator[_Row]:
    """The rows of a visit, or of all visits of a day, as the plan has them by then."""
    day = date.fromisoformat(what) if is_day(what) else said.on
    # who has come to work has been called, whatever the log says
    hires = tuple(replace(hire, lead_days=0) for hire in holding.crew.hire)
    holding = replace(holding, crew=replace(holding.crew, hire=hires))
    season = placed_season(holding, day, published=published)
    named = visits_on(season, day) if is_day(what) else (what,)
    rows = [row for visit_id in named for row in _of_visit(season, visit_id, day, said)]
    if not rows:
        raise NotLoggedError(
            f"{what}: the plan has no work for it up to {day} that is not logged as done; name a "
            "step, or all of a visit with --percent 100"
        )
    yield from rows


def _of_visit(season: Placed, visit_id: str, day: date, said: Said) -> Iterator[_Row]:
    left = [t for t in season.groups.get(visit_id, ()) if t not in season.done]
    if said.percent == 100:
        yield from (_Row(t, day, 100, season.tasks[t].hours.usual) for t in left)
    elif left:
        yield from _worked_by(season, visit_id, day)


def _worked_by(season: Placed, visit_id: str, day: date) -> Iterator[_Row]:
    """The rows of a visit that the plan has begun by a day."""
    holding, published = season.holding, season.published
    since = planned_from(season, visit_id, day)
    there = season if since == day else placed_season(holding, since, published=published)
    worked = list(worked_until(there, visit_id, day))
    if not worked and any(span.first <= day for span in published.get(visit_id, ())):
        # it waits for what nobody has logged; the calendar had it for this day
        there = placed_season(holding, season.season.first, published=published)
        worked = list(worked_until(there, visit_id, day))
    yield from (_Row(task_id, day, percent, work_h) for task_id, percent, work_h in worked)


def _each_once(rows: Iterable[_Row]) -> list[_Row]:
    """By day; of work that is named twice only what the later row adds."""
    kept: dict[str, list[_Row]] = {}
    for row in sorted(rows, key=lambda row: row.on):
        mine = kept.setdefault(row.task_id, [])
        if not mine:
            mine.append(row)
        elif row.percent > mine[-1].percent:
            before_h = sum(one.work_h for one in mine)
            mine.append(replace(row, work_h=max(0.0, row.work_h - before_h)))
    return sorted((row for mine in kept.values() for row in mine), key=lambda row: row.on)


def _shared(hours: float | None, rows: Sequence[_Row]) -> Iterator[float | None]:
    """The hours worked, shared as the plan shares them; together they are what was told."""
    whole_h = sum(row.work_h for row in rows)
    shares = [row.work_h / whole_h if whole_h else 1 / len(rows) for row in rows]
    given, so_far = 0.0, 0.0
    for share in shares:
        if hours is None:
            yield None
            continue
        so_far += share
        mine = round(round(hours * so_far, 2) - given, 2)
        given += mine
        yield mine


def _refuse_contradictions(
    entries: Sequence[LogEntry], holding: Holding, as_of: date
) -> list[str]:
    """Refuse what the log, the plan or the day speaks against, all of it at once.

    Returns:
        Notes about what is early.
    """
    calls, first, against, notes = calls_of(holding), holding.plan.season.first, list[str](), []
    for entry in entries:
        # a call is made before the plan, and cover put on night by night
        call = entry.task in calls
        mine = [e for e in holding.log if (e.plan, e.task) == (entry.plan, entry.task)]
        early = date.min if call else first
        against += contradictions(entry, [] if call else mine, early, as_of)
        if entry.date < early:
            notes.append(f"note: plan {entry.plan} begins on {first}; logged for it all the same")
    if against:
        raise NotLoggedError(*dict.fromkeys(against))
    return notes


def _after_words(
    holding: Holding, entries: Sequence[LogEntry], as_of: date, published: Published
) -> Iterator[str]:
    """For which days something was booked, and what was passed over."""
    logged = replace(holding, log=(*holding.log, *entries))
    for entry in entries:
        if entry.task in bookings_of(holding) and entry.percent == 100:
            season = placed_season(logged, as_of, published=published)
            yield logged_words(entry.task, season)
        elif skipped := _skipped_words(entry.task, logged):
            yield skipped


def _skipped_words(task_id: str, holding: Holding) -> str:
    """What comes before a task and is not in the log as done; empty where all is."""
    done = finished(progress_of(holding))
    skipped = left_before(task_id, tasks_of(holding), done, holding.rules)
    names = ", ".join(f"{left.title!r} ({left.id})" for left in skipped)
    after = "not logged as done; what follows waits for it too"
    return names and f"note: before it comes {names}, {after}"
