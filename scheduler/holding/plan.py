"""``plan-<season>.toml``: the work wanted this season, and the grower's own dates.

A plan without ``last`` goes on year after year, until another file begins: each of its years is a
plan of its own, with the visits of that year.
"""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import chain, count, pairwise
from typing import TypeVar

from dateutil.relativedelta import relativedelta

from scheduler.files import fields
from scheduler.holding.crew import SomeDays
from scheduler.terms import Season

# what the ephemeris covers, by some way; the look ahead at frost needs no sky
FIRST_PLAN_DAY, LAST_PLAN_DAY = date(1900, 1, 2), date(2053, 9, 1)
_DAYS = ("first", "last", "on", "not_before", "not_after")
_T = TypeVar("_T", bound="OwnDate | Closed")


@fields.table
class Work:
    """``[[work]]``: kinds of work wanted."""

    types: tuple[fields.Slug, ...]  # visits such as ``release``, or single task types
    plots: tuple[fields.Slug, ...] = ()  # all where left out
    # task types not wanted after all; of picking a single kind, as ``pick:apricot``
    without: tuple[fields.Name, ...] = ()
    # a plot whose visit these plots ride along with: theirs comes in the days after it, not weeks
    # apart, as far as frost and season let it
    along_with: fields.Slug | None = None
    # the lighter form of the visits, as young plots take it: only task types marked ``light``
    lighter: fields.YesNo = False


@fields.table
class OwnDate:
    """``[[own_date]]``: the grower's own word on one task."""

    task: fields.Name  # id of the task, ``<plot>.<task type>``
    on: fields.Day | None = None  # it begins on this very day; the rules still warn
    not_before: fields.Day | None = None  # it begins on this day or later
    not_after: fields.Day | None = None  # it is finished on this day
    every_year: fields.YesNo = False  # it holds in the years to come, too
    why: fields.Name  # the reason, to be read in the calendar

    @property
    def days(self) -> tuple[date, ...]:
        """The days that it names."""
        return tuple(day for day in (self.on, self.not_before, self.not_after) if day)


@fields.table
class Closed(SomeDays):
    """``[[closed]]``: days on which some work may not stand."""

    types: tuple[fields.Slug, ...] = ()  # visits or task types; all where left out
    plots: tuple[fields.Slug, ...] = ()  # all where left out
    every_year: fields.YesNo = False  # likewise in the years to come
    why: fields.Name  # the reason, to be read in the calendar

    @property
    def days(self) -> tuple[date, ...]:
        """Its first and last day."""
        return self.first, self.last

    @property
    def for_all(self) -> bool:
        """Whether no work at all may stand."""
        return not (self.types or self.plots)


@fields.table
class PlanFile:
    """What stands in the file."""

    title: fields.Name  # as it is to be read at the head of the calendar
    first: fields.Day
    # at most 15 months later; left out, the plan goes on year after year
    last: fields.Day | None = None
    # day on which a plan was taken up that had begun before: what had its days until then, and is
    # not in the log, is passed over without a word
    taken_up: fields.Day | None = None
    work: tuple[Work, ...]
    own_date: tuple[OwnDate, ...] = ()
    closed: tuple[Closed, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Plan:
    """The plan of one season."""

    # the part of the file name after ``plan-``; of a later year of it, that year
    id: str
    season: Season  # its civil days
    says: PlanFile  # what holds in this season
    file: str  # that it stands in
    whole: PlanFile  # all that the file says


def plans_of(files: Mapping[str, PlanFile], as_of: date) -> tuple[Plan, ...]:
    """All plans of a site, by their first day, from what its files say, given by id.

    A plan that goes on stands with each of its years, to the second that ends after today.
    """
    by_begin = sorted(files.items(), key=lambda file: (file[1].first, file[0]))
    plans: list[Plan] = []
    for plan_id, says in by_begin:
        if says.last is None:
            later = (other.first for _, other in by_begin if other.first > says.first)
            plans += _years(plan_id, says, min(later, default=LAST_PLAN_DAY), as_of)
        else:
            plans.append(_plan(plan_id, says, Season.between(says.first, says.last)))
    return tuple(plans)


def _plan(plan_id: str, says: PlanFile, season: Season, n: int = 0) -> Plan:
    """What a file says of its season, so many years after its first; what recurs stands anew."""
    own_dates = (_own_in(own, season) if own.every_year else [own] for own in says.own_date)
    closed = (_closed_in(days, season) if days.every_year else [days] for days in says.closed)
    return Plan(
        id=_id_later(plan_id, n),
        season=season,
        says=replace(
            says,
            own_date=tuple(own for own in chain(*own_dates) if _is_of(own, season, n, says)),
            closed=tuple(chain(*closed)),
        ),
        file=f"plan-{plan_id}.toml",
        whole=says,
    )


def _closed_in(told: Closed, season: Season) -> list[Closed]:
    """Closed days that recur, as they touch a season: over the turn of the year at either end."""
    moved = _each_year(told, season)
    return [m for m in moved if m.first <= season.last and m.last >= season.first]


def _own_in(told: OwnDate, season: Season) -> list[OwnDate]:
    """An own date that recurs, where its first day lies; what lies beyond falls away."""
    moved = _each_year(told, season)
    return [_clipped(own, season) for own in moved if not own.days or min(own.days) in season]


def _each_year(told: _T, season: Season) -> list[_T]:
    """What is told, in each year that a season or the one before it lies in."""
    if not told.days:
        return [told]
    years = range(season.first.year - 1, season.last.year + 1)
    return [each_later(told, year - min(told.days).year) for year in years]


def _clipped(own: OwnDate, season: Season) -> OwnDate:
    days = {name: getattr(own, name) for name in ("on", "not_before", "not_after")}
    inside = {name: day if day and day in season else None for name, day in days.items()}
    return replace(own, **inside)  # type: ignore[arg-type]  # days by name


def names_borne_twice(plans: Sequence[Plan], ids: Container[str]) -> Iterator[tuple[str, str]]:
    """Ids of files that a year of another file bears, and that file."""
    for plan in plans:
        if plan.id in ids and plan.file != f"plan-{plan.id}.toml":
            yield plan.id, plan.file


def _years(plan_id: str, says: PlanFile, ends: date, as_of: date) -> Iterator[Plan]:
    """The years of a plan that goes on, before another begins."""
    n_after = 0
    for n in count():
        first, following = (years_later(says.first, n + more) for more in (0, 1))
        if first >= ends or n_after == 2:
            return
        season = Season.between(first, min(following, ends) - timedelta(days=1))
        yield _plan(plan_id, says, season, n)
        n_after += season.last >= as_of


def _is_of(own: OwnDate, season: Season, n: int, says: PlanFile) -> bool:
    """Whether an own date speaks of a year; what lies in none is left for the fault it is."""
    stray = n == 0 and any(day < season.first for day in own.days)
    ends = says.last is not None
    return ends or stray or not own.days or any(day in season for day in own.days)


def each_later(told: _T, n: int) -> _T:
    """An own date or closed days so many years later."""
    days = {name: years_later(day, n) for name in _DAYS if (day := getattr(told, name, None))}
    return replace(told, **days)  # type: ignore[arg-type]  # days by name


def years_later(day: date, n: int) -> date:
    """The same day of a later year; the last of February where it has none.

    >>> years_later(date(2028, 2, 29), 1)
    datetime.date(2029, 2, 28)
    """
    return day + relativedelta(years=n)


def _id_later(plan_id: str, n: int) -> str:
    """The id of the plan of a later year.

    >>> _id_later("2027", 2), _id_later("hill", 2), _id_later("hill", 0)
    ('2029', 'hill-3', 'hill')
    """
    if n == 0:
        return plan_id
    is_year = len(plan_id) == 4 and plan_id.isdecimal()
    return str(int(plan_id) + n) if is_year else f"{plan_id}-{n + 1}"


def own_date_at(plan: Plan, task: str) -> int | None:
    """Which ``[[own_date]]`` of the file speaks of a task in this season, from 0."""
    mine = [own for own in plan.says.own_date if own.task == task]
    alike = (
        at
        for at, own in enumerate(plan.whole.own_date)
        if own.task == task and (own in mine or own.every_year)
    )
    return next(alike, None)


def plan_after(plan: Plan, plans: Sequence[Plan]) -> Plan | None:
    """The plan that comes next; None where there is none yet."""
    firsts = [(before.season.first, after) for before, after in pairwise(plans)]
    return next((after for first, after in firsts if first == plan.season.first), None)


def plan_in(plans: Sequence[Plan], as_of: date, plan_id: str | None) -> Plan | None:
    """The plan of an id, or of its file; without one that in force today, or else the last."""
    if plan_id is not None:
        wanted = plan_id.removeprefix("plan-").removesuffix(".toml")
        return next((plan for plan in plans if plan.id == wanted), None)
    coming = [plan for plan in plans if plan.season.last >= as_of]
    return next(iter(coming or plans[-1:]), None)
