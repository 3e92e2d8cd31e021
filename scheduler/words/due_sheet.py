"""What each plot needs, as tables of words: the order, the cover, the work, mulch, harvests."""

import math
from collections.abc import Iterator, Sequence
from datetime import date

from scheduler.files import fields
from scheduler.holding import Plot
from scheduler.season import Placed
from scheduler.stand import (
    PlotDue,
    StratumDue,
    Task,
    chippings_of,
    due_of,
    feed_day,
    left_of_old_cm,
    warmth_of,
)
from scheduler.terms import day_words
from scheduler.windows import release_day
from scheduler.words import material_words, phrases, work_words
from scheduler.words.sheet import Table

HARVEST_YEARS = 5  # how many years of harvests are told


def dues_of(plan: Placed) -> tuple[PlotDue, ...]:
    """The plots in the order of their heavy work."""
    as_of = plan.outlook.as_of
    released = {plot: release_day(risk, as_of) for plot, risk in plan.outlook.frost.items()}
    return due_of(plan.holding, tuple(plan.tasks.values()), as_of, released)


def due_tables(plan: Placed, plot_id: str | None = None) -> Iterator[Table]:
    """The plots in order; then for each why it stands there, its work, mulch and harvests.

    Args:
        plan: the season.
        plot_id: the plot that is asked about; all where none is.
    """
    dues = dues_of(plan)
    if plot_id is None:
        yield _order_table(dues, plan)
    for at, due in enumerate(dues, start=1):
        if plot_id not in (None, due.plot.id):
            continue
        tasks = [task for task in plan.tasks.values() if task.plot_id == due.plot.id]
        yield _cover_table(at, due, plan)
        yield _work_table(due, tasks, plan)
        yield from filter(None, (_mulch_table(due, tasks, plan), _harvest_table(due, plan)))
    whole = [task for task in plan.tasks.values() if task.plot is None]
    if whole and plot_id is None:
        rows = tuple((t.id, t.title, phrases.hours_words(t.hours)) for t in whole)
        yield Table("The whole holding", ("task", "work", "time"), rows)
    yield _caution_table(plan)


def _order_table(dues: Sequence[PlotDue], plan: Placed) -> Table:
    as_of = plan.outlook.as_of
    return Table(
        f"Which plot first, on {day_words(as_of)}",
        ("", "plot", "frost releases it", "over the trigger", "light at the alley", "shares"),
        tuple(
            (
                str(at),
                phrases.short_name(due.plot),
                day_words(due.released) if due.released else "-",
                _over_words(due, as_of),
                _light_words(due),
                ", ".join(due.hires) or "-",
            )
            for at, due in enumerate(dues, start=1)
        ),
        (
            "Order: frost release, then how far cover stands over its trigger, then shared hire, "
            "then nests (common practice). Light is the share of open light, with all crowns in "
            "leaf; in brackets that of today.",
            "Regrowth is counted from the last cut in stock.csv or the work log, whichever is "
            f"later, evenly in {warmth_of(plan.holding).basis}; mulch rots by "
            f"{plan.rotting.basis}.",
            *work_words.untold_words(plan),
        ),
    )


def _over_words(due: PlotDue, as_of: date) -> str:
    """Points of cover by which strata stand over their triggers."""
    over = [
        f"{s.cover.stratum} +{100 * (s.cover.share - s.cover.trigger):.0f}"
        for s in due.strata
        if s.on is not None and s.on <= as_of
    ]
    return ", ".join(over) or "-"


def _light_words(due: PlotDue) -> str:
    now = f" ({due.light_now:.0%})" if f"{due.light_now:.0%}" != f"{due.light:.0%}" else ""
    return f"{due.light:.0%}{now}"


def _cover_table(at: int, due: PlotDue, plan: Placed) -> Table:
    plot = due.plot
    release = phrases.release_words(plan.outlook.frost[plot.id], plan.outlook.as_of)
    low, high = (plan.holding.rules.figure(f"trigger-{end}") for end in ("low", "high"))
    return Table(
        f"{at}. {plot.name}, planted {plot.planted}; frost window closes: {release}",
        ("stratum", "cover", "after the cuts", "all grown", "kept to", "cut at", "reached",
         "cuts a year", "stands",
         f"if cut at {low:.0%}", f"if let run to {high:.0%}"),
        tuple(_cover_row(stratum, plan) for stratum in due.strata if stratum.grown > 0),
        (
            "Cover is crown area over the ground of the plot; what it is kept to is grower "
            "practice, editable. Cuts a year are what a trigger means in a mean year; 'stands' is "
            "how many of them its least tolerant support kind stands.",
            f"Light at the alley in leaf: {due.light:.0%} now, {due.light_after:.0%} after all "
            "cuts of the plan.",
            *_unreached_words(due, plan),
            *(f"Why here: {reason}." for reason in due.reasons),
        ),
    )  # fmt: skip


def _unreached_words(due: PlotDue, plan: Placed) -> Iterator[str]:
    """Why cuts stand in the plan although no cover calls for them."""
    if any(stratum.on is None and stratum.grown > 0 for stratum in due.strata):
        yield (
            "'Not at these crowns': even grown out, the crowns of stock.csv stay below what they "
            "are cut at. Trees grow on: measure crown_m again each year."
        )
    visits = sorted({task.type.visit for task in _calm(due, plan)}, key=fields.VISITS.index)
    if visits:
        yield (
            f"Cuts that no cover calls for ({', '.join(visits)} visit): plan-"
            f"{plan.holding.plan.id}.toml asks for the visit, and a visit cuts every row whose "
            "kind, stratum and cut_system it takes, whatever its cover. Cover sets the order of "
            "the plots; leave a cut out with `without` of its [[work]]."
        )


def _calm(due: PlotDue, plan: Placed) -> Iterator[Task]:
    """The cuts of a plot in strata whose cover calls for none within the plan."""
    called = {s.cover.stratum for s in due.strata if s.on and s.on <= plan.season.last}
    for task in plan.tasks.values():
        mine = task.plot_id == due.plot.id and task.type.cuts
        if mine and called.isdisjoint(row.stratum for row in task.stock):
            yield task


def _cover_row(stratum: StratumDue, plan: Placed) -> tuple[str, ...]:
    cover = stratum.cover
    return (
        cover.stratum,
        f"{cover.share:.0%}",
        f"{stratum.after:.0%}",
        f"{stratum.grown:.0%}",
        f"{cover.target:.0%}",
        "-" if math.isinf(cover.trigger) else f"{cover.trigger:.0%}",
        _when_words(stratum.on, plan.outlook.as_of),
        _cuts_words(stratum.cuts_a_year),
        f"{stratum.stands:.1f}" if stratum.stands else "-",
        *(_cuts_words(cuts) for cuts in (stratum.cuts_low, stratum.cuts_high)),
    )


def _when_words(on: date | None, as_of: date) -> str:
    if on is None:
        return "not at these crowns"
    return "now" if on <= as_of else day_words(on)


def _cuts_words(cuts: float | None) -> str:
    """Cuts a year as a cell.

    >>> _cuts_words(1.94), _cuts_words(0.0), _cuts_words(None)
    ('1.9', 'never there', 'cut leaves more')
    """
    if cuts is None:
        return "cut leaves more"
    return f"{cuts:.1f}" if cuts else "never there"


def _work_table(due: PlotDue, tasks: Sequence[Task], plan: Placed) -> Table:
    plot = due.plot
    ordered = sorted(tasks, key=lambda task: fields.VISITS.index(task.type.visit))
    return Table(
        f"Work in {phrases.short_name(plot)}, by visit",
        ("visit", "task", "work", "person-hours", "who", "done"),
        tuple(_task_row(task, plan) for task in ordered),
        (
            *filter(None, (work_words.visit_words(ordered),)),
            *work_words.held_back_words(plot, plan),
            *_chipper_words(plot, plan),
            *work_words.succession_words(plot, plan),
            *(notice.says for notice in plan.idle if notice.about == plot.id),
            *(f"{t.title}: {w}" for t in ordered for w in work_words.foot_words(t, plan)),
        ),
    )


def _task_row(task: Task, plan: Placed) -> tuple[str, ...]:
    entry = plan.progress.get(task.id)
    return (
        task.type.visit,
        task.id,
        task.title,
        f"{task.hours.usual:.1f} ({task.hours.low:.1f} to {task.hours.high:.1f})",
        phrases.team_words(task),
        f"{entry.percent} %" if entry else "",
    )


def _chipper_words(plot: Plot, plan: Placed) -> Iterator[str]:
    chippings = (one for one in chippings_of(plan.holding) if one.plot is plot)
    return (material_words.chipper_words(chipping) for chipping in chippings)


def _mulch_table(due: PlotDue, tasks: Sequence[Task], plan: Placed) -> Table | None:
    """What lies on each line now, and what each visit lays on it."""
    rotting, as_of = plan.rotting, plan.outlook.as_of
    by_visit = {
        task.type.visit: material_words.mulches_of(task, plan)
        for task in tasks
        if material_words.mulches_of(task, plan)
    }
    rows = []
    for line in due.plot.line:
        left_cm = left_of_old_cm(line, rotting, as_of)
        if left_cm is not None:
            feed = feed_day(line, rotting, as_of)
            wants = _when_words(feed, as_of) if feed else "not in ten years"
            rows.append((line.id, "lies there now", f"{left_cm:.1f} cm of cover", "", wants))
        for visit, mulches in sorted(by_visit.items(), key=lambda item: item[1][0].on):
            mulch = next(m for m in mulches if m.line.id == line.id)
            if mulch.layers:
                rows.append((line.id, visit, *material_words.mulch_cells(mulch)))
    if not rows:
        return None
    return Table(
        f"Mulch on the lines of {phrases.short_name(due.plot)}, coarse to fine",
        ("line", "visit", "layers", "short or over", "wants feeding about"),
        tuple(rows),
        ("Fresh masses within half or double; feeding by quick and slow rotting in brackets.",),
    )


def _harvest_table(due: PlotDue, plan: Placed) -> Table | None:
    found = work_words.harvests_in(due.plot, plan, HARVEST_YEARS)
    if not found:
        return None
    years = range(plan.season.last.year, plan.season.last.year + HARVEST_YEARS)
    plants = plan.holding.rules.plants
    cells = {
        (h.plant, h.year): f"{material_words.two_figures(h.low_kg)} to "
        f"{material_words.two_figures(h.high_kg)}"
        for h in found
    }
    return Table(
        f"May bear in {phrases.short_name(due.plot)}, kg a year",
        ("", *(str(year) for year in years)),
        tuple(
            (plants[name].name.lower(), *(cells.get((name, year), "-") for year in years))
            for name in dict.fromkeys(h.plant for h in found)
        ),
        ("Common practice, wide ranges, by age; frost and pests not reckoned with.",),
    )


def _caution_table(plan: Placed) -> Table:
    """Each caution once, with the work it belongs to."""
    belongs: dict[str, list[str]] = {}
    for task in plan.tasks.values():
        for caution in task.cautions:
            titles = belongs.setdefault(caution, [])
            where = f"{task.title} ({phrases.short_name(task.plot)})" if task.plot else ""
            titles.append(where or task.title)
    rows = tuple(
        (_some(titles), caution)
        for caution, titles in sorted(belongs.items(), key=lambda item: -len(item[1]))
    )
    return Table("Cautions", ("work", "what to mind"), rows, (phrases.GENERAL_CAUTION,))


def _some(titles: Sequence[str]) -> str:
    more = f" and {len(titles) - 1} more" if len(titles) > 1 else ""
    return f"{titles[0]}{more}"
