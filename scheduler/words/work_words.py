"""What the stand says of a piece of work, in words: conditions, what to weigh, waits."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from scheduler.files import fields
from scheduler.holding import Plot, Stock, dayrules
from scheduler.roster import Roster
from scheduler.season import Placed, spare_words
from scheduler.stand import (
    Harvest,
    HeldBack,
    HourRange,
    Removal,
    Task,
    conditions_of,
    harvests_of,
    held_back,
    removals_of,
    too_soon_months,
)
from scheduler.terms import DaySpan, day_words
from scheduler.windows import Concern, Facts, concerns_of, heat_stop_c
from scheduler.words import material_words
from scheduler.words.text import rows_words


def facts_of(plan: Placed) -> Facts:
    """What the rules of a planned season were asked about."""
    outlook = plan.outlook
    return Facts(outlook.holding, outlook.season, outlook.sky, outlook.frost, outlook.as_of)


def work_paragraphs(task: Task, plan: Placed) -> Iterator[str]:
    """What the stand adds to the description of a task, a paragraph each."""
    yield whole_visit_words(task, plan)
    yield batch_words(task)
    yield material_words.range_words(task, plan)
    yield condition_words(task, plan)
    yield left_alone_words(task, plan)
    weigh = weigh_words(task, plan)
    yield f"To weigh: {' '.join(weigh)}" if weigh else ""
    soon = list(too_soon_words(task, plan))
    yield f"Too soon? {' '.join(soon)}" if soon else ""


def hours_basis_words(task: Task, plan: Placed) -> str:
    """Where the hours come from, and how long that is on the site."""
    rules = plan.holding.rules
    source = "by the book" if task.learned is None else task.learned.words
    on_site_h = task.hours.usual / rules.figure("productive-share")
    return f"{source}; with rest, weather and talk about {on_site_h:.2g} on the site."


def batch_words(task: Task) -> str:
    """Line by line and tool by tool, so that each tool is set up once a line."""
    if len(task.batches) < 2:
        return ""
    told = rows_words(
        f"{f'line {batch.line}' if batch.line else 'outside the lines'}: {batch.count} with "
        f"{batch.tool.replace('-', ' ')} ({batch.hours:.2g} h)"
        for batch in task.batches
    )
    return f"Line by line, tool by tool:{told}"


def visit_words(tasks: Sequence[Task]) -> str:
    """Person-hours of each visit, with their range."""
    visits = [visit for visit in fields.VISITS if any(task.type.visit == visit for task in tasks)]
    told = [
        f"{visit} {_sums([task.hours for task in tasks if task.type.visit == visit])}"
        for visit in visits
    ]
    return f"Person-hours by visit: {', '.join(told)}." if told else ""


def foot_words(task: Task, plan: Placed) -> list[str]:
    """What a grower has to decide about a task before the season."""
    concerns = concerns_of(plan.windows[task.id], facts_of(plan))
    # what every cutting task is asked in its season stands in its own description
    told = [concern_words(c) for c in concerns if not c.standing]
    if task.learned is not None:
        told.append(f"hours are {task.learned.words}.")
    return [*told, *too_soon_words(task, plan)]


def succession_words(plot: Plot, plan: Placed) -> Iterator[str]:
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


def removals_in(plot: Plot, plan: Placed) -> tuple[Removal, ...]:
    """Removals from the plan's last year on."""
    holding = plan.holding
    return removals_of(plot, holding.stock, holding.rules, plan.season.last.year)


def harvests_in(plot: Plot, plan: Placed, n_years: int = 1) -> tuple[Harvest, ...]:
    """Harvests from the plan's last year on."""
    first = plan.season.last.year
    years = range(first, first + n_years)
    return harvests_of(plot, plan.holding.stock, plan.holding.rules, years)


def condition_words(task: Task, plan: Placed) -> str:
    """What the rules of cutting ask of the day and the cut."""
    if not task.type.cuts:
        return ""
    asked = conditions_of(task.stock, plan.holding.rules)
    told = [*asked, *_heat_words(task, plan)]
    return f"Rules of the cut: {' '.join(told)}" if asked else ""


def _heat_words(task: Task, plan: Placed) -> Iterator[str]:
    """How the heat stop is known: by the record's maxima, or by the forecast alone."""
    stop_c, record = heat_stop_c(task, facts_of(plan)), plan.holding.record
    if stop_c is not None and (record is None or record.tmax_c is None):
        yield "No maxima are on record here: for heat go by the forecast of the day."


def left_alone_words(task: Task, plan: Placed) -> str:
    """What a cut leaves alone in the plot, and until when."""
    if not task.type.cuts or task.plot is None:
        return ""
    held = held_back(task.plot, task.type.visit, plan.holding)
    groups = "; ".join(_group_words(held, plan, with_why=False))
    return f"Leave alone in this visit: {groups}." if groups else ""


def held_back_words(plot: Plot, plan: Placed) -> Iterator[str]:
    """What the heavy visit leaves alone, why, and until when.

    Where a plan has no release visit for the plot, the other visits with cuts are told.
    """
    visits: dict[fields.Visit, None] = dict.fromkeys(
        task.type.visit for task in plan.tasks.values() if task.plot is plot and task.type.cuts
    )
    heavy: fields.Visit = "release"
    for visit in (heavy,) if heavy in visits else visits:
        for told in _group_words(held_back(plot, visit, plan.holding), plan, with_why=True):
            yield f"Held back from the {visit} visit, {told}."


def _group_words(held: Sequence[HeldBack], plan: Placed, *, with_why: bool) -> Iterator[str]:
    """Held-back plants by visit and reason."""
    groups: dict[tuple[str, str], list[str]] = {}
    plants = plan.holding.rules.plants
    for one in held:
        until = f"until the {one.until} visit" if one.until else "not cut in this plan"
        key = (until, one.why if with_why else "")
        groups.setdefault(key, []).append(
            f"{one.stock.count} {plants[one.stock.plant].name.lower()}"
        )
    for (until, why), names in groups.items():
        yield f"{until}: {', '.join(names)}{f' ({why})' if why else ''}"


def whole_visit_words(task: Task, plan: Placed) -> str:
    """The visit a task belongs to, with all its hours in the plot."""
    if task.plot is None or task.type.visit == "year":
        return ""
    hours = [
        other.hours
        for other in plan.tasks.values()
        if (other.plot_id, other.type.visit) == (task.plot_id, task.type.visit)
    ]
    return (
        f"Visit: {task.type.visit}, in {task.plot.name} {len(hours)} kinds of work, "
        f"{_sums(hours)} person-hours in all."
    )


def _sums(hours: Sequence[HourRange]) -> str:
    usual, low, high = (
        sum(getattr(each, name) for each in hours) for name in ("usual", "low", "high")
    )
    return f"{usual:.0f} ({low:.0f} to {high:.0f})"


def roster_words(plan: Placed) -> Iterator[str]:
    """What stands beside the days: each plot's visits with their hours, and what they leave."""
    for plot in plan.holding.plots:
        tasks = [task for task in plan.tasks.values() if task.plot is plot]
        yield f"{plot.name}: {visit_words(tasks)}"
        yield from held_back_words(plot, plan)
    if spare := spare_words(plan.outlook.spare):
        yield spare
    yield (
        "Layers of mulch by line and the cautions of each piece of work stand in `scheduler due` "
        "and, of one visit, in `scheduler why`."
    )


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
    record, signs = plan.holding.record, [*_untold_signs(plan)]
    if not plan.holding.site.dry and (record is None or record.rain_mm is None):
        signs.append("the dry months of the year")
    if signs:
        yield f"Not told in site.toml, so no rule goes by it: {'; '.join(signs)}."


def _untold_signs(plan: Placed) -> Iterator[str]:
    rules = plan.holding.rules
    groups = {rules.plants[row.plant].group for row in plan.holding.stock}
    told = {(sign.sign, group) for sign in plan.holding.site.sign for group in sign.groups}
    missing: dict[str, list[str]] = {}
    for rule in rules.rules.values():
        if isinstance(rule, dayrules.SignRule):
            names = [g for g in rule.groups if g in groups and (rule.sign, g) not in told]
            missing.setdefault(rule.sign, []).extend(names)
    for sign, names in missing.items():
        if names:
            yield f"{sign.replace('-', ' ')} of {', '.join(names).replace('-', ' ')}"


def weigh_words(task: Task, plan: Placed) -> list[str]:
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


def too_soon_words(task: Task, plan: Placed) -> Iterator[str]:
    """Plants that would be cut again sooner than their kind stands."""
    stint = plan.stints.get(task.id)
    if not task.type.cuts or stint is None:
        return
    day, rules = plan.season.date_of(stint.first), plan.holding.rules
    for row in task.stock:
        cut = _as_cut_before(row, plan.logged_cuts.of(row).last_cut, day, plan)
        months = too_soon_months(cut, day, rules)
        regrowth = rules.regrowth_of(row.plant)
        if months is not None and regrowth is not None:
            name = rules.plants[row.plant].name
            yield (
                f"{name}: last cut {months:.1f} months before, the kind wants at least "
                f"{regrowth.least_months:g}; look at the regrowth first."
            )


def _as_cut_before(row: Stock, last_cut: date | None, day: date, plan: Placed) -> Stock:
    """The row with its last cut before a day, a planned one among them."""
    planned = [
        plan.season.date_of(stint.last)
        for task_id, stint in plan.stints.items()
        if plan.tasks[task_id].type.cuts and row in plan.tasks[task_id].stock
    ]
    before = [cut for cut in (*planned, last_cut) if cut is not None and cut < day]
    return replace(row, last_cut=max(before, default=None))


def _days(spans: tuple[DaySpan, ...]) -> str:
    return ", ".join(f"{day_words(span.first)} to {day_words(span.last)}" for span in spans)
