"""Which support trees make way for their successors, and what the plants will bear."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduler.holding import Plot, RuleBook, Stock


@dataclass(frozen=True, slots=True)
class Removal:
    """Support trees proposed for removal, over a number of seasons.

    Args:
        support: the row of support trees.
        successor: the row that takes their place.
        by_year: trees to take out in each year, the first season first.
        asked: whether the grower has already marked the row for removal.
    """

    support: Stock
    successor: Stock
    by_year: tuple[tuple[int, int], ...]
    asked: bool


@dataclass(frozen=True, slots=True)
class Harvest:
    """What a kind may bear in a plot in one year, fresh kg.

    Args:
        plant: id of the kind.
        year: calendar year.
        low_kg: in a poor year.
        high_kg: in a good year.
    """

    plant: str
    year: int
    low_kg: float
    high_kg: float


def removals_of(
    plot: Plot, stock: Sequence[Stock], rules: RuleBook, first_year: int
) -> tuple[Removal, ...]:
    """Support trees whose successors are ready, tallest first.

    A successor is ready for a support tree of its own line when it is high enough beside
    it; each follows one tree. Rows are taken out by a share a season.

    Args:
        plot: the plot.
        stock: stock of this and other plots.
        rules: the rule book.
        first_year: year of the first season.
    """
    mine = [row for row in stock if row.plot == plot.id]
    ready = {at: row.count for at, row in enumerate(mine) if row.role == "successor"}
    found = []
    for row in sorted(mine, key=lambda row: (row.cut_system != "remove", -row.height_m)):
        at = next((n for n in ready if ready[n] > 0 and _follows(mine[n], row, rules)), None)
        if row.role != "support" or at is None:
            continue
        count = min(row.count, ready[at])
        ready[at] -= count
        by_year = tuple(_by_year(count, a_year_of(row, plot, rules), first_year))
        found.append(Removal(row, mine[at], by_year, row.cut_system == "remove"))
    return tuple(found)


def _follows(successor: Stock, support: Stock, rules: RuleBook) -> bool:
    high_enough = successor.height_m >= rules.figure("successor-height") * support.height_m
    return high_enough and successor.line == support.line


def a_year_of(row: Stock, plot: Plot, rules: RuleBook) -> int:
    """How many support trees of a row go in a year: the plot's own share, else the book's."""
    own = plot.removal_share
    return max(1, math.floor(row.count * (rules.figure("removal-share") if own is None else own)))


def _by_year(count: int, a_season: int, first_year: int) -> Iterator[tuple[int, int]]:
    for season in range(math.ceil(count / a_season)):
        yield first_year + season, min(a_season, count - season * a_season)


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
    return tuple(
        Harvest(plant, year, count * share * entry.low_kg, count * share * entry.high_kg)
        for plant, count in counts.items()
        if (entry := rules.harvests.get(plant)) is not None
        for year in years
        if (share := _bearing(year - plot.planted, entry.first_year, entry.full_year)) > 0
    )


def _bearing(age: int, first: int, full: int) -> float:
    """Share of full bearing at an age in years."""
    if age < first:
        return 0.0
    return min(1.0, (age - first + 1) / (full - first + 1))
