"""What the stand says of a piece of work, in words: conditions, what to weigh, waits."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from scheduler.holding import Plot, Stock
from scheduler.season import SeasonPlan
from scheduler.stand import (
    ChipperWorth,
    Harvest,
    LineMulch,
    Removal,
    Rotting,
    Task,
    conditions_of,
    harvests_of,
    mulch_of,
    out_of_range,
    removals_of,
    too_soon_months,
)
from scheduler.terms import DaySpan, day_words
from scheduler.windows import Concern, Facts, concerns_of


def facts_of(plan: SeasonPlan) -> Facts:
    """What the rules of a planned season were asked about."""
    outlook = plan.outlook
    return Facts(outlook.holding, outlook.season, outlook.sky, outlook.frost, outlook.as_of)


def work_paragraphs(task: Task, plan: SeasonPlan) -> Iterator[str]:
    """What the stand adds to the description of a task, a paragraph each."""
    yield hours_basis_words(task, plan)
    yield batch_words(task)
    yield range_words(task, plan)
    yield mulch_words(task, plan)
    yield condition_words(task, plan)
    weigh = weigh_words(task, plan)
    yield f"To weigh: {' '.join(weigh)}" if weigh else ""
    soon = list(too_soon_words(task, plan))
    yield f"Too soon? {' '.join(soon)}" if soon else ""


def hours_basis_words(task: Task, plan: SeasonPlan) -> str:
    """Where the hours come from, and how long that is on the site."""
    rules = plan.holding.rules
    source = "by the book" if task.learned is None else task.learned.words
    on_site_h = task.hours.usual / rules.figure("productive-share")
    return f"Hours are {source}; with rest, weather and talk about {on_site_h:.2g} on the site."


def batch_words(task: Task) -> str:
    """Line by line and tool by tool, so that each tool is set up once a line."""
    if len(task.batches) < 2:
        return ""
    told = ", ".join(
        f"{f'line {batch.line}' if batch.line else 'outside the lines'}: {batch.count} with "
        f"{batch.tool.replace('-', ' ')} ({batch.hours:.2g} h)"
        for batch in task.batches
    )
    return f"Line by line, tool by tool: {told}."


def range_words(task: Task, plan: SeasonPlan) -> str:
    """Kinds whose mass is a guess, because their stems lie outside their equation's range."""
    rules = plan.holding.rules
    told = ", ".join(
        f"{rules.plants[name].name.lower()} (fitted on {equation.d_min_cm:g} to "
        f"{equation.d_max_cm:g} cm)"
        for name, equation in out_of_range(task.stock, rules)
    )
    return f"Mass is a guess for stems outside their equation: {told}." if told else ""


def visit_words(tasks: Sequence[Task]) -> str:
    """Person-hours of each visit, with their range."""
    visits = dict.fromkeys(task.type.visit for task in tasks)
    told = [
        f"{visit} {sum(h.usual for h in hours):.0f} ({sum(h.low for h in hours):.0f} to "
        f"{sum(h.high for h in hours):.0f})"
        for visit in visits
        for hours in [[task.hours for task in tasks if task.type.visit == visit]]
    ]
    return f"Person-hours by visit: {', '.join(told)}." if told else ""


def mulches_of(task: Task, plan: SeasonPlan) -> tuple[LineMulch, ...]:
    """What a laying task leaves on each line; empty for any other work."""
    if task.plot is None or "bare-ring" not in task.type.cautions:
        return ()
    stint = plan.stints.get(task.id)
    on = plan.season.date_of(stint.last) if stint else plan.outlook.as_of
    tasks, rotting = tuple(plan.tasks.values()), rotting_of(plan)
    return mulch_of(task.plot, task.type.visit, tasks, plan.holding, on, rotting)


def rotting_of(plan: SeasonPlan) -> Rotting:
    """How fast mulch rots at the site."""
    return Rotting(plan.holding.record, plan.holding.rules)


def mulch_words(task: Task, plan: SeasonPlan) -> str:
    """Layers by line, coarse to fine, what is short or over, and when it wants feeding."""
    found = mulches_of(task, plan)
    if not any(mulch.layers for mulch in found):
        return ""
    lines = [line_words(mulch) for mulch in found]
    ring_cm = 100 * plan.holding.rules.figure("bare-ring")
    return (
        f"Mulch by line, coarse to fine, with a bare ring of {ring_cm:g} cm round every stem "
        f"(within half or double): {' '.join(lines)}"
    )


def kg_words(kg: float) -> str:
    """A mass to two figures, as good as the equations are.

    >>> kg_words(1682.3), kg_words(7.46)
    ('1700 kg', '7.5 kg')
    """
    return f"{float(f'{kg:.2g}'):g} kg"


def line_words(mulch: LineMulch) -> str:
    """One line's layers in words."""
    layers = ", ".join(f"{x.layer.id} {kg_words(x.kg)} {x.depth_cm:.1f} cm" for x in mulch.layers)
    balance = ""
    if mulch.short_kg >= 1:
        balance = f"; short of {kg_words(mulch.short_kg)} of chips"
    elif mulch.surplus_kg >= 1:
        balance = f"; {kg_words(mulch.surplus_kg)} over, give it to a line that is short"
    feed = f"; feed again about {day_words(mulch.feed_on)}" if mulch.feed_on else ""
    laid = layers or "nothing from this visit"
    return f"{mulch.line.id} ({mulch.area_m2:.0f} m2): {laid}{balance}{feed if layers else ''}."


def chipper_words(worth: ChipperWorth, where: str) -> str:
    """Whether a chipper is worth its hire, in words; empty where none is called for."""
    if not worth.days:
        return ""
    verdict = "worth its hire" if worth.worth else "hardly worth its hire"
    days = "a day" if worth.days == 1 else f"{worth.days} days"
    return (
        f"Chipper, {where}: {kg_words(worth.twigs_kg)} of twigs, saves {worth.saved_h:.1f} "
        f"person-hours in {days}: {verdict}."
    )


def foot_words(task: Task, plan: SeasonPlan) -> list[str]:
    """What a grower has to decide about a task before the season."""
    concerns = concerns_of(plan.windows[task.id], facts_of(plan))
    # what every cutting task is asked in its season stands in its own description
    told = [concern_words(c) for c in concerns if not c.standing]
    if task.learned is not None:
        told.append(f"hours are {task.learned.words}.")
    return [*told, *too_soon_words(task, plan)]


def succession_words(plot: Plot, plan: SeasonPlan) -> Iterator[str]:
    """Support trees that can make way, over seasons."""
    plants = plan.holding.rules.plants
    for removal in removals_in(plot, plan):
        seasons = ", ".join(f"{count} in {year}" for year, count in removal.by_year)
        asked = "marked for removal" if removal.asked else "proposed for removal"
        yield (
            f"Succession: {plants[removal.support.plant].name.lower()} {asked}, {seasons}: the "
            f"{plants[removal.successor.plant].name.lower()} beside it is ready at "
            f"{removal.successor.height_m:g} m."
        )


def removals_in(plot: Plot, plan: SeasonPlan) -> tuple[Removal, ...]:
    """Removals from the plan's last year on."""
    holding = plan.holding
    return removals_of(plot, holding.stock, holding.rules, plan.season.last.year)


def harvests_in(plot: Plot, plan: SeasonPlan, n_years: int = 1) -> tuple[Harvest, ...]:
    """Harvests from the plan's last year on."""
    first = plan.season.last.year
    years = range(first, first + n_years)
    return harvests_of(plot, plan.holding.stock, plan.holding.rules, years)


def harvest_words(plot: Plot, plan: SeasonPlan) -> str:
    """What may be picked in the plan's last year."""
    plants = plan.holding.rules.plants
    told = ", ".join(
        f"{plants[h.plant].name.lower()} {h.low_kg:.0f} to {h.high_kg:.0f} kg"
        for h in harvests_in(plot, plan)
    )
    year = plan.season.last.year
    return f"May bear in {year} (common practice, wide ranges): {told}." if told else ""


def condition_words(task: Task, plan: SeasonPlan) -> str:
    """What the rules of cutting ask of the day and the cut."""
    if not task.type.cuts:
        return ""
    asked = conditions_of(task.stock, plan.holding.rules)
    return f"Rules of the cut: {' '.join(asked)}" if asked else ""


def weigh_words(task: Task, plan: SeasonPlan) -> list[str]:
    """Rules that pull against the open days; the choice stays with the grower."""
    return [concern_words(c) for c in concerns_of(plan.windows[task.id], facts_of(plan))]


def concern_words(concern: Concern) -> str:
    """One rule that pulls against others, with the days and the way to decide."""
    if concern.standing:
        return f"{concern.words[0].upper()}{concern.words[1:]}."
    decide = f"; decide with [[switch]] {concern.switch} in rules.toml" if concern.switch else ""
    if concern.conflict:
        return (
            f"CONFLICT, you choose: every open day also lies where {concern.words} (no open day "
            f"satisfies both{decide})."
        )
    free = f"; clear of it: {_days(concern.free)}" if concern.free else ""
    return f"On {_days(concern.spans)}: {concern.words}{free}{decide}."


def too_soon_words(task: Task, plan: SeasonPlan) -> Iterator[str]:
    """Plants that would be cut again sooner than their kind stands."""
    stint = plan.stints.get(task.id)
    if not task.type.cuts or stint is None:
        return
    day, rules = plan.season.date_of(stint.first), plan.holding.rules
    for row in task.stock:
        months = too_soon_months(_as_cut_before(row, day, plan), day, rules)
        regrowth = rules.regrowth_of(row.plant)
        if months is not None and regrowth is not None:
            name = rules.plants[row.plant].name
            yield (
                f"{name}: last cut {months:.1f} months before, the kind wants at least "
                f"{regrowth.least_months:g}; look at the regrowth first."
            )


def _as_cut_before(row: Stock, day: date, plan: SeasonPlan) -> Stock:
    """The row with its last cut before a day, a planned one among them."""
    planned = [
        plan.season.date_of(stint.last)
        for task_id, stint in plan.stints.items()
        if plan.tasks[task_id].type.cuts and row in plan.tasks[task_id].stock
    ]
    before = [cut for cut in (*planned, row.last_cut) if cut is not None and cut < day]
    return replace(row, last_cut=max(before, default=None))


def _days(spans: tuple[DaySpan, ...]) -> str:
    return ", ".join(f"{day_words(span.first)} to {day_words(span.last)}" for span in spans)
