"""What every rule about days has, and the switches that turn rules on and off."""

from typing import Literal

from scheduler.files.fields import Exposure, Slug, Told, WinterMonth, YesNo, table
from scheduler.terms import Basis


@table
class MonthSpan:
    """``{ first = 11.0, last = 2.8 }``: months after the local winter solstice; may wrap."""

    first: WinterMonth
    last: WinterMonth


@table
class CareSpan:
    """``{ first = 4.3, last = 6.3, words = "whitewash bared limbs" }``: open only with care.

    The days stand open once the switch ``care-months`` is on; until then they are told.
    """

    first: WinterMonth
    last: WinterMonth
    words: Told


@table
class Switch:
    """``[[switch]]``: how a site takes rules that differ by region.

    Args:
        id: name, as rules and task types give it.
        state: ``on`` makes the rule hold, ``off`` silences it; ``ask`` shows it beside the
            rules it pulls against, and leaves the choice to the grower.
    """

    id: Slug
    state: Literal["off", "ask", "on"]
    source: Told


@table
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

    id: Slug
    tasks: tuple[Slug, ...] = ()
    groups: tuple[Slug, ...] = ()
    exposes: tuple[Exposure, ...] = ()
    cuts_only: YesNo = False
    plants: tuple[Slug, ...] = ()
    switch: str = ""
    words: Told
    basis: Basis
    source: Told
