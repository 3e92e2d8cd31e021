"""Kinds of rules about days: entries of the rule book. What each says is in ``windows``."""

from typing import Annotated, Literal, TypeAlias

from pydantic import Discriminator

from scheduler.holding.fields import (
    Exposure,
    Positive,
    Slug,
    Told,
    WinterMonth,
    YesNo,
    table,
)
from scheduler.terms import Basis


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
    """The grower's own dates for one task."""

    kind: Literal["own-dates"]


@table
class ClosedDaysRule(RuleHead):
    """Days that the grower has closed to some work."""

    kind: Literal["closed-days"]


@table
class AfterHarvestRule(RuleHead):
    """Closed until the latest crop of the stock is picked."""

    kind: Literal["after-harvest"]


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
    | ClosedDaysRule
    | AfterHarvestRule
    | NotPastRule
    | HireNoticeRule,
    Discriminator("kind"),
]
