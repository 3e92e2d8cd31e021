"""The season on one sheet: a band for each plot, the Moon above, the crew's load below."""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import numpy as np

from scheduler.frost import PlotFrost
from scheduler.holding import Plot
from scheduler.pages.rendering import Page, Rows, drawn, month_starts, page
from scheduler.pages.season_drawing import AWAY, Scale, bar_words, joined, peaks
from scheduler.pages.season_rows import Band, Bar, SeasonSheet, Span, Week
from scheduler.reasons import SeasonPlan
from scheduler.season import Placed
from scheduler.terms import Season, spans_of
from scheduler.words import phrases

LIKELY = 0.5  # chance of frost from which a band is shaded darker


def season_sheet(plan: SeasonPlan) -> SeasonSheet:
    """The rows of the season sheet."""
    placed, season = plan.placed, plan.placed.season
    moved = {move.visit_id: move.was for move in plan.moves}
    bands = (_band(plot, placed, moved) for plot in placed.holding.plots)
    return SeasonSheet(
        site=placed.holding.site.name,
        plan=placed.holding.plan.says.title,
        as_of=placed.outlook.as_of,
        first=season.first,
        last=season.last,
        southern=placed.holding.site.place.southern,
        phases=tuple(_phases(placed)),
        waning=tuple(_waning(placed)),
        bands=tuple(sorted(bands, key=lambda band: band.closes or date.max)),
        weeks=tuple(_weeks(placed)),
        spans=tuple(_spans(placed)),
        months=month_starts(season),
    )


def _phases(placed: Placed) -> Iterator[Rows]:
    sky = placed.outlook.sky
    for event in sky.events:
        if event.event in phrases.PHASES:
            yield {
                "day": event.local.date(),
                "name": phrases.EVENT_WORDS[event.event],
                "elongation_deg": 90.0 * phrases.PHASES.index(event.event),
            }


def _waning(placed: Placed) -> Iterator[Span]:
    """The waning half, only where the site follows the practice, and tagged as such."""
    if placed.holding.site.moon.practice:
        for span in spans_of(placed.season, ~placed.outlook.sky.waxing):
            yield Span(span.first, span.last, f"waning ({phrases.MOON_TAG})", "waning")


def _band(plot: Plot, placed: Placed, moved: dict[str, date]) -> Band:
    frost = placed.outlook.plots[plot.id]
    name, _, note = plot.name.partition(" (")
    frost_days = spans_of(placed.season, frost.risk.open[: placed.season.n_days])
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
            # one that decides is the word for which the release waits
            marks.append({"day": first, "title": task.title, "decides": task.type.decides})
    return Band(
        plot=plot.id,
        name=name,
        note=note.removesuffix(")"),
        bars=tuple(bars),
        marks=tuple(marks),
        shades=tuple(_shades(frost, placed.season)),
        closes=frost.window_end(placed.outlook.as_of, placed.season),
        opens=tuple(span.first for span in frost_days if span.first != placed.season.first),
        unscheduled=tuple(_unscheduled(plot, placed)),
    )


def _unscheduled(plot: Plot, placed: Placed) -> Iterator[str]:
    for visit_id in placed.roster.left_out:
        task = placed.tasks[placed.groups[visit_id][0]]
        if task.plot_id == plot.id and task.is_step:
            yield task.type.visit


def _shades(frost: PlotFrost, season: Season) -> Iterator[Rows]:
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
            yield {"first": span.first, "last": span.last, "level": level}


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
            if off.first <= season.last and off.last >= season.first:
                yield Span(off.first, off.last, f"{person.name}{AWAY}", "leave")
    for closed in placed.holding.plan.says.closed:
        yield Span(closed.first, closed.last, closed.why, "closed")


def season_page(plan: SeasonPlan, **more: object) -> Page:
    """The season sheet as a page."""
    sheet = season_sheet(plan)
    visits = sorted(
        ((bar, band) for band in sheet.bands for bar in band.bars),
        key=lambda visit: (visit[0].first, visit[0].visit),
    )
    rows = _rows(sheet, Scale(sheet, 148, 1248), 500, 200) | more
    tall = Scale(sheet, 0, 372)
    return page("season", _title(sheet), "season.html", sheet, visits=visits, tall=tall, **rows)


def season_picture(plan: SeasonPlan) -> bytes:
    """The drawing alone, as an SVG file, as wide as a column of text."""
    sheet = season_sheet(plan)
    rows = _rows(sheet, Scale(sheet, 120, 892), 400, 110)
    return drawn("season.svg", sheet=sheet, title=_title(sheet), **rows)


def _title(sheet: SeasonSheet) -> str:
    return sheet.site if sheet.plan == sheet.site else f"{sheet.site}: {sheet.plan}"


def _rows(sheet: SeasonSheet, scale: Scale, room: float, most: float) -> dict[str, Any]:
    """What the drawings need beside the sheet, and the height of a band in the wide one."""
    return {
        "wide": scale,
        "band_h": max(44, min(most, room // max(1, len(sheet.bands)))),
        "most_h": max(1.0, *(max(week.crew_h, week.load_h) for week in sheet.weeks)),
        "peaks": peaks(sheet.weeks),
        "span_rows": {kind: joined(sheet.spans, kind) for kind in ("leave", "closed", "hire")},
        "bar_words": bar_words,
    }
