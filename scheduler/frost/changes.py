"""What would change an answer: the same plot with other tolerances, offsets and stock."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from scheduler.frost.risk import FrostRisk, risk_of
from scheduler.frost.tender import Exposed

_TOLERANCES = (0.05, 0.10, 0.20, 0.50)
_OFFSET_STEPS_C = (-1.0, 1.0)


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that could be otherwise, its value, and whether the window would be open."""

    # the tolerance (0 to 1), the offset (degrees C), or the stock: without its tenderest kind the
    # threshold (degrees C) is that of the next
    what: Literal["tolerance", "offset", "stock"]
    value: float
    is_open: bool
    closes_after: date | None  # when the open spell would end; None where closed, or unending


def changes_of(risk: FrostRisk, as_of: date, stock: Iterable[Exposed] = ()) -> tuple[Change, ...]:
    """What would change the answer of a climate risk today.

    Other usual tolerances, a plot 1 degree colder and warmer, and the plot without its
    tenderest kind; nothing where no record is behind the risk.
    """
    if risk.climate is None:
        return ()
    below = [kind.hurt_at_c for kind in stock if kind.hurt_at_c < risk.threshold_c]
    changed = [
        *(("tolerance", value) for value in _TOLERANCES if value != risk.tolerance),
        *(("offset", round(risk.offset_c + step, 2)) for step in _OFFSET_STEPS_C),
        *(("stock", value) for value in sorted(below, reverse=True)[:1]),
    ]
    return tuple(_change(risk, as_of, what, value) for what, value in changed)


def _change(risk: FrostRisk, as_of: date, what: str, value: float) -> Change:
    other = risk_of(
        risk.climate,
        threshold_c=value if what == "stock" else risk.threshold_c,
        offset_c=value if what == "offset" else risk.offset_c,
        offset_spread_c=risk.offset_spread_c,
        tolerance=value if what == "tolerance" else risk.tolerance,
        season=risk.season,
        southern=False,  # a record has its own warmest day
    )
    return Change(what, value, other.is_open(as_of), other.closes_after(as_of))  # type: ignore[arg-type]
