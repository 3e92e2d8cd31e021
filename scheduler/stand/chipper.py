"""Whether a hired chipper pays: hours of the plan with it against hours without.

Chipped twigs are fed to the machine and spread with the fine layers; without it they are cut
up and laid by hand. The plan has the one or the other, by the same figures.
"""

import math
from dataclasses import dataclass

from scheduler.holding import AmountRate, Hire, Holding, Plot, RuleBook, TaskType
from scheduler.stand.rates import HourRange, rate_counts
from scheduler.stand.taken import cut_in_visit, wanted


@dataclass(frozen=True)
class Chipping:
    """What a chipper would do in one visit of a plot.

    It chips so many kg of fresh twigs in days of hire, for person-hours fewer than without it.
    ``hour_price`` is what an hour is worth to the grower; None where nobody says.
    """

    plot: Plot
    hire: Hire
    twigs_kg: float
    saved_h: float
    days: int
    hour_price: float | None

    @property
    def cost(self) -> float:
        """What its days cost, in the grower's money."""
        return self.days * self.hire.cost_day * self.hire.count

    @property
    def pays(self) -> bool:
        """Whether the hours it saves are worth more than it costs, by the grower's own price."""
        return self.hour_price is not None and self.saved_h * self.hour_price > self.cost

    @property
    def comes(self) -> bool:
        """Whether it is in the plan: it pays, or the grower wants the chips."""
        return self.hire.wanted or self.pays


def chippings_of(holding: Holding) -> tuple[Chipping, ...]:
    """What a chipper would do in each plot whose wanted work brings down enough to chip."""
    chippings = (
        _chipping(kind, plot, holding)
        for plot in holding.plots
        for kind in holding.rules.tasks.values()
        if wanted(kind, plot, holding)
    )
    return tuple(chipping for chipping in chippings if chipping is not None)


def machines_come(kind: TaskType, plot: Plot | None, holding: Holding) -> bool:
    """Whether the machines of a task are to be had, and a chipper pays or is wanted."""
    if not {hire.id for hire in holding.crew.hire}.issuperset(kind.kit):
        return False
    if plot is None or not _chips(kind, holding.rules):
        return True
    chipping = _chipping(kind, plot, holding)
    return chipping is not None and chipping.comes


def hours_by_hand(
    kind: TaskType, plot: Plot | None, twigs_kg: float, hours: HourRange, holding: Holding
) -> HourRange:
    """The hours of work that lays fine material where no chipper takes the twigs before it."""
    rules = holding.rules
    if rate_counts(kind, rules) != "fine-kg" or any(
        other.visit == kind.visit
        and _chips(other, rules)
        and wanted(other, plot, holding)
        and machines_come(other, plot, holding)
        for other in rules.tasks.values()
    ):
        return hours
    more_h = twigs_kg / rules.figure("brush-by-hand") - _spreading_h(twigs_kg, rules)
    return hours.scaled(1 + more_h / max(hours.usual, 1e-9))


def _chips(kind: TaskType, rules: RuleBook) -> bool:
    return bool(kind.kit) and rate_counts(kind, rules) == "chip-kg"


def _chipping(kind: TaskType, plot: Plot, holding: Holding) -> Chipping | None:
    """What a chipper would do with the twigs of a visit; None where none can be hired for it.

    None, too, for other work, and where too few twigs lie.
    """
    rules, rate = holding.rules, holding.rules.rates[kind.rate]
    hire = next((hire for hire in holding.crew.hire if hire.id in kind.kit), None)
    if hire is None or not isinstance(rate, AmountRate) or not _chips(kind, rules):
        return None
    twigs_kg = cut_in_visit(kind, plot, holding).twigs_kg
    if twigs_kg < (kind.least or 0.0):
        return None
    feeding_h = twigs_kg / rate.per_hour
    by_hand_h = twigs_kg / rules.figure("brush-by-hand")
    people = sum(kind.team.values())
    return Chipping(
        plot=plot,
        hire=hire,
        twigs_kg=twigs_kg,
        saved_h=by_hand_h - feeding_h - _spreading_h(twigs_kg, rules),
        days=math.ceil(feeding_h / people / rules.figure("hire-day-hours")),
        hour_price=holding.crew.hour_price,
    )


def _spreading_h(chips_kg: float, rules: RuleBook) -> float:
    """Person-hours that chips take to be spread with the fine layers."""
    rate = rules.rates["lay-fine"]
    return chips_kg / rate.per_hour if isinstance(rate, AmountRate) else 0.0
