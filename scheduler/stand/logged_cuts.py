"""The last cut of each row of stock: of stock.csv, or of the work log if that is later."""

from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

from scheduler.holding import Holding, LogEntry, Stock
from scheduler.stand.taken import stock_taken
from scheduler.stand.work import split_id


@dataclass(frozen=True)
class LoggedCuts:
    """The finished cuts of the work log up to a day, by what they took.

    Args:
        holding: the site's files.
        as_of: later entries do not count.
    """

    holding: Holding
    as_of: date

    @cached_property
    def last_cuts(self) -> dict[int, date]:
        """Day of the last finished cut in the log, by number of the row of stock."""
        plots = {plot.id: plot for plot in self.holding.plots}
        numbers = {id(row): number for number, row in enumerate(self.holding.stock)}
        found: dict[int, date] = {}
        for entry in self._finished():
            plot_id, kind_id, part = split_id(entry.task)
            kind, plot = self.holding.rules.tasks.get(kind_id), plots.get(plot_id)
            if kind is None or plot is None or not kind.cuts:
                continue
            for row in stock_taken(kind, plot, self.holding, part):
                number = numbers[id(row)]
                found[number] = max(entry.date, found.get(number, date.min))
        return found

    def _finished(self) -> list[LogEntry]:
        """The entries with which a task was finished; a row that takes it back goes before."""
        last: dict[tuple[str, str], LogEntry] = {}
        for entry in self.holding.log:
            if entry.date <= self.as_of:
                last[entry.plan, entry.task] = entry
        return [entry for entry in last.values() if entry.percent == 100]

    @cached_property
    def stock(self) -> tuple[Stock, ...]:
        """All rows of stock, each with the later of its own last cut and the log's."""
        return tuple(
            row if day is None or (row.last_cut or date.min) >= day else replace(row, last_cut=day)
            for number, row in enumerate(self.holding.stock)
            for day in (self.last_cuts.get(number),)
        )

    def of(self, row: Stock) -> Stock:
        """A row of the holding's stock with its last cut."""
        at = next((n for n, other in enumerate(self.holding.stock) if other is row), None)
        return row if at is None else self.stock[at]
