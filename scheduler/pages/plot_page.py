"""One plot on one sheet: canopy by stratum, lines and stock, what is due and why, mulch, yield."""

from collections.abc import Iterator

from scheduler.holding import Plot
from scheduler.pages.day_page import layer_rows
from scheduler.pages.rendering import Page, Rows, page
from scheduler.reasons import SeasonPlan
from scheduler.season import Placed
from scheduler.stand import PlotDue, left_of_old_cm
from scheduler.words import harvests_in, held_back_words, mulches_of, phrases


def plot_sheet(plan: SeasonPlan, due: PlotDue) -> Rows:
    """What the sheet of a plot shows."""
    placed, plot = plan.placed, due.plot
    plants = placed.holding.rules.plants
    return {
        "plot": plot.id,
        "name": plot.name,
        "planted": plot.planted,
        "area_m2": plot.area_m2,
        # share of open light at the alleys, now and after the cuts
        "light": (round(due.light, 3), round(due.light_after, 3)),
        "frost": phrases.risk_words(placed.outlook.frost[plot.id], placed.outlook.as_of),
        "canopy": tuple(_canopy(due)),
        "reasons": due.reasons,
        "held_back": tuple(held_back_words(plot, placed)),
        "lines": tuple(_lines(plot, placed)),
        "work": tuple(_work(plot, placed)),
        "mulch": tuple(_mulch(plot, placed)),
        # kind, year, and kg: if poor, and if good
        "yields": tuple(
            (plants[h.plant].name, h.year, round(h.low_kg, 1), round(h.high_kg, 1))
            for h in harvests_in(plot, placed)
            if h.year == placed.season.last.year
        ),
    }


def _canopy(due: PlotDue) -> Iterator[Rows]:
    """The strata, the tallest first, as shares of the ground of the plot."""
    for stratum in due.strata:
        if stratum.grown > 0:
            cover = stratum.cover
            yield {
                "stratum": cover.stratum,
                "now": round(cover.share, 3),
                "after": round(stratum.after, 3),
                "grown": round(stratum.grown, 3),
                "target": cover.target,
                "cut_at": cover.trigger if cover.trigger < 100 else None,
                "reached": stratum.on,
            }


def _lines(plot: Plot, placed: Placed) -> Iterator[Rows]:
    for line in plot.line:
        of_line = (plot.id, line.id)
        rows = [row for row in placed.holding.stock if (row.plot, row.line) == of_line]
        left_cm = left_of_old_cm(line, placed.rotting, placed.outlook.as_of)
        yield {
            "line": line.id,
            "plants": phrases.stock_words(rows, placed),
            "mulch_cm": None if left_cm is None else round(left_cm, 1),
        }


def _work(plot: Plot, placed: Placed) -> Iterator[Rows]:
    """Visits and routine work, by day; unscheduled work last."""
    date_of = placed.season.date_of
    unscheduled = sorted(placed.groups.keys() - placed.visits.keys())
    for visit_id in (*placed.visits, *unscheduled):
        ids, task = placed.groups[visit_id], phrases.first_task(visit_id, placed)
        if task.plot is plot:
            visit = placed.visits.get(visit_id)
            done = all(task_id in placed.done for task_id in ids)
            yield {
                "first": None if visit is None else date_of(visit.first),
                "last": None if visit is None else date_of(visit.last),
                "kind": phrases.kind_of_visit(task),
                "title": phrases.work_name(task),
                "hours": round(sum(placed.tasks[t].hours.usual for t in ids), 1),
                "visit": visit_id,
                "done": placed.logged_days(visit_id)[-1] if done else None,
            }


def _mulch(plot: Plot, placed: Placed) -> Iterator[Rows]:
    """A row for each visit and line, of the last of the tasks that lay there."""
    tasks = (task for task in placed.tasks.values() if task.plot is plot)
    last = {task.type.visit: task for task in tasks if mulches_of(placed, task.id)}
    for task in last.values():
        for mulch in mulches_of(placed, task.id):
            if layers := layer_rows(mulch):
                yield {
                    "line": mulch.line.id,
                    "visit": task.type.visit,
                    "layers": layers,
                    "short_kg": round(mulch.short_kg, 1),
                    "top_up": mulch.feed_on,
                }


def plot_page(plan: SeasonPlan, due: PlotDue, **more: object) -> Page:
    """One plot as a page."""
    sheet = plot_sheet(plan, due)
    return page(f"plot-{due.plot.id}", due.plot.name, "plot.html", sheet, **more)
