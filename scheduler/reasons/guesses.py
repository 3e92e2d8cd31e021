"""What the plan takes for granted of stock that nobody measured, and of kinds nobody described."""

from collections.abc import Iterator

from scheduler.holding import Holding
from scheduler.stand import measured_first
from scheduler.terms import Level, Notice

GUESS_CODES = ("kind-guessed", "sizes-assumed")  # of notes that are always shown


def guess_notices(holding: Holding) -> Iterator[Notice]:
    """A note for each kind that is guessed, and one for the sizes that are assumed."""
    plants, plots = holding.rules.plants, {plot.id: plot.name for plot in holding.plots}
    for kind in holding.guessed:
        says = (
            f"{plants[kind].name} is not in the rule book; it is taken as {plants[kind].source}. "
            f'Put a [[plant]] with id = "{kind}" into rules.toml to say otherwise.'
        )
        yield Notice(GUESS_CODES[0], Level.NOTE, kind, says)
    if assumed := sum(bool(row.assumed) for row in holding.stock):
        first = "; ".join(
            f"{row.count} {plants[row.plant].name.lower()} in {plots[row.plot]} "
            f"({row.stem_cm:g} cm, {row.height_m:g} m high, {row.crown_m:g} m wide)"
            for row in measured_first(holding)
        )
        says = (
            f"Sizes of {assumed} of {len(holding.stock)} rows of stock are assumed, from the kind "
            "and the year of planting, where stem_cm, height_m or crown_m stands empty."
        )
        more = f" Measure these first, they change the hours most: {first}." if first else ""
        yield Notice(GUESS_CODES[1], Level.NOTE, "stock", says + more)
