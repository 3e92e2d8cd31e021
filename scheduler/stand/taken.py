"""Which stock a kind of work takes, and which of it is due in the plan."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from scheduler.files import fields
from scheduler.holding import Holding, Plot, RuleBook, Selection, Stock, TaskType, Work
from scheduler.stand.growth import MONTH_DAYS
from scheduler.stand.hazards import locked_out
from scheduler.stand.kinds import shares_of
from scheduler.stand.succession import a_year_of, removals_of

USUAL_MONTHS: Mapping[fields.Visit, float] = {
    "dormant": 1.0,
    "release": 4.5,
    "dry-summer": 7.0,
    "year": 9.0,
}
LEAFLESS: fields.Visit = "dormant"  # the visit in which kinds that drop their leaves have none


def stock_taken(
    kind: TaskType, plot: Plot | None, holding: Holding, part: str = ""
) -> tuple[Stock, ...]:
    """The stock of a plot that a kind of work takes, but for what the crew may not touch.

    Args:
        kind: the kind of work.
        plot: the plot; the whole holding where none is named.
        holding: the site's files.
        part: which of its parts is meant; empty for all.
    """
    taken = tuple(r for r in stock_in(plot, holding) if takes(kind, r, holding.rules))
    free = free_of_lines(plot, taken, holding.rules)
    if not part:
        return free
    shares = shares_of(kind, free, holding.rules)
    return next((share.stock for share in shares if share.part == part), ())


def wanted(kind: TaskType, plot: Plot | None, holding: Holding) -> bool:
    """Whether the plan asks for a kind of work in a plot."""
    if kind.asked and (plot is None or kind.id not in plot.also):
        return False
    if kind.with_task and not wanted(holding.rules.tasks[kind.with_task], plot, holding):
        return False
    works = holding.plan.says.work
    return holding.rules.is_on(kind.switch) and any(_asks(work, kind, plot) for work in works)


def _asks(work: Work, kind: TaskType, plot: Plot | None) -> bool:
    named = not {kind.id, kind.visit}.isdisjoint(work.types) and kind.id not in work.without
    there = plot is None or not work.plots or plot.id in work.plots
    return named and there and (kind.light or not work.lighter)


def free_of_lines(
    plot: Plot | None, stock: tuple[Stock, ...], rules: RuleBook
) -> tuple[Stock, ...]:
    """What the crew may cut, pick or cover: trees within reach of a power line are locked out.

    A ladder or a picking pole comes as near to the line as a saw does.
    """
    locked = locked_out(plot, stock, rules.figure("line-clearance"))
    return tuple(row for row in stock if row not in locked)


def never_opened(kind: TaskType, plot: Plot | None, holding: Holding) -> bool:
    """Whether it is work on opened ground, and all cuts that would open it are locked out."""
    if not kind.opened:
        return False
    rules = holding.rules
    cut = tuple(
        row
        for other in rules.tasks.values()
        if other.cuts and other.visit == kind.visit and wanted(other, plot, holding)
        for row in stock_in(plot, holding)
        if takes(other, row, rules)
    )
    return bool(cut) and not free_of_lines(plot, cut, rules)


def stock_in(plot: Plot | None, holding: Holding) -> Iterator[Stock]:
    """The rows of a plot; all where none is named."""
    return (row for row in holding.stock if plot is None or row.plot == plot.id)


def takes(kind: TaskType, row: Stock, rules: RuleBook) -> bool:
    """Whether a task type takes a row, and no other that is switched on takes it instead."""
    return (
        rules.is_on(kind.switch)
        and _fits(kind, row, rules)
        and not any(
            other.instead_of == kind.id and rules.is_on(other.switch) and _fits(other, row, rules)
            for other in rules.tasks.values()
        )
    )


def _fits(kind: TaskType, row: Stock, rules: RuleBook) -> bool:
    wants = kind.selects
    if wants is None:
        return False
    plant = rules.plants[row.plant]
    return (
        _among(plant.group, wants.groups)
        and row.plant not in wants.not_plants
        and _among(row.stratum, wants.strata)
        and _among(row.role, wants.roles)
        and _among(row.cut_system, wants.cut_systems)
        and _among(plant.habit, wants.habits)
        and _tender_enough(plant.rest_c, wants)
        and (wants.up_to_m is None or row.height_m <= wants.up_to_m)
    )


def _among(value: str, wanted: Sequence[str]) -> bool:
    return not wanted or value in wanted


def _tender_enough(rest_c: float | None, wants: Selection) -> bool:
    return wants.rest_c_above is None or (rest_c is not None and rest_c > wants.rest_c_above)


def due_rows(
    kind: TaskType, plot: Plot | None, stock: Sequence[Stock], holding: Holding
) -> tuple[Stock, ...]:
    """The rows of a cut that are due in this plan.

    Support trees that make way go by the share of a year, and the leafless ones that are
    coppiced or pollarded wait until they have grown back.
    """
    if not kind.cuts or plot is None:
        return tuple(stock)
    rules, found = holding.rules, []
    leaving = {
        id(removal.support): removal.by_year[0][1]
        for removal in removals_of(plot, holding.stock, rules, holding.plan.season.last.year)
    }
    for row in stock:
        if row.cut_system == "remove":
            most = leaving.get(id(row), a_year_of(row, plot, rules))
            found.append(replace(row, count=min(row.count, most)))
        elif not _too_young_a_regrowth(kind, row, holding):
            found.append(row)
    return tuple(found)


def _too_young_a_regrowth(kind: TaskType, row: Stock, holding: Holding) -> bool:
    """Whether leafless support was cut too lately to be cut again this winter."""
    regrowth = holding.rules.regrowth_of(row.plant)
    again = row.role == "support" and row.cut_system in ("coppice", "pollard")
    if kind.visit != LEAFLESS or not again or row.last_cut is None or regrowth is None:
        return False
    return grown_months(row, kind.visit, holding) < regrowth.months * holding.rules.figure(
        "ripe-again"
    )


def grown_months(row: Stock, visit: fields.Visit, holding: Holding) -> float:
    """Months from the last cut of a row to the usual time of a visit of the plan."""
    if row.last_cut is None:
        return math.inf
    return max(0.0, (usual_day(visit, holding) - row.last_cut).days / MONTH_DAYS)


def usual_day(visit: fields.Visit, holding: Holding) -> date:
    """The middle of a visit's season, in the plan if it can be: by the local winter solstice."""
    first = holding.plan.season.first
    month = 6 if holding.site.place.southern else 12
    solstice = date(first.year - 1, month, 21)
    offset = timedelta(days=round(USUAL_MONTHS[visit] * MONTH_DAYS))
    while solstice + offset < first:
        solstice = date(solstice.year + 1, month, 21)
    return solstice + offset


def never_cut(holding: Holding) -> tuple[Stock, ...]:
    """Stock that says how it is cut, but that no task type takes."""
    kinds = [kind for kind in holding.rules.tasks.values() if kind.cuts]
    return tuple(
        row
        for row in holding.stock
        if row.cut_system != "none" and not any(takes(k, row, holding.rules) for k in kinds)
    )


def wants_cover(plot: Plot, holding: Holding) -> tuple[Stock, ...]:
    """The rows of a plot that are covered before frost, by whatever task of the rule book."""
    rules = holding.rules
    covering = [kind for kind in rules.tasks.values() if kind.covers]
    taken = (r for r in stock_in(plot, holding) if any(takes(k, r, rules) for k in covering))
    return free_of_lines(plot, tuple(taken), rules)


def within_reach(stock: Iterable[Stock], rules: RuleBook) -> tuple[Stock, ...]:
    """The rows that are low enough to be covered by hand."""
    heights = [
        kind.selects.up_to_m for kind in rules.tasks.values() if kind.covers and kind.selects
    ]
    highest_m = max((height for height in heights if height is not None), default=0.0)
    return tuple(row for row in stock if row.height_m <= highest_m)
