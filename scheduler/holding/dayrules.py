"""Kinds of rules about days: entries of the rule book. What each says is in ``windows``."""

from typing import Annotated, Literal, TypeAlias

from pydantic import Discriminator

from scheduler.files import fields
from scheduler.holding.rulehead import CareSpan, MonthSpan, RuleHead
from scheduler.holding.signs import SignKind

CARE_MONTHS = "care-months"  # the switch that opens months which want care


@fields.table
class MonthsRule(RuleHead):
    """Open only in these months after the local winter solstice.

    Args:
        spans: the months.
        best: months among them that are preferred.
    """

    kind: Literal["months"]
    spans: tuple[MonthSpan, ...]
    best: tuple[MonthSpan, ...] = ()


@fields.table
class AheadOfDryRule(RuleHead):
    """Closed in the grower's dry months and in the weeks before them, where nobody waters.

    Args:
        weeks: that young plants want before the ground dries out.
    """

    kind: Literal["ahead-of-dry"]
    weeks: fields.SomeWeeks


@fields.table
class WithRainsRule(RuleHead):
    """Open in the weeks after the grower's dry months end; by months where none are told.

    Args:
        weeks: after the rains usually come.
        spans: months after the winter solstice, where the grower tells no dry months.
    """

    kind: Literal["with-rains"]
    weeks: fields.SomeWeeks
    spans: tuple[MonthSpan, ...]


@fields.table
class AfterFirstFrostRule(RuleHead):
    """Open in the weeks after frost has become likely in the plot.

    Args:
        from_weeks: after the frost window opens, from when on.
        weeks: until when.
    """

    kind: Literal["after-first-frost"]
    from_weeks: fields.WeeksBefore = 0.0
    weeks: fields.SomeWeeks


@fields.table
class RipeRule(RuleHead):
    """Open in the months in which the kinds of a picking task are ripe, round by round."""

    kind: Literal["ripe"]


@fields.table
class CutSeasonRule(RuleHead):
    """When and how a group of plants is cut: open in these months, on these conditions.

    Args:
        spans: months after the local winter solstice in which it is cut.
        best: months among them that are preferred.
        care: months in which it can be cut with care.
        gate: state of the plant to wait for, or to be ahead of, in words.
        dry: what dry weather it wants, in words.
        heat_stop_c: no cutting on hotter days, degrees C.
        most: largest share of the crown taken, of retained and pollarded trees.
        most_of: what the share is of.
        confidence: how well the sources agree.
    """

    kind: Literal["cut-season"]
    spans: tuple[MonthSpan, ...]
    best: tuple[MonthSpan, ...] = ()
    care: tuple[CareSpan, ...] = ()
    gate: str = ""
    dry: str = ""
    heat_stop_c: fields.Celsius | None = None
    most: fields.Share | None = None
    most_of: fields.Told = "the crown"
    confidence: Literal["high", "medium", "low"]


@fields.table
class AvoidMonthsRule(RuleHead):
    """Months to keep out of where the region has what the switch names.

    Args:
        standing: asks for a look or a call on every such day, whatever day is chosen; it
            is no choice between rules of cutting.
    """

    kind: Literal["avoid-months"]
    spans: tuple[MonthSpan, ...]
    standing: fields.YesNo = False


@fields.table
class AfterLastFrostRule(RuleHead):
    """Closed while the plot's frost window is open."""

    kind: Literal["after-last-frost"]


@fields.table
class WeeksAfterFrostRule(RuleHead):
    """Closed where the plot's frost window has been closed for longer.

    Silent where frost never comes.

    Args:
        weeks: how many weeks after the window it is still wanted.
    """

    kind: Literal["weeks-after-last-frost"]
    weeks: fields.SomeWeeks


@fields.table
class HardenRule(RuleHead):
    """Closed in the weeks before the first frost, so that new growth can harden.

    Without ``weeks`` it takes those of frost.toml, for which new growth stays tender.
    """

    kind: Literal["harden-before-frost"]
    weeks: fields.SomeWeeks | None = None


@fields.table
class BeforeFirstFrostRule(RuleHead):
    """Open only in the weeks before the plot's frost window opens.

    Args:
        weeks: how many.
        late: once those weeks have begun it stays open until the window closes: what
            shields from frost is wanted late rather than never.
    """

    kind: Literal["before-first-frost"]
    weeks: fields.SomeWeeks
    late: fields.YesNo = False


@fields.table
class BeforeLastFrostRule(RuleHead):
    """Open only in the weeks before the plot's frost window closes.

    Work for the whole holding goes by the plot that is released first.

    Args:
        weeks: how many weeks before it opens.
        until_weeks: how many weeks before it ends.
    """

    kind: Literal["before-last-frost"]
    weeks: fields.SomeWeeks
    until_weeks: fields.WeeksBefore = 0.0


@fields.table
class DaylightRule(RuleHead):
    """Open only on days with so many hours of Sun."""

    kind: Literal["daylight"]
    hours: fields.Positive


@fields.table
class MoonRule(RuleHead):
    """Prefers days of the waning moon; a grower practice, whatever the file says.

    Args:
        points: how much a waning day counts where preferences pull against one another.
    """

    kind: Literal["waning-moon"]
    points: fields.Positive


@fields.table
class OwnDatesRule(RuleHead):
    """The grower's own dates for one task."""

    kind: Literal["own-dates"]


@fields.table
class ClosedDaysRule(RuleHead):
    """Days that the grower has closed to some work."""

    kind: Literal["closed-days"]


@fields.table
class AfterHarvestRule(RuleHead):
    """Closed until the latest crop of the stock is picked."""

    kind: Literal["after-harvest"]


@fields.table
class AfterFirstCutRule(RuleHead):
    """A second cut of the year: so long after the first of the same growing season.

    Args:
        weeks: fewest weeks between.
        until_weeks: most weeks between; an older cut was of another growing season.
    """

    kind: Literal["after-first-cut"]
    weeks: fields.WholeWeeks
    until_weeks: fields.WholeWeeks


@fields.table
class CutOnceRule(RuleHead):
    """Closed for so many weeks after a known cut of all the stock: it is cut already."""

    kind: Literal["cut-once"]
    weeks: fields.WholeWeeks


@fields.table
class NotPastRule(RuleHead):
    """Nothing is planned for days that have gone by."""

    kind: Literal["not-past"]


@fields.table
class HireNoticeRule(RuleHead):
    """Hired kit and people need notice."""

    kind: Literal["hire-notice"]


@fields.table
class HireBookedRule(RuleHead):
    """Prefers the days for which what is hired has been booked.

    Args:
        points: how much such a day counts where preferences pull against one another.
    """

    kind: Literal["hire-booked"]
    points: fields.Positive


@fields.table
class SignRule(RuleHead):
    """Closed around a sign of the plants, on the day the grower's ``[[sign]]`` gives for it.

    It speaks of groups the grower has told the sign of; without a ``[[sign]]`` it is silent.

    Args:
        sign: what is seen.
        closes: the days ``from`` it on, or those ``until`` it is seen.
        days: how many.
    """

    kind: Literal["sign"]
    sign: SignKind
    closes: Literal["from", "until"]
    days: fields.NDays


@fields.table
class HeatStopRule(RuleHead):
    """Closed on days of the year that are often too hot for the cut by the record's maxima.

    The limit is ``heat_stop_c`` of the season rules of the plants that are cut.

    Args:
        chance: share of such days over the limit, from which on they are closed.
        years: fewest years of record.
    """

    kind: Literal["heat-stop"]
    chance: fields.Share
    years: fields.Positive


@fields.table
class ColdStopRule(RuleHead):
    """Closed on days of the year whose nights are often too cold for the cut at the plot.

    Args:
        below_c: minimum at or below which wood is not cut, degrees C.
        chance: share of such nights, from which on they are closed.
        years: fewest years of record.
    """

    kind: Literal["cold-stop"]
    below_c: fields.Celsius
    chance: fields.Share
    years: fields.Positive


@fields.table
class DrySpellRule(RuleHead):
    """Closed where the weeks after a cut are usually not dry.

    The grower's ``[[dry]]`` months go before the record's rain; without either it is silent.

    Args:
        weeks: that are to be dry, from the day of the cut on.
        wet_mm: rain of a wet day.
        wet_share: share of wet days in those weeks, above which they are not dry.
        years: fewest years of record.
    """

    kind: Literal["dry-spell"]
    weeks: fields.SomeWeeks
    wet_mm: fields.Positive
    wet_share: fields.Share
    years: fields.Positive


Rule: TypeAlias = Annotated[
    MonthsRule
    | RipeRule
    | AheadOfDryRule
    | WithRainsRule
    | AfterFirstFrostRule
    | CutSeasonRule
    | AvoidMonthsRule
    | AfterLastFrostRule
    | WeeksAfterFrostRule
    | HardenRule
    | BeforeFirstFrostRule
    | BeforeLastFrostRule
    | DaylightRule
    | MoonRule
    | OwnDatesRule
    | ClosedDaysRule
    | AfterHarvestRule
    | AfterFirstCutRule
    | CutOnceRule
    | NotPastRule
    | SignRule
    | HeatStopRule
    | ColdStopRule
    | DrySpellRule
    | HireNoticeRule
    | HireBookedRule,
    Discriminator("kind"),
]
