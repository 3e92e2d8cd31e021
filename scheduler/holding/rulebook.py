"""The rules of the trade as data: kinds of plants, task types, rates, rules, cautions.

The package's own rule book stands in ``holding/rules/*.toml``; a site's ``rules.toml``
replaces entries by id or adds new ones. Every entry carries its source, or the words
``common practice, no source``.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from types import GenericAlias
from typing import Annotated, Literal, get_args, get_type_hints

from scheduler.files import fields
from scheduler.holding.dayrules import CutSeasonRule, Rule
from scheduler.holding.kind_names import KindNames
from scheduler.holding.plants import (
    CoverTarget,
    CrownLight,
    CutShare,
    Equation,
    Layer,
    LightClass,
    Plant,
    PlantGrowth,
    Regrowth,
    Usual,
    WoodSplit,
    Yield,
)
from scheduler.holding.tasktypes import Caution, Rate, TaskType, Tool


@fields.table
class Switch:
    """``[[switch]]``: how a site takes rules that differ by region."""

    id: fields.Slug  # as rules and task types give it
    # ``on`` makes the rule hold, ``off`` silences it; ``ask`` shows it beside the rules it pulls
    # against, and leaves the choice to the grower
    state: Literal["off", "ask", "on"]
    source: fields.Told


@fields.table
class Figure:
    """``[[figure]]``: one number of the trade, by name."""

    id: fields.Slug
    value: fields.Positive
    unit: fields.Told  # what it counts, in words
    source: fields.Told


@fields.table
class RuleBook:
    """All entries in force, by id and in the order of the files.

    Each field is a table of a rule file, annotated with the table's name there.
    """

    plants: Annotated[Mapping[str, Plant], "plant"]
    tasks: Annotated[Mapping[str, TaskType], "task"]
    rates: Annotated[Mapping[str, Rate], "rate"]
    cut_shares: Annotated[Mapping[str, CutShare], "cut_share"]
    wood_splits: Annotated[Mapping[str, WoodSplit], "wood_split"]
    equations: Annotated[Mapping[str, Equation], "equation"]
    cover_targets: Annotated[Mapping[str, CoverTarget], "cover_target"]
    rules: Annotated[Mapping[str, Rule], "rule"]
    cautions: Annotated[Mapping[str, Caution], "caution"]
    switches: Annotated[Mapping[str, Switch], "switch"]
    figures: Annotated[Mapping[str, Figure], "figure"]
    tools: Annotated[Mapping[str, Tool], "tool"]
    regrowths: Annotated[Mapping[str, Regrowth], "regrowth"]
    crown_lights: Annotated[Mapping[str, CrownLight], "crown_light"]
    light_classes: Annotated[Mapping[str, LightClass], "light_class"]
    layers: Annotated[Mapping[str, Layer], "layer"]
    harvests: Annotated[Mapping[str, Yield], "harvest"]
    usuals: Annotated[Mapping[str, Usual], "usual"]
    growths: Annotated[Mapping[str, PlantGrowth], "growth"]
    likenesses: Annotated[Mapping[str, Plant], "likeness"]  # plants by three answers

    @classmethod
    def of(cls, files: Sequence[object]) -> "RuleBook":
        """Lay instances of ``RuleFile`` over one another; later entries replace others by id."""
        return cls(
            **{
                name: {entry.id: entry for file in files for entry in getattr(file, key)}
                for name, key, _ in _tables()
            }
        )

    @cached_property
    def kind_names(self) -> KindNames:
        """The kinds by all of their names."""
        return KindNames.of(self.plants.values())

    def figure(self, name: str) -> float:
        """The number of the trade of that name."""
        return self.figures[name].value

    def regrowth_of(self, plant_id: str) -> Regrowth | None:
        """How a kind comes back after a cut: by its own entry, else by that of its group."""
        own = self.regrowths.get(plant_id)
        return own or self.regrowths.get(self.plants[plant_id].group)

    def is_on(self, switch: str) -> bool:
        """Whether the site has switched it on; what names no switch is always on."""
        return not switch or self.switches[switch].state == "on"

    def cut_rules_of(self, plant_id: str) -> tuple[CutSeasonRule, ...]:
        """The rules in force that say when and how a kind is cut: its own, else its group's."""
        group = self.plants[plant_id].group
        every = [
            rule
            for rule in self.rules.values()
            if isinstance(rule, CutSeasonRule) and self.is_on(rule.switch)
        ]
        own = tuple(rule for rule in every if plant_id in rule.plants)
        return own or tuple(rule for rule in every if group in rule.groups)


def _tables() -> Iterator[tuple[str, str, GenericAlias]]:
    """Each table: its name in the book, its name in a file, and the type of its list there."""
    for name, hint in get_type_hints(RuleBook, include_extras=True).items():
        by_id, key = get_args(hint)
        yield name, key, GenericAlias(tuple, (get_args(by_id)[1], ...))


# What a rule file may hold: the entries of each table of the book, as a list.
_LISTS = {key: entries for _, key, entries in _tables()}
RuleFile: type[object] = fields.table(
    type("RuleFile", (), {"__annotations__": _LISTS, **dict.fromkeys(_LISTS, ())})
)
