"""Which support trees make way for their successors, and what the plants will bear."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduler.holding import Plot, RuleBook, Stock


@dataclass(frozen=True, slots=True)
class Removal:
    """Support trees proposed for removal, for the successor that takes their place.

    ``by_year`` holds years and how many trees go in each, the first season first; ``asked``
    says that the grower has already marked the row for removal.
    """

    support: Stock
    successor: Stock
    by_year: tuple[tuple[int, int], ...]
    asked: bool


@dataclass(frozen=True, slots=True)
class Harvest:
    """What a kind may bear in a plot in one calendar year, fresh kg: if poor, and if good."""

    plant: str
    year: int
    low_kg: float
    high_kg: float


def removals_of(
    plot: Plot, stock: Sequence[Stock], rules: RuleBook, first_year: int
) -> tuple[Removal, ...]:
    """Support trees of a plot whose successors are ready, those asked for first, then by height.

    A successor is ready for a support tree of its own line when it is high enough beside
    it; each follows one tree. Rows are taken out by a share a season, from the first year on.
    """
    mine = [row for row in stock if row.plot == plot.id]
    ready = {at: row.count for at, row in enumerate(mine) if row.role == "successor"}
    supports = [row for row in mine if row.role == "support"]
    removals = []
    for row in sorted(supports, key=lambda row: (row.cut_system != "remove", -row.height_m)):
        at = next((n for n in ready if ready[n] > 0 and _follows(mine[n], row, rules)), None)
        if at is not None:
            count = min(row.count, ready[at])
            ready[at] -= count
            by_year = tuple(_by_year(count, a_year_of(row, plot, rules), first_year))
            removals.append(Removal(row, mine[at], by_year, row.cut_system == "remove"))
    return tuple(removals)


def _follows(successor: Stock, support: Stock, rules: RuleBook) -> bool:
    high_enough = successor.height_m >= rules.figure("successor-height") * support.height_m
    return high_enough and successor.line == support.line


def _by_year(count: int, a_year: int, first_year: int) -> Iterator[tuple[int, int]]:
    for year, gone in enumerate(range(0, count, a_year), start=first_year):
        yield year, min(a_year, count - gone)


def a_year_of(row: Stock, plot: Plot, rules: RuleBook) -> int:
    """How many support trees of a row go in a year: the plot's own share, else the book's."""
    own = plot.removal_share
    return max(1, math.floor(row.count * (rules.figure("removal-share") if own is None else own)))


def harvests_of(
    plot: Plot, stock: Sequence[Stock], rules: RuleBook, years: Sequence[int]
) -> tuple[Harvest, ...]:
    """What the fruit and successor trees of a plot may bear, by kind and year.

    Age is counted from the year the plot was planted; between the first harvest and full
    bearing it rises evenly. Kinds without figures in the rule book are left out.
    """
    counts: dict[str, int] = {}
    for row in stock:
        if row.plot == plot.id and row.role in ("fruit", "successor", "alley"):
            counts[row.plant] = counts.get(row.plant, 0) + row.count
    harvests = []
    for plant, count in counts.items():
        entry = rules.harvests.get(plant)
        if entry is None:
            continue
        for year in years:
            bearing = year - plot.planted - entry.first_year + 1
            if bearing > 0:
                share = min(1.0, bearing / (entry.full_year - entry.first_year + 1))
                low_kg, high_kg = count * share * entry.low_kg, count * share * entry.high_kg
                harvests.append(Harvest(plant, year, low_kg, high_kg))
    return tuple(harvests)
