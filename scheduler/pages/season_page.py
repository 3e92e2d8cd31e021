"""The season on one sheet: a band for each plot, the Moon above, the crew's load below."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np

from scheduler.frost import PlotFrost
from scheduler.holding import Plot
from scheduler.pages.rendering import Page, drawn, month_starts, page
from scheduler.reasons import SeasonPlan
from scheduler.season import Placed
from scheduler.terms import Season, spans_of
from scheduler.words import phrases

LIKELY = 0.5  # chance of frost from which a band is shaded darker
MOON_EVENTS = ("new_moon", "first_quarter", "full_moon", "last_quarter")


@dataclass(frozen=True, slots=True)
class Bar:
    """A visit in the band of its plot."""

    visit: str  # its id
    kind: str  # dormant, release or dry-summer
    title: str  # of one piece of work with days of its own; empty for a whole campaign
    first: date  # its first day
    last: date  # its last day
    hours: float  # person-hours
    was: date | None  # its first day as published, where it has moved


@dataclass(frozen=True, slots=True)
class Mark:
    """A piece of routine work, by its first day."""

    day: date
    title: str


@dataclass(frozen=True, slots=True)
class Shade:
    """Days on which frost is a risk: ``likely`` from an even chance on, else ``possible``."""

    first: date
    last: date
    level: str


@dataclass(frozen=True, slots=True)
class Band:
    """One plot over the season."""

    plot: str  # its id
    name: str  # its name without what stands in brackets
    note: str  # what stands there
    bars: tuple[Bar, ...]  # its visits
    marks: tuple[Mark, ...]  # its routine work
    shades: tuple[Shade, ...]  # its frost risk
    # last day of the frost window that ends in the growing season; None without one
    closes: date | None
    unscheduled: tuple[str, ...]  # kinds of its visits that have no days


@dataclass(frozen=True, slots=True)
class Week:
    """The crew's load in seven days."""

    first: date  # the Monday, or the first day of the plan
    planned_h: dict[str, float]  # person-hours by kind of visit
    crew_h: float  # person-hours that the crew has, the rain allowance not in them
    n_days: int  # of the plan in it


@dataclass(frozen=True, slots=True)
class Phase:
    """The Moon at one of its four phases."""

    day: date
    name: str
    elongation_deg: float


@dataclass(frozen=True, slots=True)
class Span:
    """Days with a word: hire, leave, closed days."""

    first: date
    last: date
    words: str
    kind: str


@dataclass(frozen=True, slots=True)
class SeasonSheet:
    """Everything the season sheet shows."""

    site: str  # name of the holding
    plan: str  # title of the plan
    as_of: date  # today
    first: date  # first day of the plan
    last: date  # its last day
    southern: bool  # whether the Moon is looked at from the south
    phases: tuple[Phase, ...]  # the Moon's
    waning: tuple[Span, ...]  # spans of the waning half, where the practice is followed; else none
    bands: tuple[Band, ...]  # the plots
    weeks: tuple[Week, ...]  # the crew's load
    spans: tuple[Span, ...]  # hire, leave and closed days
    months: tuple[date, ...]  # first day of each month in the plan

    @property
    def n_days(self) -> int:
        """Days of the plan."""
        return (self.last - self.first).days + 1


def season_sheet(plan: SeasonPlan) -> SeasonSheet:
    """The rows of the season sheet."""
    placed, season = plan.placed, plan.placed.season
    moved = {move.visit_id: move.was for move in plan.moves}
    return SeasonSheet(
        site=placed.holding.site.name,
        plan=placed.holding.plan.says.title,
        as_of=placed.outlook.as_of,
        first=season.first,
        last=season.last,
        southern=placed.holding.site.place.southern,
        phases=tuple(_phases(placed)),
        waning=tuple(_waning(placed)),
        bands=tuple(_band(plot, placed, moved) for plot in placed.holding.plots),
        weeks=tuple(_weeks(placed)),
        spans=tuple(_spans(placed)),
        months=month_starts(season),
    )


def _phases(placed: Placed) -> Iterator[Phase]:
    sky = placed.outlook.sky
    for event in sky.events:
        if event.event in MOON_EVENTS:
            turn = 90.0 * MOON_EVENTS.index(event.event)
            yield Phase(event.local.date(), phrases.EVENT_WORDS[event.event], turn)


def _waning(placed: Placed) -> Iterator[Span]:
    """The waning half, only where the site follows the practice, and tagged as such."""
    if placed.holding.site.moon.practice:
        for span in spans_of(placed.season, ~placed.outlook.sky.waxing):
            yield Span(span.first, span.last, f"waning ({phrases.MOON_TAG})", "waning")


def _band(plot: Plot, placed: Placed, moved: dict[str, date]) -> Band:
    frost = placed.outlook.plots[plot.id]
    name, _, note = plot.name.partition(" (")
    bars, marks = [], []
    for visit_id, visit in placed.visits.items():
        task = placed.tasks[placed.groups[visit_id][0]]
        if task.plot_id != plot.id:
            continue
        first, last = map(placed.season.date_of, (visit.first, visit.last))
        if task.type.visit != "year":
            ids = [t for t in placed.groups[visit_id] if t in placed.stints]
            hours = sum(sum(placed.stints[t].hours) for t in ids)
            was = moved.get(visit_id)
            title = "" if task.is_step else task.title
            bars.append(Bar(visit_id, task.type.visit, title, first, last, round(hours, 2), was))
        else:
            marks.append(Mark(first, task.title))
    return Band(
        plot=plot.id,
        name=name,
        note=note.removesuffix(")"),
        bars=tuple(bars),
        marks=tuple(marks),
        shades=tuple(_shades(frost, placed.season)),
        closes=frost.window_end(placed.outlook.as_of, placed.season),
        unscheduled=tuple(_unscheduled(plot, placed)),
    )


def _unscheduled(plot: Plot, placed: Placed) -> Iterator[str]:
    for visit_id in placed.roster.left_out:
        task = placed.tasks[placed.groups[visit_id][0]]
        if task.plot_id == plot.id and task.is_step:
            yield task.type.visit


def _shades(frost: PlotFrost, season: Season) -> Iterator[Shade]:
    """The window, darker where the frost season is likelier than not to be under way.

    It is under way on a day with the chance that the first frost has come by then or that
    another follows, whichever is less.
    """
    risk = frost.risk
    is_open = risk.open[: season.n_days]
    by_slot = np.fmin(risk.before_by_slot, risk.after_by_slot)
    chance = by_slot[risk.cycle.slots_of(season)[0]]
    likely = is_open & ~(chance < LIKELY)  # without a record no chance says less
    for level, days in (("likely", likely), ("possible", is_open & ~likely)):
        for span in spans_of(season, days):
            yield Shade(span.first, span.last, level)


def _weeks(placed: Placed) -> Iterator[Week]:
    season, problem = placed.season, placed.problem
    crew_h = np.sum([worker.hours for worker in problem.workers], axis=0)
    by_day: dict[int, dict[str, float]] = {}
    for task_id, stint in placed.stints.items():
        kind = str(placed.tasks[task_id].type.visit)
        for day, hours in zip(stint.days, stint.hours, strict=True):
            planned = by_day.setdefault(day, {})
            planned[kind] = planned.get(kind, 0.0) + hours
    first = season.first - timedelta(days=season.first.weekday())
    while first <= season.last:
        days = [d for n in range(7) if 0 <= (d := season.day_of(first) + n) < season.n_days]
        planned = {}
        for day in days:
            for kind, hours in by_day.get(day, {}).items():
                planned[kind] = round(planned.get(kind, 0.0) + hours, 2)
        whole = round(float(crew_h[days].sum()), 2) if np.ndim(crew_h) else 0.0
        yield Week(max(first, season.first), planned, whole, len(days))
        first += timedelta(days=7)


def _spans(placed: Placed) -> Iterator[Span]:
    season, crew = placed.season, placed.holding.crew
    names = {hire.id: hire.name for hire in crew.hire}
    for use in placed.roster.hires:
        first, last = season.date_of(use.days[0]), season.date_of(use.days[-1])
        yield Span(first, last, names[use.kit_id], "hire")
    for person in crew.person:
        for off in person.off:
            yield Span(off.first, off.last, f"{person.name} away", "leave")
    for closed in placed.holding.plan.says.closed:
        yield Span(closed.first, closed.last, closed.why, "closed")


def season_page(plan: SeasonPlan, **more: object) -> Page:
    """The season sheet as a page."""
    sheet = season_sheet(plan)
    visits = sorted(
        ((bar, band) for band in sheet.bands for bar in band.bars),
        key=lambda visit: (visit[0].first, visit[0].visit),
    )
    title, rows = _title(sheet), _rows(sheet)
    return page("season", title, "season.html", sheet, visits=visits, **rows, **more)


def season_picture(plan: SeasonPlan) -> bytes:
    """The drawing alone, as an SVG file."""
    sheet = season_sheet(plan)
    return drawn("season.svg", sheet=sheet, title=_title(sheet), **_rows(sheet))


def _title(sheet: SeasonSheet) -> str:
    return f"{sheet.site}: {sheet.plan}"


def _rows(sheet: SeasonSheet) -> dict[str, Any]:
    """What the drawing needs beside the sheet: a row for each word, and the height of a bar."""
    by_words: dict[str, list[Span]] = {}
    for span in sheet.spans:
        by_words.setdefault(span.words, []).append(span)
    loads = [max(week.crew_h, sum(week.planned_h.values())) for week in sheet.weeks]
    return {"span_rows": list(by_words.items()), "most_h": max(1.0, *loads)}
