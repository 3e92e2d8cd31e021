"""Crown cover by stratum, against what the grower keeps it to."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.holding import Plot, RuleBook, Stock


@dataclass(frozen=True, slots=True)
class Cover:
    """Crown cover of one stratum of one plot.

    Args:
        stratum: the layer.
        share: sum of crown areas over the ground of the plot; layers overlap, so it may
            pass 1.
        target: what the grower keeps it to; None where the rule book names none.
    """

    stratum: str
    share: float
    target: float | None

    @property
    def over(self) -> bool:
        """Whether it stands above its target."""
        return self.target is not None and self.share > self.target


def cover_of(plot: Plot, stock: Sequence[Stock], rules: RuleBook) -> tuple[Cover, ...]:
    """Crown cover of each stratum that has a target, from tall to low."""
    return tuple(
        Cover(
            target.id,
            sum(crown_m2(row) for row in stock if row.plot == plot.id and row.stratum == target.id)
            / plot.area_m2,
            target.share,
        )
        for target in rules.cover_targets.values()
    )


def crown_m2(row: Stock) -> float:
    """Ground under the crowns of a row of stock, m2, taking crowns as discs."""
    return math.pi / 4 * row.crown_m**2 * row.count
