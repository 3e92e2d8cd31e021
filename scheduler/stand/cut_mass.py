"""What the cuts of a plan bring down: by task, in a whole visit, and line by line."""

from collections.abc import Iterable
from datetime import date

from scheduler.holding import Holding, Plot, RuleBook, Stock, TaskType
from scheduler.stand.biomass import Material, mass_range, material_of
from scheduler.stand.growth import MONTH_DAYS
from scheduler.stand.taken import LEAFLESS, due_rows, stock_taken, usual_day, wanted


def line_balance(kind: TaskType, plot: Plot, holding: Holding) -> dict[str, float]:
    """Fine material over its share by area on each line of a plot, fresh kg; below 0 it is short.

    What is cut outside the lines goes to all of them by their area and so counts for none.
    """
    whole_m2 = sum(line.area_m2 for line in plot.line)
    if len(plot.line) < 2 or not whole_m2:
        return {}
    fine = {line.id: 0.0 for line in plot.line}
    for other in holding.rules.tasks.values():
        if other.cuts and other.visit == kind.visit and wanted(other, plot, holding):
            for row in due_rows(other, plot, stock_taken(other, plot, holding), holding):
                if row.line in fine:
                    cut = cut_material(
                        other, [row], holding.rules, usual_day(other.visit, holding)
                    )
                    fine[row.line] += cut.twigs_kg + cut.leaves_kg + cut.juicy_kg
    total = sum(fine.values())
    return {line.id: fine[line.id] - total * line.area_m2 / whole_m2 for line in plot.line}


def cut_material(
    kind: TaskType, stock: Iterable[Stock], rules: RuleBook, on: date | None = None
) -> Material:
    """What a cutting task brings down.

    In the dormant visit without leaves that fall; of what was cut before, what has grown back
    since, by calendar months.

    Args:
        kind: the kind of work.
        stock: the plants.
        rules: the rule book.
        on: about when; left out, what was cut before counts as grown back.
    """
    total, leafless = Material(), kind.visit == LEAFLESS
    for row in stock:
        whole = material_of([row], rules, leafless=leafless)
        total += whole.scaled(_regrown(kind, row, rules, on))
    return total


def cut_mass_range(
    kind: TaskType, stock: Iterable[Stock], rules: RuleBook, on: date | None = None
) -> tuple[float, float]:
    """Between what the fresh mass of it may lie, kg."""
    low_kg = high_kg = 0.0
    for row in stock:
        share = _regrown(kind, row, rules, on)
        low, high = mass_range([row], rules, leafless=kind.visit == LEAFLESS)
        low_kg, high_kg = low_kg + share * low, high_kg + share * high
    return low_kg, high_kg


def _regrown(kind: TaskType, row: Stock, rules: RuleBook, on: date | None) -> float:
    """Share of what a cut takes that has grown back since an earlier cut."""
    regrowth = rules.regrowth_of(row.plant)
    if regrowth is None:
        return 1.0
    months = kind.regrown_months
    if months is None and on is not None and row.last_cut is not None:
        months = max(0.0, (on - row.last_cut).days / MONTH_DAYS)
    return 1.0 if months is None else min(1.0, months / regrowth.months)


def cut_in_visit(kind: TaskType, plot: Plot | None, holding: Holding) -> Material:
    """What the wanted cutting tasks bring down in the plot whose wood the task lays."""
    total, kinds = Material(), holding.rules.tasks.values()
    if plot is None:
        return total
    laid = {task_id for other in kinds if other.rate == kind.rate for task_id in other.lays}
    for other in kinds:
        mine = other.id in kind.lays if kind.lays else other.id not in laid
        step = other.visit == kind.visit and other.apart is None
        if other.cuts and mine and step and wanted(other, plot, holding):
            stock = due_rows(other, plot, stock_taken(other, plot, holding), holding)
            total += cut_material(other, stock, holding.rules, usual_day(other.visit, holding))
    return total
