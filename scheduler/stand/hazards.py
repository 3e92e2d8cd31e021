"""Who a piece of work needs at the least, what can hurt them, and on what conditions it is done.

Limits of heat and vibration follow published formulas. They are reminders for planning; local
law and the state of the person go before them.

Decided: stock near a power line is the utility's with all work on it, picking too. Held by
tests/stand/test_hazards.py::test_nobody_picks_whitewashes_or_covers_trees_that_nobody_may_cut.
"""

import math
from collections.abc import Iterator, Mapping, Sequence

from scheduler.files import fields
from scheduler.holding import Caution, Holding, Plot, RuleBook, Stock, TaskType
from scheduler.stand.canopy import LEAVES_A_CROWN
from scheduler.stand.rates import CLIMBER, LEAST_TOGETHER, Batch


def team_of(
    kind: TaskType, stock: Sequence[Stock], batches: Sequence[Batch], holding: Holding
) -> dict[fields.Skill, int]:
    """The smallest useful team.

    Somebody climbs where a tool is climbed with. Nobody is alone at a saw, a chipper or a
    ladder, unless the site says that the grower works alone: then one person fills the places
    one after another.
    """
    team: dict[fields.Skill, int] = dict(kind.team)
    climbed: dict[fields.Skill, int] = {}
    if any(batch.skill == CLIMBER for batch in batches):
        climbed["climber"] = 1
    if holding.site.works_alone:  # whoever climbs is somebody else
        skilled = [skill for skill in team if skill not in ("hands", CLIMBER)]
        return {skilled[0] if skilled else "hands": 1} | climbed
    team |= climbed
    if wants_two(kind, stock, batches, holding.rules):
        missing = LEAST_TOGETHER - sum(n for skill, n in team.items() if skill != CLIMBER)
        team["hands"] = team.get("hands", 0) + max(missing, 0)
    return team


def wants_two(
    kind: TaskType, stock: Sequence[Stock], batches: Sequence[Batch], rules: RuleBook
) -> bool:
    """Whether nobody may be alone at it: saws, chippers, climbing, ladders."""
    tallest_m = max((row.height_m for row in stock), default=0.0)
    ladder = "ladder" in kind.cautions and tallest_m > rules.cautions["ladder"].above_m
    sawn = any(batch.skill in ("ground-saw", CLIMBER) for batch in batches)
    return ladder or sawn or "ground-saw" in kind.team or bool(kind.kit)


def hired_for(
    kind: TaskType, team: Mapping[fields.Skill, int], holding: Holding
) -> tuple[str, ...]:
    """What has to be hired for a task: its machines, and a climber where the crew has none."""
    own_skills = {skill for person in holding.crew.person for skill in person.skills}
    on_hire = {hire.id for hire in holding.crew.hire}
    climbs = [CLIMBER] if CLIMBER in team and CLIMBER not in own_skills else []
    return tuple(name for name in (*climbs, *kind.kit) if name in on_hire)


def line_distance_m(plot: Plot, row: Stock) -> float:
    """Distance of a row of stock to a power line, m.

    The row's own word goes first, then that of its tree line, then that of the plot; a power
    line whose distance nobody told counts as 0, none at all as infinity.
    """
    of_line = next((line.power_line_m for line in plot.line if line.id == row.line), None)
    for distance_m in (row.power_line_m, of_line):
        if distance_m is not None:
            return distance_m
    hazards = (hazard for hazard in plot.hazard if hazard.kind == "power-line")
    return min((hazard.distance_m or 0.0 for hazard in hazards), default=math.inf)


def is_locked_out(row: Stock, plot: Plot | None, rules: RuleBook) -> bool:
    """Whether its trees could come within the clearance of a power line: not for the crew.

    A ladder or a picking pole comes as near to the line as a saw does.
    """
    reach_m = row.height_m + rules.figure("line-clearance")
    return plot is not None and line_distance_m(plot, row) < reach_m


def cautions_of(
    kind: TaskType, stock: Sequence[Stock], plot: Plot | None, rules: RuleBook
) -> tuple[Caution, ...]:
    """The cautions of a kind of work, and those that the hazards of the plot call for."""
    tallest_m = max((row.height_m for row in stock), default=math.inf)
    every = (rules.cautions[name] for name in kind.cautions)
    own = [caution for caution in every if tallest_m > caution.above_m]
    hazards = {hazard.kind for hazard in plot.hazard} if plot else set()
    called = (c for c in rules.cautions.values() if hazards & set(c.hazards) and c not in own)
    return (*own, *(called if kind.cuts or kind.heavy else ()))


def caution_words(
    kind: TaskType,
    stock: Sequence[Stock],
    batches: Sequence[Batch],
    plot: Plot | None,
    rules: RuleBook,
) -> Iterator[str]:
    """What can hurt people at a task, a sentence each: general, of its plants, of its figures."""
    for caution in cautions_of(kind, stock, plot, rules):
        yield caution.words
    for plant_id in dict.fromkeys(row.plant for row in stock if kind.cuts):
        plant = rules.plants[plant_id]
        if plant.caution:
            yield f"{plant.name}: {plant.caution}"
    if kind.overhead and stock:
        tallest_m = max(row.height_m for row in stock)
        clear_m = rules.figure("tree-lengths") * tallest_m
        yield (
            f"The tallest tree here is {tallest_m:g} m: nobody else works within {clear_m:g} m "
            "of it, more where wood may roll."
        )
    for name in dict.fromkeys(batch.tool for batch in batches):
        yield from _vibration_words(name, rules)
    if "heat" in kind.cautions:
        yield _heat_words(kind, rules)


def _vibration_words(name: str, rules: RuleBook) -> Iterator[str]:
    vibration_m_s2 = rules.tools[name].vibration_m_s2
    if vibration_m_s2 > 0:
        action_h = vibration_hours(vibration_m_s2, rules.figure("vibration-action"))
        yield (
            f"{name.replace('-', ' ').capitalize()} at {vibration_m_s2:g} m/s2: at most "
            f"{action_h:.1f} h of running a person and day, then somebody else; go by the "
            "maker's plate."
        )


def _heat_words(kind: TaskType, rules: RuleBook) -> str:
    """Limits as air temperatures in shade, for those used to heat and those not yet."""
    humidity = rules.figure("heat-humidity")
    used, new = (
        air_at_wbgt_c(limit(kind.effort_w), humidity)
        for limit in (exposure_limit_c, alert_limit_c)
    )
    return (
        f"Heat at this work ({kind.effort_w:g} W): breaks and watching from about {new:.0f} °C of "
        f"air at {humidity:g} % humidity for those not yet used to it, from {used:.0f} °C for "
        "anybody; hotter, stop."
    )


def alert_limit_c(effort_w: float) -> float:
    """Recommended alert limit for people not used to the heat, degrees C WBGT.

    NIOSH 2016-106: 59.9 - 14.1 log10 M, with M the metabolic rate of a person of 70 kg, watts.
    """
    return 59.9 - 14.1 * math.log10(effort_w)


def exposure_limit_c(effort_w: float) -> float:
    """Recommended exposure limit for people used to it; NIOSH 2016-106: 56.7 - 11.5 log10 M."""
    return 56.7 - 11.5 * math.log10(effort_w)


def wbgt_shade_c(air_c: float, humidity_pct: float) -> float:
    """Simplified wet bulb globe temperature, degrees C: light wind, moderate sun.

    0.567 T + 0.393 e + 3.94 with e the vapour pressure in hPa (Australian Bureau of
    Meteorology, from memory). It reads too high under cloud and in wind, too low in still
    full sun.
    """
    vapour_hpa = humidity_pct / 100 * 6.105 * math.exp(17.27 * air_c / (237.7 + air_c))
    return 0.567 * air_c + 0.393 * vapour_hpa + 3.94


def air_at_wbgt_c(wbgt_c: float, humidity_pct: float) -> float:
    """Air temperature, -20 to 60 degrees C, at which the simplified WBGT reaches a value."""
    low, high = -20.0, 60.0
    for _ in range(40):
        middle = (low + high) / 2
        if wbgt_shade_c(middle, humidity_pct) < wbgt_c:
            low = middle
        else:
            high = middle
    return low


def vibration_hours(vibration_m_s2: float, daily_m_s2: float) -> float:
    """Hours of running a tool until a daily vibration value over 8 h is reached.

    8 h * (A / a)^2: HSE, hand-arm vibration.

    >>> vibration_hours(5.0, 2.5)
    2.0
    """
    return 8.0 * (daily_m_s2 / vibration_m_s2) ** 2


def conditions_of(stock: Sequence[Stock], rules: RuleBook) -> tuple[str, ...]:
    """What the rules of cutting ask of the day and the cut, a sentence a rule."""
    conditions: dict[str, str] = {}
    for row in stock:
        for rule in rules.cut_rules_of(row.plant):
            wants = [rule.gate, rule.dry]
            if rule.heat_stop_c is not None:
                wants.append(f"not above {rule.heat_stop_c:g} °C")
            if rule.most is not None and row.cut_system in LEAVES_A_CROWN:
                wants.append(f"at most {rule.most:.0%} of {rule.most_of}")
            if any(wants):
                whom = ", ".join(rule.groups or rule.plants).replace("-", " ")
                conditions[rule.id] = (
                    f"{whom}: {'; '.join(filter(None, wants))} (confidence {rule.confidence})."
                )
    return tuple(conditions.values())
