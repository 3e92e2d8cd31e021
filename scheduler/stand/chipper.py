"""Whether a hired chipper pays: hours of the plan with it against hours without.

Chipped twigs are fed to the machine and spread with the fine layers; without it they are
sectioned and laid by hand. The plan has the one or the other, and both are told by the same
figures.
"""

import math
from dataclasses import dataclass

from scheduler.holding import AmountRate, Hire, Holding, Plot, RuleBook, TaskType

CHIPS = "chip-kg"  # what the rate of a chipping task counts
FINE = "fine-kg"


@dataclass(frozen=True)
class Chipping:
    """What a chipper would do in one visit of a plot.

    Args:
        plot: the plot.
        hire: the firm.
        twigs_kg: what would be chipped, fresh kg.
        saved_h: person-hours fewer with it than without.
        days: days of hire.
        hour_price: what an hour is worth to the grower; None where nobody says.
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


def chipping_of(kind: TaskType, plot: Plot, twigs_kg: float, holding: Holding) -> Chipping | None:
    """What a chipper would do with so many twigs; None where none can be hired or too few lie.

    Args:
        kind: the chipping task.
        plot: where.
        twigs_kg: fresh mass of the twigs that the visit brings down.
        holding: the site's files.
    """
    rules, rate = holding.rules, holding.rules.rates[kind.rate]
    hire = next((hire for hire in holding.crew.hire if hire.id in kind.kit), None)
    if hire is None or not isinstance(rate, AmountRate) or twigs_kg < (kind.least or 0.0):
        return None
    feeding_h = twigs_kg / rate.per_hour
    people = sum(kind.team.values())
    return Chipping(
        plot,
        hire,
        twigs_kg,
        twigs_kg / rules.figure("brush-by-hand") - feeding_h - spreading_h(twigs_kg, rules),
        math.ceil(feeding_h / people / rules.figure("hire-day-hours")),
        holding.crew.hour_price,
    )


def spreading_h(chips_kg: float, rules: RuleBook) -> float:
    """Person-hours that chips take to be spread with the fine layers."""
    rate = rules.rates["lay-fine"]
    return chips_kg / rate.per_hour if isinstance(rate, AmountRate) else 0.0


def by_hand_h(twigs_kg: float, rules: RuleBook) -> float:
    """Person-hours more that twigs take by hand than as chips are spread."""
    return twigs_kg / rules.figure("brush-by-hand") - spreading_h(twigs_kg, rules)
