"""One plot on one sheet: canopy by stratum, lines and stock, what is due and why, mulch, yield."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from scheduler.holding import Plot
from scheduler.pages.day_page import layer_rows
from scheduler.pages.rendering import Page, page
from scheduler.reasons import SeasonPlan
from scheduler.season import Placed
from scheduler.stand import PlotDue, left_of_old_cm
from scheduler.words import harvests_in, held_back_words, mulches_of, phrases


@dataclass(frozen=True, slots=True)
class Canopy:
    """One stratum, as shares of the ground of the plot."""

    stratum: str  # its name
    now: float  # canopy cover today
    after: float  # after all cuts of the plan
    grown: float  # with all crowns grown out
    target: float  # what it is kept to
    cut_at: float | None  # cut threshold; None where nothing says
    reached: date | None  # day on which it reaches the threshold; None where it never does


@dataclass(frozen=True, slots=True)
class LineRow:
    """One tree line: what grows in it, and the mulch that is left there, cm."""

    line: str
    plants: str
    mulch_cm: float | None


@dataclass(frozen=True, slots=True)
class WorkRow:
    """One visit or piece of routine work: its days, its hours, what it does."""

    first: date | None
    last: date | None
    kind: str
    title: str
    hours: float
    visit: str
    done: date | None  # last logged day of what is finished


@dataclass(frozen=True, slots=True)
class MulchRow:
    """What a visit lays on a line: the layers from the lowest up, name, kg and cm."""

    line: str
    visit: str
    layers: tuple[tuple[str, float, float], ...]
    short_kg: float
    top_up: date | None


@dataclass(frozen=True, slots=True)
class PlotSheet:
    """Everything the plot sheet shows."""

    plot: str  # its id
    name: str  # its name
    planted: int  # year of planting
    area_m2: float  # its ground
    light: tuple[float, float]  # share of open light at the alleys, now and after the cuts
    frost: str  # whether the window is open, and until when
    canopy: tuple[Canopy, ...]  # its strata, the tallest first
    reasons: tuple[str, ...]  # why its heavy visit is due
    held_back: tuple[str, ...]  # what that visit leaves alone, and why
    lines: tuple[LineRow, ...]  # its tree lines
    work: tuple[WorkRow, ...]  # its visits and routine work, by day; unscheduled work last
    mulch: tuple[MulchRow, ...]  # what is laid
    # expected harvest in kg: kind, year, low, high
    yields: tuple[tuple[str, int, float, float], ...]


def plot_sheet(plan: SeasonPlan, due: PlotDue) -> PlotSheet:
    """The rows of one plot."""
    placed, plot = plan.placed, due.plot
    plants = placed.holding.rules.plants
    return PlotSheet(
        plot=plot.id,
        name=plot.name,
        planted=plot.planted,
        area_m2=plot.area_m2,
        light=(round(due.light, 3), round(due.light_after, 3)),
        frost=phrases.risk_words(placed.outlook.frost[plot.id], placed.outlook.as_of),
        canopy=tuple(_canopy(due)),
        reasons=due.reasons,
        held_back=tuple(held_back_words(plot, placed)),
        lines=tuple(_lines(plot, placed)),
        work=tuple(_work(plot, placed)),
        mulch=tuple(_mulch(plot, placed)),
        yields=tuple(
            (plants[h.plant].name, h.year, round(h.low_kg, 1), round(h.high_kg, 1))
            for h in harvests_in(plot, placed)
            if h.year == placed.season.last.year
        ),
    )


def _canopy(due: PlotDue) -> Iterator[Canopy]:
    for stratum in due.strata:
        if stratum.grown > 0:
            cover = stratum.cover
            yield Canopy(
                stratum=cover.stratum,
                now=round(cover.share, 3),
                after=round(stratum.after, 3),
                grown=round(stratum.grown, 3),
                target=cover.target,
                cut_at=cover.trigger if cover.trigger < 100 else None,
                reached=stratum.on,
            )


def _lines(plot: Plot, placed: Placed) -> Iterator[LineRow]:
    for line in plot.line:
        of_line = (plot.id, line.id)
        rows = [row for row in placed.holding.stock if (row.plot, row.line) == of_line]
        left_cm = left_of_old_cm(line, placed.rotting, placed.outlook.as_of)
        words = phrases.stock_words(rows, placed)
        yield LineRow(line.id, words, None if left_cm is None else round(left_cm, 1))


def _work(plot: Plot, placed: Placed) -> Iterator[WorkRow]:
    for visit_id, ids in sorted(placed.groups.items(), key=lambda item: _when(item[0], placed)):
        task = placed.tasks[ids[0]]
        if task.plot is not plot:
            continue
        visit = placed.visits.get(visit_id)
        date_of = placed.season.date_of
        yield WorkRow(
            first=None if visit is None else date_of(visit.first),
            last=None if visit is None else date_of(visit.last),
            kind=phrases.kind_of_visit(task),
            title=phrases.work_name(task),
            hours=round(sum(placed.tasks[t].hours.usual for t in ids), 1),
            visit=visit_id,
            done=None
            if not all(t in placed.done for t in ids)
            else placed.logged_days(visit_id)[-1],
        )


def _when(visit_id: str, placed: Placed) -> tuple[int, str]:
    visit = placed.visits.get(visit_id)
    return (placed.season.n_days if visit is None else visit.first, visit_id)


def _mulch(plot: Plot, placed: Placed) -> Iterator[MulchRow]:
    """A row for each visit and line, of the last of the tasks that lay there."""
    tasks = (task for task in placed.tasks.values() if task.plot is plot)
    last = {task.type.visit: task for task in tasks if mulches_of(placed, task.id)}
    for task in last.values():
        for mulch in mulches_of(placed, task.id):
            if layers := layer_rows(mulch):
                short_kg = round(mulch.short_kg, 1)
                yield MulchRow(mulch.line.id, task.type.visit, layers, short_kg, mulch.feed_on)


def plot_page(plan: SeasonPlan, due: PlotDue, **more: object) -> Page:
    """One plot as a page."""
    sheet = plot_sheet(plan, due)
    return page(f"plot-{sheet.plot}", sheet.name, "plot.html", sheet, **more)
