"""Mass and mulch in words: what a cut brings down, what lies on the lines, the chipper."""

from datetime import date

from scheduler.files import fields
from scheduler.season import Placed, once_a_plan
from scheduler.stand import (
    HAUL,
    Chipping,
    LineMulch,
    Task,
    cut_mass_range,
    line_balance,
    mulch_of,
    usual_day,
)
from scheduler.terms import day_words
from scheduler.words.text import rows_words

LAYER_WORDS = {"juicy": "juicy stems"}
LEAST_CM = 0.05  # less would be printed as nothing


@once_a_plan
def mulches_of(plan: Placed, task_id: str) -> tuple[LineMulch, ...]:
    """What a laying task leaves on each line, with what lay there; empty for other work."""
    task = plan.tasks[task_id]
    plot, visit, on = task.plot, task.type.visit, _laid_on(task, plan)
    if plot is None or not _lays(task):
        return ()
    earlier: dict[fields.Visit, date] = {}
    for other in plan.tasks.values():
        day = _laid_on(other, plan)
        if other.plot is plot and _lays(other) and other.type.visit != visit and day < on:
            earlier[other.type.visit] = max(day, earlier.get(other.type.visit, day))
    stock, rotting = plan.holding.stock, plan.rotting
    cuts = {of: _cuts_of(plot.id, of, plan) for of in (*earlier, visit)}
    before = [
        mulch
        for of, day in earlier.items()
        for mulch in mulch_of(plot, cuts[of], stock, rotting, day, ())
    ]
    return mulch_of(plot, cuts[visit], stock, rotting, on, before)


def _cuts_of(plot_id: str, visit: fields.Visit, plan: Placed) -> list[Task]:
    """The work of a visit that cuts."""
    tasks = plan.tasks.values()
    return [t for t in tasks if t.type.cuts and (t.plot_id, t.type.visit) == (plot_id, visit)]


def _lays(task: Task) -> bool:
    return "bare-ring" in task.type.cautions


def _laid_on(task: Task, plan: Placed) -> date:
    """The day on which the work ends; today where it stays unscheduled."""
    stint = plan.stints.get(task.id)
    return plan.season.date_of(stint.last) if stint else plan.outlook.as_of


def mulch_words(task: Task, plan: Placed) -> str:
    """Layers by line, coarse to fine, what is short or over, and when it wants feeding."""
    mulches = mulches_of(plan, task.id)
    if not any(mulch.layers for mulch in mulches):
        return ""
    ring_cm = 100 * plan.holding.rules.figure("bare-ring")
    return (
        f"Mulch by line, coarse to fine, with a bare ring of {ring_cm:g} cm round every stem "
        f"({between_kg(task, plan)} in all):{rows_words(map(_line_words, mulches))}"
    )


def _line_words(mulch: LineMulch) -> str:
    """One line's layers in words; a line that wants feeding at once is short, and says so."""
    layers, balance, feed = mulch_cells(mulch)
    old = f"on {mulch.old_cm:.1f} cm that lie there; " if mulch.old_cm >= LEAST_CM else ""
    lasts = layers and (mulch.feed_on is None or mulch.feed_on > mulch.on)
    again = f"top up again {feed}" if lasts else ""
    parts = "; ".join(filter(None, (layers or "nothing from this visit", balance, again)))
    return f"{mulch.line.id} ({mulch.area_m2:.0f} m2): {old}{parts}."


def kg_words(kg: float) -> str:
    """A mass to two figures, as good as the equations are."""
    return f"{two_figures(kg)} kg"


def two_figures(value: float) -> str:
    """A number to two figures.

    >>> two_figures(1682.3), two_figures(7.46)
    ('1700', '7.5')
    """
    return f"{float(f'{value:.2g}'):g}"


def mass_range_of(task: Task, plan: Placed) -> tuple[float, float]:
    """Between what the fresh mass of a task lies, kg: what it cuts, or what its visit cut."""
    holding, visit = plan.holding, task.type.visit
    cuts = [task] if task.type.cuts else _cuts_of(task.plot_id, visit, plan)
    on = usual_day(visit, holding)
    ranges = [cut_mass_range(cut.type, cut.stock, holding.rules, on) for cut in cuts]
    return sum(low for low, _ in ranges), sum(high for _, high in ranges)


def haul_words(task: Task, plan: Placed) -> str:
    """From which lines to which, and how much: ``from A (120 kg) to B (80 kg)``; else empty."""
    if task.type.rate != HAUL or task.plot is None:
        return ""
    over = line_balance(task.type, task.plot, plan.holding)
    least = task.material.leaves_kg / 20
    giving = ", ".join(f"{line} ({kg_words(kg)})" for line, kg in over.items() if kg > least)
    taking = ", ".join(f"{line} ({kg_words(-kg)})" for line, kg in over.items() if kg < -least)
    return f"from {giving} to {taking}"


def between_kg(task: Task, plan: Placed) -> str:
    """The range of the whole fresh mass."""
    low, high = mass_range_of(task, plan)
    return f"{two_figures(low)} to {two_figures(high)} kg fresh"


def mulch_cells(mulch: LineMulch) -> tuple[str, str, str]:
    """Layers, what is short or over, and when the line wants feeding again."""
    layers = ", ".join(
        f"{LAYER_WORDS.get(x.layer.id, x.layer.id)} {kg_words(x.kg)}"
        + (f" ({x.depth_cm:.1f} cm)" if x.depth_cm >= LEAST_CM else "")
        for x in mulch.layers
    )
    balance = ""
    if mulch.short_kg >= 1:
        balance = f"short of {kg_words(mulch.short_kg)} of chips"
    elif mulch.surplus_kg >= 1:
        balance = f"{kg_words(mulch.surplus_kg)} over, give it to a line that is short"
    return layers, balance, _feed_words(mulch)


def _feed_words(mulch: LineMulch) -> str:
    if mulch.feed_on is None:
        return "not in ten years"
    if mulch.feed_on == mulch.on:
        return "at once"
    early = day_words(mulch.feed_early) if mulch.feed_early else "-"
    late = day_words(mulch.feed_late) if mulch.feed_late else "later"
    return f"{day_words(mulch.feed_on)} ({early} to {late})"


def chipper_words(chipping: Chipping) -> str:
    """Whether a chipper pays in a plot, by the hours of the plan with it and without."""
    saved = f"{chipping.saved_h:.1f} person-hours"
    if chipping.hour_price is not None:
        saved += f" ({chipping.saved_h * chipping.hour_price:.0f})"
    days = "a day" if chipping.days == 1 else f"{chipping.days} days"
    verdict = "it does not pay and is left out"
    if chipping.pays:
        verdict = "it pays, and comes"
    elif chipping.comes:
        verdict = "it comes because you want the chips"
    elif chipping.hour_price is None:
        verdict = "left out: say hour_price in crew.toml to have it weighed, or wanted = true"
    return (
        f"Chipper: {kg_words(chipping.twigs_kg)} of twigs; it saves {saved} for {days} of hire "
        f"({chipping.cost:g}): {verdict}."
    )
