"""Who a piece of work needs at the least, and what can hurt them."""

import math
from collections.abc import Iterator, Mapping, Sequence

from scheduler.files import fields
from scheduler.holding import Caution, Holding, Plot, RuleBook, Stock, TaskType
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
    if any(batch.skill == CLIMBER for batch in batches):
        team["climber"] = 1
    elif holding.site.works_alone:
        skilled = [skill for skill in team if skill != "hands"]
        return {skilled[0] if skilled else "hands": 1}
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


def cautions_of(
    kind: TaskType, stock: Sequence[Stock], plot: Plot | None, rules: RuleBook
) -> tuple[Caution, ...]:
    """The cautions of a kind of work, and those that the hazards of the plot call for."""
    tallest_m = max((row.height_m for row in stock), default=math.inf)
    told = (rules.cautions[name] for name in kind.cautions)
    own = [caution for caution in told if tallest_m > caution.above_m]
    hazards = {hazard.kind for hazard in plot.hazard} if plot else set()
    called = (c for c in rules.cautions.values() if hazards & set(c.hazards) and c not in own)
    return (*own, *(called if kind.cuts or kind.heavy else ()))


def caution_words(
    kind: TaskType, stock: Sequence[Stock], plot: Plot | None, rules: RuleBook
) -> Iterator[str]:
    """What can hurt people at a task, a sentence each."""
    for caution in cautions_of(kind, stock, plot, rules):
        yield caution.words
    if kind.cuts:
        for plant_id in dict.fromkeys(row.plant for row in stock):
            plant = rules.plants[plant_id]
            if plant.caution:
                yield f"{plant.name}: {plant.caution}"
