"""What each plot needs: the order, the cover, the work, mulch, harvests."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from scheduler.files import fields
from scheduler.holding import Line, Plot
from scheduler.season import Placed
from scheduler.stand import (
    Harvest,
    LineMulch,
    PlotDue,
    StratumDue,
    Task,
    chippings_of,
    conditions_of,
    due_of,
    feed_day,
    harvests_of,
    held_back,
    left_of_old_cm,
)
from scheduler.terms import day_words
from scheduler.windows import release_day
from scheduler.words import material_words, phrases, work_words
from scheduler.words.table import Record, Table, picked, table_of

HARVEST_YEARS = 5  # how many years of harvests are told
SMALL_CROWNS = (
    "'Not at these crowns': even grown out, the crowns of stock.csv stay below what they are cut "
    "at. Trees grow on: measure crown_m again each year."
)


def dues_of(plan: Placed) -> tuple[PlotDue, ...]:
    """The plots in the order of their heavy work."""
    as_of = plan.outlook.as_of
    released = {
        plot: release_day(risk, as_of) if risk.is_open(as_of) else as_of
        for plot, risk in plan.outlook.frost.items()
    }
    return due_of(plan.holding, tuple(plan.tasks.values()), as_of, released)


def due_record(plan: Placed, plot_id: str | None = None) -> Record:
    """The plots in the order of their heavy work, or one; then the work of the whole holding."""
    return {
        "as_of": plan.outlook.as_of,
        "plots": [_plot_record(d, plan) for d in dues_of(plan) if plot_id in (None, d.plot.id)],
        "holding": [_task_record(task, plan) for task in phrases.tasks_in(None, plan)],
    }


def _plot_record(due: PlotDue, plan: Placed) -> Record:
    plot = due.plot
    return {
        "plot": plot.id,
        **picked(due, "reasons", "released"),
        "light_at_alley": due.light,
        "light_at_alley_today": due.light_now,
        "light_after_cuts": due.light_after,
        "light_wanted": due.light_wanted,
        "cover": [_stratum_record(stratum) for stratum in due.strata],
        "tasks": [_task_record(task, plan) for task in phrases.tasks_in(plot, plan)],
        "removals": [
            {
                "plant": removal.support.plant,
                "successor": removal.successor.plant,
                "by_year": {str(year): count for year, count in removal.by_year},
                "asked": removal.asked,
            }
            for removal in work_words.removals_in(plot, plan)
        ],
        "harvests": harvests_in(plot, plan),
        "held_back_from_release": [
            {**picked(held.stock, "plant", "count"), **picked(held, "until", "why")}
            for held in held_back(plot, "release", plan.holding)
        ],
    }


def _stratum_record(stratum: StratumDue) -> Record:
    return {
        **picked(stratum.cover, "stratum", "share"),
        "share_after": stratum.after,
        "grown_share": stratum.grown,
        **picked(stratum.cover, "target", "trigger"),
        "passes_trigger": stratum.on,
        "passes_trigger_early": stratum.early,
        "passes_trigger_late": stratum.late,
        "cuts_a_year": stratum.cuts_a_year,
    }


def _task_record(task: Task, plan: Placed) -> Record:
    return {
        "task": task.id,
        "title": task.title,
        "visit": task.type.visit,
        "work_h": round(task.hours.usual, 2),
        "work_low_h": round(task.hours.low, 2),
        "work_high_h": round(task.hours.high, 2),
        "hours_basis": "own log" if task.learned else "book",
        "hours_source": plan.holding.rules.rates[task.type.rate].source,
        "log_jobs": task.learned.n if task.learned else 0,
        "batches": [
            {**picked(batch, "line", "tool", "count"), "work_h": round(batch.hours, 2)}
            for batch in task.batches
        ],
        **picked(task, "team", "hired"),
        "material_fresh_kg": round(task.material.fresh_kg, 1),
        "material_range_kg": [round(kg, 1) for kg in material_words.mass_range_of(task, plan)],
        "mulch_lines": [
            _mulch_record(mulch) for mulch in material_words.mulches_of(plan, task.id)
        ],
        "conditions": conditions_of(task.stock, plan.holding.rules),
        "to_weigh": [
            {
                "rule": concern.rule_id,
                "switch": concern.switch,
                "says": concern.words,
                **picked(concern, "source", "conflict"),
                "days": [(span.first, span.last) for span in concern.spans],
                "clear_days": [(span.first, span.last) for span in concern.free],
            }
            for concern in plan.concerns(task.id)
        ],
        "cautions": task.cautions,
        "done_percent": plan.progress[task.id].percent if task.id in plan.progress else 0,
    }


def _mulch_record(mulch: LineMulch) -> Record:
    return {
        "line": mulch.line.id,
        **picked(mulch, "area_m2", "bare_m2", "old_cm", "short_kg", "surplus_kg"),
        "layers": [
            {"layer": laid.layer.id, "fresh_kg": laid.kg, **picked(laid, "depth_cm")}
            for laid in mulch.layers
        ],
        **picked(mulch, "feed_on", "feed_early", "feed_late"),
    }


def due_tables(plan: Placed, plot_id: str | None = None) -> Iterator[Table]:
    """The plots in order; then for each why it is due, its work, mulch and harvests.

    Where a plot is named, that one alone.
    """
    if plot_id is None:
        yield replace(short_due(plan), foot=tuple(_order_words(plan)))
    for at, due in enumerate(dues_of(plan), start=1):
        if plot_id not in (None, due.plot.id):
            continue
        tasks = phrases.tasks_in(due.plot, plan)
        yield _cover_table(at, due, tasks, plan)
        yield _work_table(due.plot, tasks, plan)
        yield from _mulch_table(due.plot, tasks, plan)
        yield from _harvest_table(due.plot, plan)
    if plot_id is None and (whole := phrases.tasks_in(None, plan)):
        rows = tuple((t.id, t.title, phrases.range_words(t.hours, " person-hours")) for t in whole)
        yield Table("The whole holding", ("task", "work", "time"), rows)
    yield _caution_table(plan)


def short_due(plan: Placed) -> Table:
    """A line for each plot: the hours of each kind of visit, and why its heavy visit is due."""
    visits = ("routine" if visit == "year" else visit for visit in fields.VISITS)
    rows = tuple(_due_row(due, plan) for due in dues_of(plan))
    return Table(
        f"What is due at {plan.holding.site.name} on {day_words(plan.outlook.as_of)}",
        ("plot", *visits, "release from", "why"),
        rows,
        (
            "Person-hours left, the most urgent plot first. `scheduler due SITE PLOT` shows one "
            "plot in full.",
        ),
    )


def _due_row(due: PlotDue, plan: Placed) -> tuple[str, ...]:
    hours = dict.fromkeys(fields.VISITS, 0.0)
    for step in plan.problem.steps:  # what is left to do
        if (task := plan.tasks[step.id]).plot is due.plot:
            hours[task.type.visit] += step.work_h
    reasons = (reason.partition(" (")[0] for reason in due.reasons)
    # frost has a column of its own
    others = (reason for reason in reasons if not reason.startswith("frost "))
    return (
        phrases.short_name(due.plot),
        *(f"{work_h:.0f} h" if work_h else "-" for work_h in hours.values()),
        phrases.when_words(due.released, plan.outlook.as_of, "-"),
        next(others, "the plan asks for it"),
    )


def _order_words(plan: Placed) -> Iterator[str]:
    """What the order of the plots goes by, and what stands behind it."""
    yield (
        "Person-hours left. Order: frost release, then how far canopy cover is over its cut "
        "threshold, then shared hire, then nests (common practice)."
    )
    yield (
        "Regrowth is counted from the last cut in stock.csv or the work log, whichever is later. "
        "It is even, and mulch rots, by the warmth of the record's days; by the calendar where no "
        "record of some years is."
    )
    yield from work_words.untold_words(plan)


def _cover_table(at: int, due: PlotDue, tasks: Sequence[Task], plan: Placed) -> Table:
    plot = due.plot
    window = phrases.state_words(plan.outlook.frost[plot.id], plan.outlook.as_of)
    strata = [stratum for stratum in due.strata if stratum.grown > 0]
    return table_of(
        f"{at}. {plot.name}, planted {plot.planted}; frost window {window}",
        strata,
        {
            "stratum": lambda stratum: stratum.cover.stratum,
            "canopy cover": lambda stratum: f"{stratum.cover.share:.0%}",
            "after the cuts": lambda stratum: f"{stratum.after:.0%}",
            "all grown": lambda stratum: f"{stratum.grown:.0%}",
            "kept to": lambda stratum: f"{stratum.cover.target:.0%}",
            "cut threshold": lambda stratum: f"{stratum.cover.trigger:.0%}",
            "reached": lambda stratum: phrases.when_words(
                stratum.on, plan.outlook.as_of, "not at these crowns"
            ),
            "cuts a year": lambda stratum: _cuts_words(stratum.cuts_a_year),
            "cuts it can bear": lambda stratum: f"{stratum.stands:.1f}" if stratum.stands else "-",
        },
        "Canopy cover is crown area over the ground of the plot; what it is kept to is grower "
        "practice, editable. Cuts a year follow from the cut threshold in a mean year; its least "
        "tolerant support kind can bear the number beside.",
        f"Light at the alley, of open light: {due.light:.0%} in leaf, {due.light_now:.0%} as the "
        f"leaves stand today, {due.light_after:.0%} in leaf after all cuts of the plan.",
        SMALL_CROWNS if any(stratum.on is None for stratum in strata) else "",
        *_uncalled_words(due, tasks, plan),
        *(f"Why here: {reason}." for reason in due.reasons),
    )


def _cuts_words(cuts: float | None) -> str:
    """Cuts a year as a cell.

    >>> _cuts_words(1.94), _cuts_words(0.0), _cuts_words(None)
    ('1.9', 'never there', 'cut leaves more')
    """
    if cuts is None:
        return "cut leaves more"
    return f"{cuts:.1f}" if cuts else "never there"


def _uncalled_words(due: PlotDue, tasks: Sequence[Task], plan: Placed) -> Iterator[str]:
    """Why cuts stand in the plan although no cover calls for them within it."""
    called = {s.cover.stratum for s in due.strata if s.on and s.on <= plan.season.last}
    cuts = [task for task in tasks if task.type.cuts]
    uncalled = [task for task in cuts if called.isdisjoint(row.stratum for row in task.stock)]
    if uncalled:
        visits = sorted({task.type.visit for task in uncalled}, key=fields.VISITS.index)
        yield (
            f"Cuts that no cover calls for ({', '.join(visits)} visit): plan-"
            f"{plan.holding.plan.id}.toml asks for the visit, and a visit cuts every row whose "
            "kind, stratum and cut_system it takes, whatever its cover. Cover sets the order of "
            "the plots; leave a cut out with `without` of its [[work]]."
        )


def _work_table(plot: Plot, tasks: Sequence[Task], plan: Placed) -> Table:
    ordered = sorted(tasks, key=lambda task: fields.VISITS.index(task.type.visit))
    chippings = (chipping for chipping in chippings_of(plan.holding) if chipping.plot is plot)
    return table_of(
        f"Work in {phrases.short_name(plot)}, by visit",
        ordered,
        {
            "visit": phrases.kind_of_visit,
            "task": lambda task: task.id,
            "work": lambda task: task.title,
            "person-hours": lambda task: phrases.range_words(task.hours),
            "who": phrases.team_words,
            "done": lambda task: (
                f"{plan.progress[task.id].percent} %" if task.id in plan.progress else ""
            ),
        },
        work_words.visit_words(ordered),
        *work_words.held_back_words(plot, plan),
        *map(material_words.chipper_words, chippings),
        *work_words.succession_words(plot, plan),
        *(notice.says for notice in plan.idle if notice.about == plot.id),
        *(f"{t.title}: {w}" for t in ordered for w in work_words.foot_words(t, plan)),
    )


def _mulch_table(plot: Plot, tasks: Sequence[Task], plan: Placed) -> Iterator[Table]:
    """What lies on each line now, and what each visit lays on it."""
    by_visit = {
        task.type.visit: material_words.mulches_of(plan, task.id)
        for task in tasks
        if material_words.mulches_of(plan, task.id)
    }
    laid = sorted(by_visit.items(), key=lambda item: item[1][0].on)
    rows: list[tuple[str, ...]] = []
    for line in plot.line:
        rows += _lies_now(line, plan)
        for visit, mulches in laid:
            mulch = next(m for m in mulches if m.line.id == line.id)
            if mulch.layers:
                rows.append((line.id, visit, *material_words.mulch_cells(mulch)))
    if rows:
        yield Table(
            f"Mulch on the lines of {phrases.short_name(plot)}, coarse to fine",
            ("line", "visit", "layers", "short or over", "top up about"),
            tuple(rows),
            (
                "Fresh masses within half or double; topping up by quick and slow rotting in "
                "brackets.",
            ),
        )


def _lies_now(line: Line, plan: Placed) -> Iterator[tuple[str, ...]]:
    rotting, as_of = plan.rotting, plan.outlook.as_of
    left_cm = left_of_old_cm(line, rotting, as_of)
    if left_cm is not None:
        feed = feed_day(line, rotting, as_of)
        wants = phrases.when_words(feed, as_of, "not in ten years")
        yield line.id, "lies there now", f"{left_cm:.1f} cm of cover", "", wants


def harvests_in(plot: Plot, plan: Placed) -> tuple[Harvest, ...]:
    """Harvests of some years, from the plan's last on."""
    first, holding = plan.season.last.year, plan.holding
    return harvests_of(plot, holding.stock, holding.rules, range(first, first + HARVEST_YEARS))


def _harvest_table(plot: Plot, plan: Placed) -> Iterator[Table]:
    first, figures = plan.season.last.year, material_words.two_figures
    years = range(first, first + HARVEST_YEARS)
    cells: dict[str, dict[int, str]] = {}
    for harvest in harvests_in(plot, plan):
        between = f"{figures(harvest.low_kg)} to {figures(harvest.high_kg)}"
        cells.setdefault(harvest.plant, {})[harvest.year] = between
    if cells:
        yield Table(
            f"May bear in {phrases.short_name(plot)}, kg a year",
            ("", *map(str, years)),
            tuple(
                (phrases.plant_name(plant, plan), *(by_year.get(year, "-") for year in years))
                for plant, by_year in cells.items()
            ),
            ("Common practice, wide ranges, by age; frost and pests not reckoned with.",),
        )


def _caution_table(plan: Placed) -> Table:
    """Each caution once, with the work it belongs to."""
    belongs: dict[str, list[str]] = {}
    for task in plan.tasks.values():
        place = f" ({phrases.short_name(task.plot)})" if task.plot else ""
        for caution in task.cautions:
            belongs.setdefault(caution, []).append(f"{task.title}{place}")
    rows = tuple(
        (works[0] + (f" and {len(works) - 1} more" if len(works) > 1 else ""), caution)
        for caution, works in sorted(belongs.items(), key=lambda item: -len(item[1]))
    )
    return Table("Cautions", ("work", "what to mind"), rows, (phrases.GENERAL_CAUTION,))
