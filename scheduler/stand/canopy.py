"""Crown cover by stratum, the light that reaches the alley, and the day a stratum is due."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.holding import CrownLight, Holding, Plot, RuleBook, Stock
from scheduler.stand.cutting import cut_share
from scheduler.stand.growth import HORIZON_DAYS, MONTH_DAYS, Warmth, grown_share
from scheduler.terms import N_SLOTS, slot_of


@dataclass(frozen=True, slots=True)
class Cover:
    """Crown cover of one stratum of one plot.

    Args:
        stratum: the layer.
        share: sum of crown areas over the ground of the plot; layers overlap, so it may
            pass 1.
        target: what the grower keeps it to; None where the rule book names none.
        trigger: cover at which it is cut.
    """

    stratum: str
    share: float
    target: float | None
    trigger: float = math.inf


def cover_of(
    plot: Plot,
    stock: Sequence[Stock],
    rules: RuleBook,
    on: date | None = None,
    warmth: Warmth | None = None,
) -> tuple[Cover, ...]:
    """Crown cover of each stratum that has a target, from tall to low.

    Args:
        plot: the plot.
        stock: stock of this and other plots.
        rules: the rule book.
        on: the day; left out, all crowns count as grown out.
        warmth: what regrowth is counted by; left out, calendar months.

    Returns:
        One cover a stratum.
    """
    triggers = {own.stratum: own.share for own in plot.trigger}
    return tuple(
        Cover(
            target.id,
            _share_on(plot, in_stratum(plot, target.id, stock), rules, on, warmth),
            target.share,
            triggers.get(target.id, target.trigger),
        )
        for target in rules.cover_targets.values()
    )


def in_stratum(plot: Plot, stratum: str, stock: Sequence[Stock]) -> tuple[Stock, ...]:
    """The rows of one stratum of one plot."""
    return tuple(row for row in stock if row.plot == plot.id and row.stratum == stratum)


def _share_on(
    plot: Plot, rows: Sequence[Stock], rules: RuleBook, on: date | None, warmth: Warmth | None
) -> float:
    counted = warmth or Warmth(None)
    area_m2 = sum(
        crown_m2(row) * (1.0 if on is None else grown_share(row, on, rules, counted))
        for row in rows
    )
    return area_m2 / plot.area_m2


def crown_m2(row: Stock) -> float:
    """Ground under the grown-out crowns of a row of stock, m2, taking crowns as discs."""
    return math.pi / 4 * row.crown_m**2 * row.count


def day_over(
    plot: Plot, cover: Cover, stock: Sequence[Stock], rules: RuleBook, on: date, warmth: Warmth
) -> date | None:
    """First day, ``on`` or later, on which a stratum stands at or above its trigger.

    Without another cut, crowns only grow back, so the day is found by halving. That trees
    grow beyond the crowns given is not reckoned with: measure again each year.

    Returns:
        The day; None where even all crowns grown out stay below the trigger.
    """
    rows = in_stratum(plot, cover.stratum, stock)
    low, high = on, on + timedelta(days=HORIZON_DAYS)
    if _share_on(plot, rows, rules, high, warmth) < cover.trigger:
        return None
    while low < high:
        middle = low + (high - low) // 2
        if _share_on(plot, rows, rules, middle, warmth) >= cover.trigger:
            high = middle
        else:
            low = middle + timedelta(days=1)
    return low


def cuts_a_year(plot: Plot, cover: Cover, stock: Sequence[Stock], rules: RuleBook) -> float | None:
    """How many interventions a year a trigger means, in a year of mean warmth.

    The whole stratum is cut at once by its cut systems and grows back to the trigger.

    Returns:
        Cuts a year; 0 where the trigger is never reached, None where a cut does not bring
        the stratum below it.
    """
    rows = in_stratum(plot, cover.stratum, stock)

    def share_after(months: float) -> float:
        parts = (crown_m2(row) * _grown_after(row, months, rules) for row in rows)
        return sum(parts) / plot.area_m2

    if share_after(math.inf) < cover.trigger:
        return 0.0
    if share_after(0.0) >= cover.trigger:
        return None
    low, high = 0.0, 1.0
    while share_after(high) < cover.trigger:
        low, high = high, 2 * high
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if share_after(middle) < cover.trigger else (low, middle)
    return 12.0 / high


def _grown_after(row: Stock, months: float, rules: RuleBook) -> float:
    regrowth = rules.regrowth_of(row.plant)
    if regrowth is None:
        return 1.0
    return 1.0 - cut_share(row, rules) * (1.0 - min(1.0, months / regrowth.months))


def crown_light(row: Stock, rules: RuleBook, *, bare: bool = False) -> float:
    """Share of the light that a crown lets through, 0 to 1.

    Where leaf area is known, Beer's law (Monsi and Saeki 1953, from memory):
    exp(-k * leaf area); else the share that the rule book gives its habit. A leafless crown
    lets through what the rule book gives for bare wood.
    """
    plant = rules.plants[row.plant]
    light = rules.crown_lights[plant.habit]
    if bare and light.bare is not None:
        return light.bare
    if plant.leaf_area is not None:
        return math.exp(-rules.figure("light-extinction") * plant.leaf_area)
    return light.through


def leafless(holding: Holding, on: date) -> frozenset[str]:
    """Kinds of the stock that stand without leaves on a day.

    The grower's own signs of leaf-out and leaf-fall go before the months of the rule book.
    """
    rules, there = holding.rules, {row.plant for row in holding.stock}
    slot = slot_of(f"{on:%m-%d}")
    return frozenset(
        name
        for name in there
        for light in (rules.crown_lights[rules.plants[name].habit],)
        if light.bare is not None and not _in_leaf(rules.plants[name].group, light, slot, holding)
    )


def _in_leaf(group: str, light: CrownLight, slot: int, holding: Holding) -> bool:
    signs: dict[str, int] = {
        told.sign: slot_of(told.on) for told in holding.site.sign if group in told.groups
    }
    # months of the Sun's year counted in days: within a tenth of a month of the true ones
    solstice = slot_of("06-21" if holding.site.place.southern else "12-21")
    first = signs.get("leaf-out", solstice + round(light.leaf_first * MONTH_DAYS))
    last = signs.get("leaf-fall", solstice + round(light.leaf_last * MONTH_DAYS))
    return (slot - first) % N_SLOTS < (last - first) % N_SLOTS


def alley_light(
    plot: Plot,
    stock: Sequence[Stock],
    rules: RuleBook,
    on: date,
    warmth: Warmth,
    bare: Collection[str] = (),
) -> float:
    """Share of open light that reaches the alley, 0 to 1.

    The product over the strata of 1 - cover * (1 - what their crowns let through); a
    stratum that covers more than the ground counts as covering it once.

    Args:
        plot: the plot.
        stock: stock of this and other plots.
        rules: the rule book.
        on: the day.
        warmth: what regrowth is counted by.
        bare: kinds that stand leafless; without them all crowns are in leaf.
    """
    light = 1.0
    for stratum in rules.cover_targets:
        rows = in_stratum(plot, stratum, stock)
        areas = [crown_m2(row) * grown_share(row, on, rules, warmth) for row in rows]
        if sum(areas) > 0:
            through = sum(
                area * crown_light(row, rules, bare=row.plant in bare)
                for area, row in zip(areas, rows, strict=True)
            ) / sum(areas)
            light *= 1.0 - min(1.0, sum(areas) / plot.area_m2) * (1.0 - through)
    return light
