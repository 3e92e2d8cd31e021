"""The rules of the trade as data: kinds of plants, task types, rates, rules, cautions.

The package's own rule book stands in ``holding/rules/*.toml``; a site's ``rules.toml``
replaces entries by id or adds new ones. Every entry carries its source, or the words
``common practice, no source``.
"""

from collections.abc import Mapping

from scheduler.holding.dayrules import Rule
from scheduler.holding.fields import table
from scheduler.holding.plants import CoverTarget, CutShare, Equation, Plant, WoodSplit
from scheduler.holding.tasktypes import Caution, Rate, TaskType


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
        )
