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
    """``[[switch]]``: how a site takes rules that differ by region.

    Args:
        id: name, as rules and task types give it.
        state: ``on`` makes the rule hold, ``off`` silences it; ``ask`` shows it beside the
            rules it pulls against, and leaves the choice to the grower.
    """

    id: fields.Slug
    state: Literal["off", "ask", "on"]
    source: fields.Told


@fields.table
class RuleHead:
    """What every rule has.

    Args:
        id: name.
        tasks: visits or task types it speaks of; all where left out.
        groups: groups of plants it speaks of; all where left out.
        exposes: speaks of tasks that expose one of these; all where left out.
        cuts_only: speaks only of tasks that cut living stock.
        plants: speaks of tasks that take one of these kinds; all where left out.
        switch: holds only where this switch of the site is on.
        words: the reason; ``{...}`` is filled in by the rule's kind.
        basis: what it rests on.
        source: where it comes from.
    """

    id: fields.Slug
    tasks: tuple[fields.Slug, ...] = ()
    groups: tuple[fields.Slug, ...] = ()
    exposes: tuple[fields.Exposure, ...] = ()
    cuts_only: fields.YesNo = False
    plants: tuple[fields.Slug, ...] = ()
    switch: str = ""
    words: fields.Told
    basis: Basis
    source: fields.Told
