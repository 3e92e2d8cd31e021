"""Kinds of rules about days: entries of the rule book. What each says is in ``windows``."""

from functools import reduce
from operator import or_
from typing import TYPE_CHECKING, Annotated, Literal, TypeAlias

from pydantic import Discriminator

from scheduler.files import fields
from scheduler.terms import Basis

CARE_MONTHS = "care-months"  # the switch that opens months which want care


@fields.table
class MonthSpan:
    """``{ first = 11.0, last = 2.8 }``: months after the local winter solstice; may wrap."""

    first: fields.WinterMonth
    last: fields.WinterMonth


@fields.table
class CareSpan(MonthSpan):
    """``{ first = 4.3, last = 6.3, words = "whitewash bared limbs" }``: open only with care.

    The days stand open once the switch ``care-months`` is on; until then they are told.
    """

    words: fields.Told


@fields.table
class RuleHead:
    """What every rule has: which tasks it speaks of, and what it rests on."""

    id: fields.Slug
    tasks: tuple[fields.Slug, ...] = ()  # task types or visits; all where left out
    groups: tuple[fields.Slug, ...] = ()  # groups of plants; all where left out
    exposes: tuple[fields.Exposure, ...] = ()  # tasks that expose one of these; all where left out
    cuts_only: fields.YesNo = False  # only tasks that cut living stock
    plants: tuple[fields.Slug, ...] = ()  # tasks that take one of these; all where left out
    switch: str = ""  # holds only where this switch of the site is on
    words: fields.Told  # the reason; ``{...}`` is filled in by the rule's kind
    basis: Basis
    source: fields.Told
    kind: str  # tells the kinds of rules apart


@fields.table
class PlainRule(RuleHead):
    """A rule that needs no figures of its own."""

    kind: Literal[
        "ripe",  # open in the months in which kinds of a picking task are ripe, round by round
        "after-last-frost",  # closed while the plot's frost window is open
        "own-dates",  # the grower's own dates for one task
        "closed-days",  # days that the grower has closed to some work
        "after-harvest",  # closed until the latest crop of the stock is picked
        "not-past",  # nothing is planned for days that have gone by
        "hire-notice",  # hired kit and people need notice
    ]


@fields.table
class WeeksRule(RuleHead):
    """A rule of so many weeks."""

    kind: Literal[
        # closed in the grower's dry months and in the weeks before them, which young plants want
        # before the ground dries out, where nobody waters
        "ahead-of-dry",
        # closed where the plot's frost window has been closed for longer; silent where none is
        "weeks-after-last-frost",
    ]
    weeks: fields.SomeWeeks


@fields.table
class PointsRule(RuleHead):
    """Prefers some days; closes none."""

    kind: Literal[
        "waning-moon",  # those of the waning moon; a grower practice, whatever the file says
        "hire-booked",  # those for which what is hired has been booked
    ]
    points: fields.Positive  # weight of such a day where preferences pull against one another


@fields.table
class MonthsRule(RuleHead):
    """Open only in these months after the local winter solstice."""

    kind: Literal["months"]
    spans: tuple[MonthSpan, ...]
    best: tuple[MonthSpan, ...] = ()  # months among them that are preferred


@fields.table
class WithRainsRule(RuleHead):
    """Open in the weeks after the grower's dry months end; by months where none are told."""

    kind: Literal["with-rains"]
    weeks: fields.SomeWeeks  # after the rains usually come
    spans: tuple[MonthSpan, ...]  # where the grower tells no dry months


@fields.table
class AfterFirstFrostRule(RuleHead):
    """Open in the weeks after frost has become likely in the plot."""

    kind: Literal["after-first-frost"]
    from_weeks: fields.WeeksBefore = 0.0  # after the frost window opens, from when on
    weeks: fields.SomeWeeks  # until when


@fields.table
class CutSeasonRule(RuleHead):
    """When and how a group of plants is cut: open in these months, on these conditions."""

    kind: Literal["cut-season"]
    spans: tuple[MonthSpan, ...]  # months after the local winter solstice in which it is cut
    best: tuple[MonthSpan, ...] = ()  # months among them that are preferred
    care: tuple[CareSpan, ...] = ()  # months in which it can be cut with care
    gate: str = ""  # state of the plant to wait for, or to be ahead of, in words
    dry: str = ""  # what dry weather it wants, in words
    heat_stop_c: fields.Celsius | None = None  # no cutting on hotter days, degrees C
    most: fields.Share | None = None  # largest share taken, of retained and pollarded trees
    most_of: fields.Told = "the crown"  # what the share is of
    confidence: Literal["high", "medium", "low"]  # how well the sources agree


@fields.table
class AvoidMonthsRule(RuleHead):
    """Months to keep out of where the region has what the switch names."""

    kind: Literal["avoid-months"]
    spans: tuple[MonthSpan, ...]
    # asks for a look or a call on every such day, and is no choice between rules of cutting
    standing: fields.YesNo = False


@fields.table
class HardenRule(RuleHead):
    """Closed in the weeks before the first frost, so that new growth can harden.

    Without ``weeks`` it takes those of frost.toml, for which new growth stays tender.
    """

    kind: Literal["harden-before-frost"]
    weeks: fields.GrowthWeeks | None = None


@fields.table
class BeforeFirstFrostRule(RuleHead):
    """Open only in the weeks before the plot's frost window opens."""

    kind: Literal["before-first-frost"]
    weeks: fields.SomeWeeks
    # once they have begun it stays open until the window closes: covers are wanted late rather
    # than never
    late: fields.YesNo = False


@fields.table
class BeforeLastFrostRule(RuleHead):
    """Open only in the weeks before the plot's frost window closes.

    Work for the whole holding goes by the plot that is released first.
    """

    kind: Literal["before-last-frost"]
    weeks: fields.SomeWeeks  # it opens so many weeks before that
    until_weeks: fields.WeeksBefore = 0.0  # it ends so many weeks before that


@fields.table
class DaylightRule(RuleHead):
    """Open only on days with so many hours of Sun."""

    kind: Literal["daylight"]
    hours: fields.Positive


@fields.table
class AfterFirstCutRule(RuleHead):
    """A second cut of the year: so long after the first of the same growing season."""

    kind: Literal["after-first-cut"]
    weeks: fields.WholeWeeks  # fewest weeks between
    until_weeks: fields.WholeWeeks  # most; an older cut was of another growing season


@fields.table
class CutOnceRule(RuleHead):
    """Closed for so many weeks after a known cut of all the stock: it is cut already."""

    kind: Literal["cut-once"]
    weeks: fields.WholeWeeks


@fields.table
class SignRule(RuleHead):
    """Closed around a sign of the plants, on the day the grower's ``[[phenology]]`` gives for it.

    It speaks of groups the grower has told the sign of; without a ``[[phenology]]`` it is silent.
    """

    kind: Literal["sign"]
    sign: fields.SignKind
    closes: Literal["from", "until"]  # the days ``from`` it on, or those ``until`` it is seen
    days: fields.NDays


@fields.table
class HeatStopRule(RuleHead):
    """Closed on days of the year that are often too hot for the cut by the record's maxima.

    The limit is ``heat_stop_c`` of the season rules of the plants that are cut.
    """

    kind: Literal["heat-stop"]
    chance: fields.Share  # share of such days over the limit, from which on they are closed
    years: fields.Positive  # fewest years of record


@fields.table
class ColdStopRule(RuleHead):
    """Closed on days of the year whose nights are often too cold for the cut at the plot."""

    kind: Literal["cold-stop"]
    below_c: fields.Celsius  # minimum at or below which wood is not cut, degrees C
    chance: fields.Share  # share of such nights, from which on they are closed
    years: fields.Positive  # fewest years of record


@fields.table
class DrySpellRule(RuleHead):
    """Closed where the weeks after a cut are usually not dry.

    The grower's ``[[dry]]`` months go before the record's rain; without either it is silent.
    """

    kind: Literal["dry-spell"]
    weeks: fields.SomeWeeks  # that are to be dry, from the day of the cut on
    wet_mm: fields.Positive  # rain of a wet day
    wet_share: fields.Share  # share of wet days in those weeks, above which they are not dry
    years: fields.Positive  # fewest years of record


if TYPE_CHECKING:
    Rule: TypeAlias = RuleHead
else:  # every kind that is defined above, told apart by what stands in ``kind``
    Rule = Annotated[reduce(or_, RuleHead.__subclasses__()), Discriminator("kind")]
