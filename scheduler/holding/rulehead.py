"""What every rule about days has, and the switches that turn rules on and off."""

from typing import Literal

from scheduler.files import fields
from scheduler.terms import Basis


@fields.table
class MonthSpan:
    """``{ first = 11.0, last = 2.8 }``: months after the local winter solstice; may wrap."""

    first: fields.WinterMonth
    last: fields.WinterMonth


@fields.table
class CareSpan:
    """``{ first = 4.3, last = 6.3, words = "whitewash bared limbs" }``: open only with care.

    The days stand open once the switch ``care-months`` is on; until then they are told.
    """

    first: fields.WinterMonth
    last: fields.WinterMonth
    words: fields.Told


@fields.table
class Switch:
    """``[[switch]]``: how a site takes rules that differ by region."""

    id: fields.Slug  # as rules and task types give it
    # ``on`` makes the rule hold, ``off`` silences it; ``ask`` shows it beside the rules it pulls
    # against, and leaves the choice to the grower
    state: Literal["off", "ask", "on"]
    source: fields.Told


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
