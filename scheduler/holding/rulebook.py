"""The rules of the trade as data: kinds of plants, task types, rates, rules, cautions.

The package's own rule book stands in ``holding/rules/*.toml``; a site's ``rules.toml``
replaces entries by id or adds new ones. Every entry carries its source, or the words
``common practice, no source``.
"""

import unicodedata
from collections.abc import Mapping
from functools import cached_property

from scheduler.files.fields import Positive, Slug, Told, table
from scheduler.holding.dayrules import CutSeasonRule, Rule
from scheduler.holding.plants import (
    CoverTarget,
    CrownLight,
    CutShare,
    Equation,
    Layer,
    LightClass,
    Plant,
    Regrowth,
    WoodSplit,
    Yield,
)
from scheduler.holding.rulehead import Switch
from scheduler.holding.tasktypes import Caution, Rate, TaskType, Tool


@table
class Figure:
    """``[[figure]]``: one number of the trade, by name.

    Args:
        id: name.
        value: the number.
        unit: what it counts, in words.
    """

    id: Slug
    value: Positive
    unit: Told
    source: Told


@table
class RuleFile:
    """What a rule file may hold."""

    plant: tuple[Plant, ...] = ()
    task: tuple[TaskType, ...] = ()
    rate: tuple[Rate, ...] = ()
    cut_share: tuple[CutShare, ...] = ()
    wood_split: tuple[WoodSplit, ...] = ()
    equation: tuple[Equation, ...] = ()
    cover_target: tuple[CoverTarget, ...] = ()
    rule: tuple[Rule, ...] = ()
    caution: tuple[Caution, ...] = ()
    switch: tuple[Switch, ...] = ()
    figure: tuple[Figure, ...] = ()
    tool: tuple[Tool, ...] = ()
    regrowth: tuple[Regrowth, ...] = ()
    crown_light: tuple[CrownLight, ...] = ()
    light_class: tuple[LightClass, ...] = ()
    layer: tuple[Layer, ...] = ()
    harvest: tuple[Yield, ...] = ()


def plain_name(name: str) -> str:
    """A name without accents, case, hyphens and the like, to be looked up.

    >>> plain_name("  Árbol-de la  seda ")
    'arbol de la seda'
    """
    bare = unicodedata.normalize("NFKD", name.casefold())
    letters = "".join(c for c in bare if not unicodedata.combining(c))
    return " ".join("".join(c if c.isalnum() else " " for c in letters).split())


@table
class RuleBook:
    """All entries in force, by id and in the order of the files."""

    plants: Mapping[str, Plant]
    tasks: Mapping[str, TaskType]
    rates: Mapping[str, Rate]
    cut_shares: Mapping[str, CutShare]
    wood_splits: Mapping[str, WoodSplit]
    equations: Mapping[str, Equation]
    cover_targets: Mapping[str, CoverTarget]
    rules: Mapping[str, Rule]
    cautions: Mapping[str, Caution]
    switches: Mapping[str, Switch]
    figures: Mapping[str, Figure]
    tools: Mapping[str, Tool]
    regrowths: Mapping[str, Regrowth]
    crown_lights: Mapping[str, CrownLight]
    light_classes: Mapping[str, LightClass]
    layers: Mapping[str, Layer]
    harvests: Mapping[str, Yield]

    @classmethod
    def of(cls, files: tuple[RuleFile, ...]) -> "RuleBook":
        """Lay rule files over one another; later entries replace earlier ones by id."""
        return cls(
            plants={entry.id: entry for file in files for entry in file.plant},
            tasks={entry.id: entry for file in files for entry in file.task},
            rates={entry.id: entry for file in files for entry in file.rate},
            cut_shares={entry.id: entry for file in files for entry in file.cut_share},
            wood_splits={entry.id: entry for file in files for entry in file.wood_split},
            equations={entry.id: entry for file in files for entry in file.equation},
            cover_targets={entry.id: entry for file in files for entry in file.cover_target},
            rules={entry.id: entry for file in files for entry in file.rule},
            cautions={entry.id: entry for file in files for entry in file.caution},
            switches={entry.id: entry for file in files for entry in file.switch},
            tools={entry.id: entry for file in files for entry in file.tool},
            figures={entry.id: entry for file in files for entry in file.figure},
            regrowths={entry.id: entry for file in files for entry in file.regrowth},
            crown_lights={entry.id: entry for file in files for entry in file.crown_light},
            light_classes={entry.id: entry for file in files for entry in file.light_class},
            layers={entry.id: entry for file in files for entry in file.layer},
            harvests={entry.id: entry for file in files for entry in file.harvest},
        )

    @cached_property
    def plant_named(self) -> dict[str, str]:
        """The id of each kind by its names, botanical and common, in any language, plain.

        A name that two kinds share is left out.
        """
        found: dict[str, set[str]] = {}
        for plant in self.plants.values():
            for name in (plant.id, plant.name, plant.botanical, *plant.names.every):
                found.setdefault(plain_name(name), set()).add(plant.id)
        return {name: ids.copy().pop() for name, ids in found.items() if len(ids) == 1}

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
