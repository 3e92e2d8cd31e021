"""Which rows of assumed size would change the hours most, were they measured."""

from dataclasses import replace

from scheduler.holding import AmountRate, Holding, Stock
from scheduler.stand.biomass import cut_material
from scheduler.stand.rates import book_hours
from scheduler.stand.taken import takers_of, wanted

MOST = 5  # rows that one walk with a tape takes
LARGER = 4 / 3  # times its assumed size that a plant may well be


def measured_first(holding: Holding) -> tuple[Stock, ...]:
    """Rows of assumed size, those first whose hours a third more of size changes most.

    Counted are the cuts that the plan asks for and the laying of their wood; rows that change
    nothing are left out.
    """
    rows = [row for row in holding.stock if row.assumed]
    larger = (
        replace(row, **{size: getattr(row, size) * LARGER for size in row.assumed}) for row in rows
    )
    changes = [
        abs(_hours(b, holding) - _hours(a, holding)) for a, b in zip(rows, larger, strict=True)
    ]
    order = sorted(range(len(rows)), key=lambda at: -changes[at])
    return tuple(rows[at] for at in order[:MOST] if changes[at] > 0)


def _hours(row: Stock, holding: Holding) -> float:
    """Person-hours of cutting a row and laying what comes down, in all cuts of the plan."""
    rules, hours = holding.rules, 0.0
    plot = next(plot for plot in holding.plots if plot.id == row.plot)
    coarse, fine = rules.rates["lay-coarse"], rules.rates["lay-fine"]
    assert isinstance(coarse, AmountRate), "wood is laid by its mass"
    assert isinstance(fine, AmountRate), "wood is laid by its mass"
    for kind in takers_of(row, rules):
        if kind.cuts and wanted(kind, plot, holding):
            cut = cut_material(kind, (row,), rules)
            coarse_kg = cut.logs_kg + cut.branches_kg
            hours += book_hours(kind, (row,), plot, cut, rules).usual
            hours += coarse_kg / coarse.per_hour + (cut.fresh_kg - coarse_kg) / fine.per_hour
    return hours
