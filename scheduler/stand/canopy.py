"""Crowns: what a cut takes of them, how they grow back, what they cover and shade."""

import math
from bisect import bisect_left
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from scheduler.holding import CrownLight, Holding, Plot, RuleBook, Stock
from scheduler.stand.warmth import MONTH_DAYS, Warmth
from scheduler.terms import N_SLOTS, slot_of

# How far ahead a day is looked for; no figure of the trade.
HORIZON_DAYS = 3653
# Cut systems that leave a crown, so that a largest share has a meaning.
LEAVES_A_CROWN = ("retained", "pollard")
BY_CALENDAR = Warmth(None)


def cut_share(row: Stock, rules: RuleBook) -> float:
    """Share of the crown that a cut takes off a row of stock, 0 to 1.

    What the grower sets; else what its cut system takes, and of trees that keep a crown no
    more than the rules of cutting allow its kind.
    """
    if row.cut_share is not None:
        return row.cut_share
    shares = [rules.cut_shares[row.cut_system].share]
    if row.cut_system in LEAVES_A_CROWN:
        most = (rule.most for rule in rules.cut_rules_of(row.plant))
        shares += [share for share in most if share is not None]
    return min(shares)


def grown_share(row: Stock, on: date, rules: RuleBook, warmth: Warmth) -> float:
    """Share of its full crown that a row has on a day, 0 to 1; in full without a last cut."""
    regrowth = rules.regrowth_of(row.plant)
    if row.last_cut is None or on < row.last_cut or regrowth is None:
        return 1.0
    return grown_after(row, warmth.months(row.last_cut, on, regrowth.base_c), rules)


def grown_after(row: Stock, months: float, rules: RuleBook) -> float:
    """Share of its full crown that a row has so many months of mean warmth after a cut.

    It grows back evenly from what the cut left (common practice, no source: the true curve is
    steep first).
    """
    regrowth = rules.regrowth_of(row.plant)
    if regrowth is None:
        return 1.0
    return 1.0 - cut_share(row, rules) * (1.0 - min(1.0, months / regrowth.months))


def is_full_again(row: Stock, on: date, rules: RuleBook, warmth: Warmth) -> bool:
    """Whether a crown is full again after a known cut."""
    if row.last_cut is None or row.last_cut > on or rules.regrowth_of(row.plant) is None:
        return False
    return grown_share(row, on, rules, warmth) >= 1.0


def first_day(since: date, holds: Callable[[date], bool]) -> date:
    """First day on which something holds that goes on to hold; the last looked at if on none."""
    n_days = bisect_left(
        range(HORIZON_DAYS), x=True, key=lambda n: holds(since + timedelta(days=n))
    )
    return since + timedelta(days=n_days)


def too_soon_months(row: Stock, on: date, rules: RuleBook) -> float | None:
    """Months since the last cut where that is sooner than the kind stands; else None."""
    regrowth = rules.regrowth_of(row.plant)
    if row.last_cut is None or regrowth is None or on < row.last_cut:
        return None
    months = (on - row.last_cut).days / MONTH_DAYS
    return months if months < regrowth.least_months else None


@dataclass(frozen=True, slots=True)
class Cover:
    """Crown cover of one stratum of one plot, what it is kept to, and at what it is cut.

    ``share`` is the sum of crown areas over the ground of the plot; layers overlap, so it may
    pass 1.
    """

    stratum: str
    share: float
    target: float
    trigger: float


def cover_of(
    plot: Plot,
    stock: Sequence[Stock],
    rules: RuleBook,
    on: date | None = None,
    warmth: Warmth = BY_CALENDAR,
) -> tuple[Cover, ...]:
    """Crown cover of each stratum that has a target, from tall to low.

    ``stock`` may be that of other plots too. Without a day all crowns count as grown out.
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
    plot: Plot, rows: Sequence[Stock], rules: RuleBook, on: date | None, warmth: Warmth
) -> float:
    areas_m2 = (
        _crown_m2(row) * (1.0 if on is None else grown_share(row, on, rules, warmth))
        for row in rows
    )
    return sum(areas_m2) / plot.area_m2


def _crown_m2(row: Stock) -> float:
    """Ground under the grown-out crowns of a row of stock, m2, taking crowns as discs."""
    return math.pi / 4 * row.crown_m**2 * row.count


def day_over(
    plot: Plot, cover: Cover, stock: Sequence[Stock], rules: RuleBook, on: date, warmth: Warmth
) -> date | None:
    """First day, ``on`` or later, on which a stratum stands at or above its trigger.

    None where even all crowns grown out stay below it. That trees grow beyond the crowns given
    is not reckoned with: measure again each year.
    """
    rows = in_stratum(plot, cover.stratum, stock)

    def is_over(day: date) -> bool:
        return _share_on(plot, rows, rules, day, warmth) >= cover.trigger

    return first_day(on, is_over) if is_over(on + timedelta(days=HORIZON_DAYS)) else None


def cuts_a_year(plot: Plot, cover: Cover, stock: Sequence[Stock], rules: RuleBook) -> float | None:
    """How many interventions a year a trigger means, in a year of mean warmth.

    The whole stratum is cut at once by its cut systems and grows back to the trigger.

    Returns:
        Cuts a year; 0 where the trigger is never reached, None where a cut does not bring
        the stratum below it.
    """
    rows = in_stratum(plot, cover.stratum, stock)

    def share_after(months: float) -> float:
        return sum(_crown_m2(row) * grown_after(row, months, rules) for row in rows) / plot.area_m2

    if share_after(math.inf) < cover.trigger:
        return 0.0
    if share_after(0.0) >= cover.trigger:
        return None
    # cover grows evenly from each month in which a kind is full again to the next
    regrowths = (rules.regrowth_of(row.plant) for row in rows)
    months = sorted({0.0, *(regrowth.months for regrowth in regrowths if regrowth is not None)})
    return 12.0 / float(np.interp(cover.trigger, [*map(share_after, months)], months))


def _crown_light(row: Stock, rules: RuleBook, *, bare: bool) -> float:
    """Share of the light that a crown of its habit lets through, 0 to 1, in leaf or bare."""
    light = rules.crown_lights[rules.plants[row.plant].habit]
    return light.bare if bare and light.bare is not None else light.through


def leafless(holding: Holding, on: date) -> frozenset[str]:
    """Kinds of the stock that stand without leaves on a day.

    The grower's own signs of leaf-out and leaf-fall go before the months of the rule book.
    """
    slot, bare = slot_of(f"{on:%m-%d}"), set()
    for name in {row.plant for row in holding.stock}:
        plant = holding.rules.plants[name]
        light = holding.rules.crown_lights[plant.habit]
        if light.bare is not None and not _in_leaf(plant.group, light, slot, holding):
            bare.add(name)
    return frozenset(bare)


def _in_leaf(group: str, light: CrownLight, slot: int, holding: Holding) -> bool:
    signs = {
        sign.sign: slot_of(sign.on) for sign in holding.site.phenology if group in sign.groups
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
    stratum that covers more than the ground counts as covering it once. Kinds in ``bare``
    stand leafless.
    """
    light = 1.0
    for stratum in rules.cover_targets:
        rows = in_stratum(plot, stratum, stock)
        areas_m2 = [_crown_m2(row) * grown_share(row, on, rules, warmth) for row in rows]
        if sum(areas_m2) > 0:
            through = sum(
                area_m2 * _crown_light(row, rules, bare=row.plant in bare)
                for area_m2, row in zip(areas_m2, rows, strict=True)
            ) / sum(areas_m2)
            light *= 1.0 - min(1.0, sum(areas_m2) / plot.area_m2) * (1.0 - through)
    return light
