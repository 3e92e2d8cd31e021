"""The aims of the roster with their plain names, what the plan has of each, and what is proven."""

import math
from dataclasses import dataclass
from typing import Any

from scheduler.roster import Roster, Stage
from scheduler.season import Placed
from scheduler.words.sheet import Table

# name and unit of each aim; less is better of every one
NAMES = {
    "moved": ("published visits that moved", "visits"),
    "shift_days": ("how far it moved", "days"),
    "frost": ("chance of frost damage beyond what you accept", "sum of chances"),
    "open_days": ("calendar days that visits lie open", "days"),
    "preferences": ("hours short of the most preferred days", "points"),
    "waiting_days": ("waiting of all visits after their earliest end", "days"),
    "hire_and_waiting": ("waiting of all visits, and what calling out hire is worth", "days"),
}
FIT = "fit-"


@dataclass(frozen=True, slots=True)
class Aim:
    """One aim as it is told.

    Args:
        stage: aim, value and bound.
        name: in plain words.
        unit: what is counted.
    """

    stage: Stage
    name: str
    unit: str

    @property
    def proven(self) -> bool:
        """Whether no plan as good in all earlier aims has less."""
        return self.stage.gap == 0

    @property
    def value(self) -> float:
        """What the plan has."""
        return self._whole(self.stage.value)

    @property
    def bound(self) -> float | None:
        """What no such plan is below; None where nothing is known."""
        return self._whole(self.stage.bound) if math.isfinite(self.stage.bound) else None

    def _whole(self, amount: float) -> float:
        # parts of a day of waiting settle ties between equal plans and tell a grower nothing
        return (
            math.floor(amount)
            if self.stage.aim in ("waiting_days", "hire_and_waiting")
            else round(amount, 4)
        )


def aims_told(roster: Roster) -> tuple[Aim, ...]:
    """The aims in their strict order."""
    return tuple(Aim(stage, *_named(stage.aim)) for stage in roster.stages)


def _named(aim: str) -> tuple[str, str]:
    if aim.startswith(FIT):
        return f"visits of importance {aim.removeprefix(FIT)} without a place", "visits"
    return NAMES[aim]


def aim_records(roster: Roster) -> list[dict[str, Any]]:
    """The aims for a program."""
    return [
        {
            "aim": aim.stage.aim,
            "name": aim.name,
            "value": aim.value,
            "bound": aim.bound,
            "unit": aim.unit,
            "proven": aim.proven,
        }
        for aim in aims_told(roster)
    ]


def aim_tables(plan: Placed) -> list[Table]:
    """The aims as a table; where all work has a place, one row says so for every importance."""
    aims = aims_told(plan.roster)
    fits = [aim for aim in aims if aim.stage.aim.startswith(FIT)]
    if not aims:
        return []
    whole = bool(fits) and all(aim.value == 0 and aim.proven for aim in fits)
    rows = [("work without a place", "0", "0", "visits", "yes")] if whole else []
    rows += [_row(aim) for aim in aims if not (whole and aim in fits)]
    foot = "None gives way to one below it. Less is better; no plan can come below the bound."
    title = "What the plan was made for, in this order"
    return [Table(title, ("aim", "value", "bound", "unit", "proven"), tuple(rows), (foot,))]


def _row(aim: Aim) -> tuple[str, str, str, str, str]:
    bound = "-" if aim.bound is None else _number(aim.bound)
    return aim.name, _number(aim.value), bound, aim.unit, "yes" if aim.proven else "no"


def _number(value: float) -> str:
    """Up to two decimals, and none that say nothing.

    >>> _number(7532.0), _number(0.155)
    ('7532', '0.15')
    """
    return f"{round(value, 2):.10g}"
