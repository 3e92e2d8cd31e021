"""Work in words: a piece of it in full, and what the stand says of all of it."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from scheduler.files import fields
from scheduler.holding import AmountRate, Plot, dayrules
from scheduler.roster import Roster
from scheduler.season import Placed
from scheduler.stand import (
    LAYERS,
    HeldBack,
    Removal,
    Task,
    conditions_of,
    held_back,
    out_of_range,
    removals_of,
    too_soon_months,
)
from scheduler.terms import DaySpan, day_words
from scheduler.windows import Concern, heat_stop_c
from scheduler.words import material_words, phrases
from scheduler.words.text import rows_words


def detail_lines(task: Task, plan: Placed) -> Iterator[str]:
    """Everything known of a task, a paragraph each; empty ones among them."""
    stint, learned = plan.stints.get(task.id), task.learned
    on = f": {phrases.days_words(plan.season, stint.days)}" if stint else ""
    hours = phrases.range_words(task.hours, " person-hours")
    on_site_h = task.hours.usual / plan.holding.rules.figure("productive-share")
    yield f"\n{task.title} ({task.id}){on}"
    yield (
        f"Hours: {hours}, {learned.words if learned else 'by the book'};"
        f" with rest, weather and talk about {on_site_h:.2g} on the site."
    )
    yield f"How: {task.type.how}"
    rows = [
        f"{row.count} {phrases.plant_name(row.plant, plan)}"
        + (f" (line {row.line})" if row.line else "")
        for row in task.stock
    ]
    yield f"Plants: {', '.join(rows)}." if rows else ""
    yield from _stem_words(task, plan)
    if task.type.cuts:
        yield from _cut_words(task, plan)
    yield _paragraph("To weigh:", map(concern_words, plan.concerns(task.id)))
    yield _paragraph("Too soon?", too_soon_words(task, plan))
    yield material_words.mulch_words(task, plan) or _material_words(task, plan)
    yield f"Cautions:{rows_words(task.cautions)}" if task.cautions else ""
    yield f"Write down: {task.type.record}." if task.type.record else ""


def _paragraph(head: str, sentences: Iterable[str]) -> str:
    """Sentences behind a head; nothing where there are none."""
    text = " ".join(sentences)
    return f"{head} {text}" if text else ""


def _stem_words(task: Task, plan: Placed) -> Iterator[str]:
    """The stems of a task by line, and those whose mass is a guess."""
    if len(task.batches) > 1:  # line by line, so that each tool is set up once in it
        rows = rows_words(
            f"{f'line {batch.line}' if batch.line else 'outside the lines'}: {batch.count} with "
            f"{batch.tool.replace('-', ' ')} ({batch.hours:.2g} h)"
            for batch in task.batches
        )
        yield f"Line by line, tool by tool:{rows}"
    kinds = ", ".join(
        f"{phrases.plant_name(plant, plan)} (fitted on {equation.d_min_cm:g} to "
        f"{equation.d_max_cm:g} cm)"
        for plant, equation in out_of_range(task.stock, plan.holding.rules)
    )
    yield f"Mass is a guess for stems outside their equation: {kinds}." if kinds else ""


def _cut_words(task: Task, plan: Placed) -> Iterator[str]:
    """What the rules of cutting ask of the day and the cut; what it leaves, and until when."""
    asked, record = conditions_of(task.stock, plan.holding.rules), plan.holding.record
    if asked:
        no_maxima = record is None or record.tmax_c is None
        if no_maxima and heat_stop_c(task, plan.outlook.facts) is not None:
            asked += ("No maxima are on record here: for heat go by the forecast of the day.",)
        yield f"Rules of the cut: {' '.join(asked)}"
    if task.plot is not None:
        held = held_back(task.plot, task.type.visit, plan.holding)
        groups = "; ".join(group_words(held, plan, with_why=False))
        yield f"Leave alone in this visit: {groups}." if groups else ""


def _material_words(task: Task, plan: Placed) -> str:
    """What comes down, or what is laid and in which layers: coarse to fine either way."""
    rate, material = plan.holding.rules.rates[task.type.rate], task.material
    lays = isinstance(rate, AmountRate) and rate.of.endswith("-kg")
    if material.fresh_kg < 1 or not (task.type.cuts or lays):
        return ""
    kg_words = material_words.kg_words
    named = ", ".join(
        f"{material_words.LAYER_WORDS.get(layer, layer)} {kg_words(kg)}"
        for layer in LAYERS
        if (kg := material.of(layer)) >= 1
    )
    head = "Material, fresh, coarse to fine"
    if not task.type.cuts:
        head = "Layers from the ground up, fresh"
    return (
        f"{head}: {named} ({kg_words(material.fresh_kg)} in all, "
        f"{material_words.between_kg(task, plan)} as published equations differ)."
    )


def visit_words(tasks: Sequence[Task]) -> str:
    """Person-hours of each visit, with their range."""
    by_visit = [[task for task in tasks if task.type.visit == visit] for visit in fields.VISITS]
    sums = []
    for works in filter(None, by_visit):
        usual, low, high = (
            sum(getattr(task.hours, name) for task in works) for name in ("usual", "low", "high")
        )
        kind = phrases.kind_of_visit(works[0])
        sums.append(f"{kind} {usual:.0f} ({low:.0f} to {high:.0f})")
    return f"Person-hours by visit: {', '.join(sums)}." if sums else ""


def foot_words(task: Task, plan: Placed) -> Iterator[str]:
    """What a grower has to decide about a task before the season."""
    for concern in plan.concerns(task.id):
        if not concern.standing:  # what every cut is asked in its season, its description tells
            yield concern_words(concern)
    if task.learned is not None:
        yield f"hours are {task.learned.words}."
    yield from too_soon_words(task, plan)


def succession_words(plot: Plot, plan: Placed) -> Iterator[str]:
    """Support trees that can make way, over seasons."""
    for removal in removals_in(plot, plan):
        support, successor = removal.support, removal.successor
        seasons = ", ".join(f"{count} in {year}" for year, count in removal.by_year)
        yield (
            f"Succession: {phrases.plant_name(support.plant, plan)} "
            f"{'marked' if removal.asked else 'proposed'} for removal, {seasons}: the "
            f"{phrases.plant_name(successor.plant, plan)} beside it is ready at "
            f"{successor.height_m:g} m."
        )


def removals_in(plot: Plot, plan: Placed) -> tuple[Removal, ...]:
    """Removals from the plan's last year on."""
    holding = plan.holding
    return removals_of(plot, holding.stock, holding.rules, plan.season.last.year)


def held_back_words(plot: Plot, plan: Placed) -> Iterator[str]:
    """What the heavy visit leaves alone, why, and until when.

    Where a plan has no release visit for the plot, the other visits with cuts are told.
    """
    heavy: fields.Visit = "release"
    cuts = [task for task in phrases.tasks_in(plot, plan) if task.type.cuts]
    visits = dict.fromkeys(task.type.visit for task in cuts)
    for visit in (heavy,) if heavy in visits else visits:
        for group in group_words(held_back(plot, visit, plan.holding), plan, with_why=True):
            yield f"Held back from the {visit} visit, {group}."


def group_words(held: Sequence[HeldBack], plan: Placed, *, with_why: bool) -> Iterator[str]:
    """Held-back plants by visit and reason."""
    groups: dict[tuple[str, str], list[str]] = {}
    for back in held:
        until = f"until the {back.until} visit" if back.until else "not cut in this plan"
        why = f" ({back.why})" if with_why and back.why else ""
        name = phrases.plant_name(back.stock.plant, plan)
        groups.setdefault((until, why), []).append(f"{back.stock.count} {name}")
    for (until, why), names in groups.items():
        yield f"{until}: {', '.join(names)}{why}"


def proof_words(roster: Roster) -> str:
    """How good the days are known to be."""
    if roster.proof == "proven":
        return "Proven: no better plan exists under these rules."
    why = {"stopped": "the search was stopped", "gap": "the search ended at its limit"}
    near = "how near to the best is not known"
    if roster.gap < 0.995:
        near = f"within {math.ceil(roster.gap * 1000) / 10:g} % of the best there can be"
    return f"Not proven best: {why[roster.proof]}; {near}."


def untold_words(plan: Placed) -> Iterator[str]:
    """What site.toml could still tell, so that rules of cutting can go by it."""
    record, site = plan.holding.record, plan.holding.site
    missing = _missing(plan).items()
    signs = [f"{sign} of {', '.join(of)}".replace("-", " ") for sign, of in missing if of]
    if not site.dry and (record is None or record.rain_mm is None):
        signs.append("the dry months of the year")
    if signs:
        yield f"Not given in site.toml, so no rule goes by it: {'; '.join(signs)}."


def _missing(plan: Placed) -> dict[str, list[str]]:
    """Signs that a rule goes by and nobody has told, with the groups of plants here."""
    rules = plan.holding.rules
    groups = {rules.plants[row.plant].group for row in plan.holding.stock}
    known = {(sign.sign, group) for sign in plan.holding.site.phenology for group in sign.groups}
    missing: dict[str, list[str]] = {}
    for rule in rules.rules.values():
        if isinstance(rule, dayrules.SignRule):
            untold = [g for g in rule.groups if g in groups and (rule.sign, g) not in known]
            missing.setdefault(rule.sign, []).extend(untold)
    return missing


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


def too_soon_words(task: Task, plan: Placed) -> Iterator[str]:
    """Plants that would be cut again sooner than their kind stands, by log and plan."""
    stint = plan.stints.get(task.id)
    if not task.type.cuts or stint is None:
        return
    day, rules = plan.season.date_of(stint.first), plan.holding.rules
    for row in task.stock:
        planned = [
            plan.season.date_of(other.last)
            for task_id, other in plan.stints.items()
            if plan.tasks[task_id].type.cuts and row in plan.tasks[task_id].stock
        ]
        cuts = [plan.logged_cuts.of(row).last_cut, *planned]
        last_cut = max((cut for cut in cuts if cut is not None and cut < day), default=None)
        months = too_soon_months(replace(row, last_cut=last_cut), day, rules)
        regrowth = rules.regrowth_of(row.plant)
        if months is not None and regrowth is not None:
            yield (
                f"{rules.plants[row.plant].name}: last cut {months:.1f} months before, the kind "
                f"wants at least {regrowth.least_months:g}; look at the regrowth first."
            )


def _days(spans: tuple[DaySpan, ...]) -> str:
    return ", ".join(f"{day_words(span.first)} to {day_words(span.last)}" for span in spans)
