"""Which stock a kind of work takes, which of it is due in the plan, and what that brings down.

Decided: the last cut is that of stock.csv or of the work log, whichever is later, of any plan.
Held by tests/stand/test_logged_cuts.py::test_what_is_no_later_finished_cut_changes_nothing.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property

from scheduler.files import fields
from scheduler.holding import Holding, LogEntry, Plot, RuleBook, Stock, TaskType, Work
from scheduler.stand.biomass import LEAFLESS, Material, cut_material
from scheduler.stand.hazards import is_locked_out
from scheduler.stand.kinds import shares_of
from scheduler.stand.succession import a_year_of, removals_of
from scheduler.stand.warmth import MONTH_DAYS

USUAL_MONTHS: Mapping[fields.Visit, float] = {
    "dormant": 1.0,
    "release": 4.5,
    "dry-summer": 7.0,
    "year": 9.0,
}


def stock_taken(
    kind: TaskType, plot: Plot | None, holding: Holding, part: str = ""
) -> tuple[Stock, ...]:
    """The stock of a plot that a kind of work takes, but for what the crew may not touch.

    Without a plot, of the whole holding; of one of its parts where that is named.
    """
    rules = holding.rules
    free = tuple(
        row
        for row in stock_in(plot, holding)
        if takes(kind, row, rules) and not is_locked_out(row, plot, rules)
    )
    if not part:
        return free
    shares = shares_of(kind, free, rules)
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


def left_out_by_name(
    kind: TaskType, stock: Sequence[Stock], plot: Plot | None, holding: Holding
) -> bool:
    """Whether the plan leaves out the picking of a single kind of plants: ``pick:apricot``."""
    if not kind.picks:
        return False
    names = {f"{kind.id}:{row.plant}" for row in stock}
    asking = [work for work in holding.plan.says.work if _asks(work, kind, plot)]
    return bool(asking) and all(names <= {*work.without} for work in asking)


def _wanted_cuts(visit: fields.Visit, plot: Plot | None, holding: Holding) -> Iterator[TaskType]:
    """The kinds of work of a visit that cut living stock and that the plan asks for."""
    for kind in holding.rules.tasks.values():
        if kind.cuts and kind.visit == visit and wanted(kind, plot, holding):
            yield kind


def never_opened(kind: TaskType, plot: Plot | None, holding: Holding) -> bool:
    """Whether it is work on opened ground, and all cuts that would open it are locked out."""
    if not kind.opened:
        return False
    locked = [
        is_locked_out(row, plot, holding.rules)
        for cut in _wanted_cuts(kind.visit, plot, holding)
        for row in stock_in(plot, holding)
        if takes(cut, row, holding.rules)
    ]
    return bool(locked) and all(locked)


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


def takers_of(row: Stock, rules: RuleBook) -> list[TaskType]:
    """The task types that take a row, in the order of the rule book."""
    return [kind for kind in rules.tasks.values() if takes(kind, row, rules)]


def _fits(kind: TaskType, row: Stock, rules: RuleBook) -> bool:
    wants, plant = kind.selects, rules.plants[row.plant]
    if wants is None or row.plant in wants.not_plants:
        return False
    selected: tuple[tuple[str, Sequence[str]], ...] = (
        (plant.group, wants.groups),
        (row.stratum, wants.strata),
        (row.role, wants.roles),
        (row.cut_system, wants.cut_systems),
        (plant.habit, wants.habits),
    )
    least_c = wants.rest_c_above
    tender = least_c is None or (plant.rest_c is not None and plant.rest_c > least_c)
    low = wants.up_to_m is None or row.height_m <= wants.up_to_m
    return tender and low and all(not named or value in named for value, named in selected)


def due_rows(kind: TaskType, plot: Plot | None, holding: Holding) -> tuple[Stock, ...]:
    """The rows that a kind of work takes and that are due in this plan.

    Support trees that make way go by the share of a year, and the leafless ones that are
    coppiced or pollarded wait until they have grown back.
    """
    stock = stock_taken(kind, plot, holding)
    if not kind.cuts or plot is None:
        return stock
    rules, due = holding.rules, []
    leaving = {
        id(removal.support): removal.by_year[0][1]
        for removal in removals_of(plot, holding.stock, rules, holding.plan.season.last.year)
    }
    for row in stock:
        if row.cut_system == "remove":
            most = leaving.get(id(row), a_year_of(row, plot, rules))
            due.append(replace(row, count=min(row.count, most)))
        elif not _too_young_a_regrowth(kind, row, holding):
            due.append(row)
    return tuple(due)


def _too_young_a_regrowth(kind: TaskType, row: Stock, holding: Holding) -> bool:
    """Whether leafless support was cut too lately to be cut again this winter."""
    regrowth = holding.rules.regrowth_of(row.plant)
    again = row.role == "support" and row.cut_system in ("coppice", "pollard")
    if kind.visit != LEAFLESS or not again or row.last_cut is None or regrowth is None:
        return False
    months = max(0.0, (usual_day(kind.visit, holding) - row.last_cut).days / MONTH_DAYS)
    return months < regrowth.months * holding.rules.figure("ripe-again")


def usual_day(visit: fields.Visit, holding: Holding) -> date:
    """The middle of a visit's season, in the plan if it can be: by the local winter solstice."""
    first = holding.plan.season.first
    month = 6 if holding.site.place.southern else 12
    solstice = date(first.year - 1, month, 21)
    offset = timedelta(days=round(USUAL_MONTHS[visit] * MONTH_DAYS))
    while solstice + offset < first:
        solstice = date(solstice.year + 1, month, 21)
    return solstice + offset


def cut_in_visit(kind: TaskType, plot: Plot | None, holding: Holding) -> Material:
    """What the wanted cutting tasks bring down in the plot whose wood the task lays."""
    if plot is None:
        return Material()
    laid_by_others = {
        task_id
        for other in holding.rules.tasks.values()
        if other.rate == kind.rate
        for task_id in other.lays
    }
    total, on = Material(), usual_day(kind.visit, holding)
    for cut in _wanted_cuts(kind.visit, plot, holding):
        mine = cut.id in kind.lays if kind.lays else cut.id not in laid_by_others
        if mine and cut.apart is None:
            total += cut_material(cut, due_rows(cut, plot, holding), holding.rules, on)
    return total


def line_balance(kind: TaskType, plot: Plot, holding: Holding) -> dict[str, float]:
    """Fine material over its share by area on each line of a plot, fresh kg; below 0 it is short.

    What is cut outside the lines goes to all of them by their area and so counts for none.
    """
    whole_m2 = sum(line.area_m2 for line in plot.line)
    if len(plot.line) < 2 or not whole_m2:
        return {}
    fine, on = {line.id: 0.0 for line in plot.line}, usual_day(kind.visit, holding)
    for cut in _wanted_cuts(kind.visit, plot, holding):
        for row in due_rows(cut, plot, holding):
            if row.line in fine:
                material = cut_material(cut, [row], holding.rules, on)
                fine[row.line] += material.twigs_kg + material.leaves_kg + material.juicy_kg
    total = sum(fine.values())
    return {line.id: fine[line.id] - total * line.area_m2 / whole_m2 for line in plot.line}


def never_cut(holding: Holding) -> tuple[Stock, ...]:
    """Stock that says how it is cut, but that no task type takes."""
    return tuple(
        row
        for row in holding.stock
        if row.cut_system != "none"
        and not any(kind.cuts for kind in takers_of(row, holding.rules))
    )


def change_taken(row: Stock, rules: RuleBook) -> str:
    """What of a row must be other for some work to cut it: a column, and the values that do."""
    for column, values in (
        ("cut_system", ("retained", "pollard", "coppice", "clump")),
        ("stratum", fields.STRATA),
        ("role", ("fruit", "support", "shield", "alley")),
    ):
        others = {value: replace(row, **{column: value}) for value in values}  # type: ignore[arg-type]  # a column by its name
        if taken := [v for v in values if any(k.cuts for k in takers_of(others[v], rules))]:
            return f"{column} {' or '.join(taken)}"
    return "another group of the plant"


def wants_cover(plot: Plot, holding: Holding) -> tuple[Stock, ...]:
    """The rows of a plot that are covered before frost, by whatever task of the rule book."""
    rules = holding.rules
    return tuple(
        row
        for row in stock_in(plot, holding)
        if any(kind.covers for kind in takers_of(row, rules))
        and not is_locked_out(row, plot, rules)
    )


def within_reach(stock: Iterable[Stock], rules: RuleBook) -> tuple[Stock, ...]:
    """The rows that are low enough to be covered by hand."""
    covering = [kind.selects for kind in rules.tasks.values() if kind.covers and kind.selects]
    highest_m = max((wants.up_to_m for wants in covering if wants.up_to_m), default=0.0)
    return tuple(row for row in stock if row.height_m <= highest_m)


def task_id_of(plot_id: str, name: str, part: str) -> str:
    """The id of a task: ``<plot>.<task type>``, and its part after a colon."""
    return f"{plot_id}.{name}:{part}" if part else f"{plot_id}.{name}"


def split_id(task_id: str) -> tuple[str, str, str]:
    """Plot, task type and part of the id of a task.

    >>> split_id("low.pick:apple-2"), split_id("low.weed-lines")
    (('low', 'pick', 'apple-2'), ('low', 'weed-lines', ''))
    """
    plot_id, _, rest = task_id.partition(".")
    name, _, part = rest.partition(":")
    return plot_id, name, part


@dataclass(frozen=True)
class LoggedCuts:
    """The last cut of each row of stock: of stock.csv, or of the log up to a day if later."""

    holding: Holding
    as_of: date

    @cached_property
    def stock(self) -> tuple[Stock, ...]:
        """All rows of stock, each with the later of its own last cut and the log's."""
        plots = {plot.id: plot for plot in self.holding.plots}
        numbers = {id(row): number for number, row in enumerate(self.holding.stock)}
        stock = list(self.holding.stock)
        for entry in self._finished():
            plot_id, kind_id, part = split_id(entry.task)
            kind, plot = self.holding.rules.tasks.get(kind_id), plots.get(plot_id)
            if kind is None or plot is None or not kind.cuts:
                continue
            for row in stock_taken(kind, plot, self.holding, part):
                number = numbers[id(row)]
                if entry.date > (stock[number].last_cut or date.min):
                    stock[number] = replace(row, last_cut=entry.date)
        return tuple(stock)

    def _finished(self) -> list[LogEntry]:
        """The entries with which a task was finished; a row that takes it back goes before."""
        last: dict[tuple[str, str], LogEntry] = {}
        for entry in self.holding.log:
            if entry.date <= self.as_of:
                last[entry.plan, entry.task] = entry
        return [entry for entry in last.values() if entry.percent == 100]

    def of(self, row: Stock) -> Stock:
        """A row of the holding's stock with its last cut."""
        at = next((n for n, other in enumerate(self.holding.stock) if other is row), None)
        return row if at is None else self.stock[at]
