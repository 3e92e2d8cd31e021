"""The rules of the trade as data: kinds of plants, task types, rates, rules, cautions.

The package's own rule book stands in ``holding/rules/*.toml``; a site's ``rules.toml``
replaces entries by id or adds new ones. Every entry carries its source, or the words
``common practice, no source``.
"""

from collections.abc import Mapping
from typing import Annotated, Literal, TypeAlias

from pydantic import Discriminator

from scheduler.holding.fields import (
    Amount,
    Celsius,
    Count,
    CountOfSome,
    CutSystem,
    Exposure,
    Number,
    Positive,
    Role,
    Share,
    Skill,
    Slug,
    Stratum,
    Told,
    Visit,
    WinterMonth,
    YesNo,
    table,
)
from scheduler.terms import Basis


@table
class Plant:
    """``[[plant]]``: one kind.

    Args:
        id: name used in ``stock.csv``.
        name: common name.
        botanical: scientific name.
        group: which rules of cutting speak of it, such as ``stone-fruit``.
        habit: keeps its leaves, drops them, or dies back.
        rest_c: temperature that kills it hardened and at rest, degrees C, where known.
        growth_c: temperature that kills new growth, degrees C.
        biomass: id of the equation for its mass; empty takes the crown equation of its
            habit.
        caution: what its sap, thorns or dust do to people, if anything.
        source: where the temperatures come from.
    """

    id: Slug
    name: Told
    botanical: Told
    group: Slug
    habit: Literal["evergreen", "deciduous", "herb"]
    rest_c: Celsius | None = None
    growth_c: Celsius = -1.0
    biomass: str = ""
    caution: str = ""
    source: Told


@table
class Selection:
    """``selects = {...}``: which stock a task type takes; an empty list takes all.

    Args:
        groups: groups of plants.
        strata: strata.
        roles: roles.
        cut_systems: cut systems.
        rest_c_above: only kinds that die at rest at more than this, degrees C.
        up_to_m: only plants no higher than this, m.
    """

    groups: tuple[Slug, ...] = ()
    strata: tuple[Stratum, ...] = ()
    roles: tuple[Role, ...] = ()
    cut_systems: tuple[CutSystem, ...] = ()
    rest_c_above: Celsius | None = None
    up_to_m: Positive | None = None


@table
class After:
    """``after = [{...}]``: a task type of the same plot that comes first.

    Args:
        task: id of the task type.
        min_days: days that must pass between; 0 allows the same day.
        within_days: at most so many days between, if it matters.
    """

    task: Slug
    min_days: Count = 0
    within_days: Count | None = None


@table
class TaskType:
    """``[[task]]``: one kind of work.

    Args:
        id: name; a task is called ``<plot>.<id>``.
        title: short imperative words.
        visit: the visit it belongs to.
        order: rank in the order of work of its visit.
        scope: once in each plot, or once for the holding.
        selects: the stock it takes; none for work on ground or material.
        after: what comes first in the same plot.
        rate: id of the rate its hours come from.
        team: smallest useful team, people by skill.
        crew_max: largest useful team; those above the smallest need ``hands`` only.
        kit: hired or own machines it needs.
        least: dropped where there is less than this of what its rate counts.
        climb_above_m: with a tree higher than this, one of the team must climb.
        cuts: whether it cuts living stock, so that rules of cutting apply.
        overhead: whether wood comes down over people's heads.
        exposes: what a frost can reach because of it.
        importance: 1 (may slip) to 9 (must not).
        how: the steps, in one or two sentences.
        tools: what to bring.
        record: what to write down afterwards.
        cautions: ids of cautions that always go with it.
        source: where order and content come from.
    """

    id: Slug
    title: Told
    visit: Visit
    order: CountOfSome
    scope: Literal["plot", "holding"] = "plot"
    selects: Selection | None = None
    after: tuple[After, ...] = ()
    rate: Slug
    team: dict[Skill, CountOfSome]
    crew_max: CountOfSome = 4
    kit: tuple[Slug, ...] = ()
    least: Positive | None = None
    climb_above_m: Positive | None = None
    cuts: YesNo = False
    overhead: YesNo = False
    exposes: tuple[Exposure, ...] = ()
    importance: CountOfSome = 5
    how: Told
    tools: str = ""
    record: str = ""
    cautions: tuple[Slug, ...] = ()
    source: Told


@table
class StemClass:
    """``{ up_to_cm = 21, minutes = 12.4 }``: cutting time of a tree by stem diameter."""

    up_to_cm: Positive
    minutes: Positive


@table
class StemRate:
    """``[[rate]]`` of kind ``by-stem``: person-minutes a tree by stem class.

    Args:
        stem: classes, thinnest first; thicker stems take the last.
        around_minutes: set-up and walking, once a tree.
        low: least factor on the whole.
        high: greatest factor on the whole.
    """

    kind: Literal["by-stem"]
    id: Slug
    stem: tuple[StemClass, ...]
    around_minutes: Amount
    low: Positive
    high: Positive
    source: Told


@table
class AmountRate:
    """``[[rate]]`` of kind ``by-amount``: so much of something in a person-hour.

    Args:
        of: what is counted; see ``stand/work.py``.
        per_hour: usual, ``low`` slowest and ``high`` fastest amount in a person-hour.
    """

    kind: Literal["by-amount"]
    id: Slug
    of: Literal[
        "line-area-m2", "plants", "alley-plants", "coarse-kg", "chip-kg", "fine-kg", "plots"
    ]
    per_hour: Positive
    low: Positive
    high: Positive
    source: Told


Rate: TypeAlias = Annotated[StemRate | AmountRate, Discriminator("kind")]


@table
class CutShare:
    """``[[cut_share]]``: share of the crown (or tree) that a cut takes, by cut system."""

    id: CutSystem
    share: Share
    source: Told


@table
class WoodSplit:
    """``[[wood_split]]``: what the cut wood of a cut system is, as shares of its mass.

    Args:
        logs: thicker than a forearm; laid first.
        branches: laid across the logs.
        twigs: chipped, or laid with the leaves.
    """

    id: CutSystem
    logs: Share
    branches: Share
    twigs: Share
    source: Told


@table
class Equation:
    """``[[equation]]``: a published dry mass (kg) from stem diameter (cm).

    Args:
        form: ``exp-ln`` is exp(a + b ln D), ``ten-log`` is 10^(a + b log10 D), ``power`` is
            a D^b.
        of: whole tree above ground, or branches or leaves of the crown.
        d_min_cm: thinnest stem it was fitted on.
        d_max_cm: thickest stem it was fitted on.
    """

    id: Slug
    form: Literal["exp-ln", "ten-log", "power"]
    of: Literal["tree", "branches", "leaves"]
    a: Number
    b: Number
    d_min_cm: Amount
    d_max_cm: Positive
    source: Told


@table
class CoverTarget:
    """``[[cover_target]]``: crown cover a stratum is kept to, as a share of the plot."""

    id: Stratum
    share: Share
    source: Told


@table
class MonthSpan:
    """``{ first = 11.0, last = 2.8 }``: months after the local winter solstice; may wrap."""

    first: WinterMonth
    last: WinterMonth


@table
class RuleHead:
    """What every rule has.

    Args:
        id: name.
        tasks: visits or task types it speaks of; all where left out.
        groups: groups of plants it speaks of; all where left out.
        exposes: speaks of tasks that expose one of these; all where left out.
        cuts_only: speaks only of tasks that cut living stock.
        words: the reason; ``{...}`` is filled in by the rule's kind.
        basis: what it rests on.
        source: where it comes from.
    """

    id: Slug
    tasks: tuple[Slug, ...] = ()
    groups: tuple[Slug, ...] = ()
    exposes: tuple[Exposure, ...] = ()
    cuts_only: YesNo = False
    words: Told
    basis: Basis
    source: Told


@table
class MonthsRule(RuleHead):
    """Open only in these months after the local winter solstice."""

    kind: Literal["months"]
    spans: tuple[MonthSpan, ...]


@table
class AfterLastFrostRule(RuleHead):
    """Closed while the plot's frost window is open."""

    kind: Literal["after-last-frost"]


@table
class HardenRule(RuleHead):
    """Closed in the weeks before the first frost, so that new growth can harden."""

    kind: Literal["harden-before-frost"]
    weeks: Positive


@table
class BeforeFirstFrostRule(RuleHead):
    """Open only in the weeks before the plot's frost window opens."""

    kind: Literal["before-first-frost"]
    weeks: Positive


@table
class DaylightRule(RuleHead):
    """Open only on days with so many hours of Sun."""

    kind: Literal["daylight"]
    hours: Positive


@table
class MoonRule(RuleHead):
    """Prefers days of the waning moon; a grower practice, whatever the file says.

    Args:
        points: how many days of waiting a waning day is worth.
    """

    kind: Literal["waning-moon"]
    points: Positive


@table
class OwnDatesRule(RuleHead):
    """The grower's own dates and closed days."""

    kind: Literal["own-dates"]


@table
class NotPastRule(RuleHead):
    """Nothing is planned for days that have gone by."""

    kind: Literal["not-past"]


@table
class HireNoticeRule(RuleHead):
    """Hired kit and people need notice."""

    kind: Literal["hire-notice"]


Rule: TypeAlias = Annotated[
    MonthsRule
    | AfterLastFrostRule
    | HardenRule
    | BeforeFirstFrostRule
    | DaylightRule
    | MoonRule
    | OwnDatesRule
    | NotPastRule
    | HireNoticeRule,
    Discriminator("kind"),
]


@table
class Caution:
    """``[[caution]]``: what can hurt people, in plain words.

    Args:
        id: name.
        hazards: kinds of plot hazard that call for it at every cutting task there.
        words: what to do.
        source: where it comes from.
    """

    id: Slug
    hazards: tuple[Slug, ...] = ()
    words: Told
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
