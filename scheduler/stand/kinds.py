"""Which plants of a plot are done together: kinds that disagree on their days part company."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import Picking, Plant, RuleBook, Stock, TaskType, dayrules

SLOTS = 120  # of the Sun's year, a tenth of a month each
SHARED = 0.6  # of each round, from which two kinds are picked in one go
MOST_NAMES = 3

Slots = NDArray[np.bool_]


@dataclass(frozen=True)
class Share:
    """Plants of a task that are done together.

    Args:
        part: what it is called by: its first kind, and the round once they are told apart.
        stock: the plants.
        round: which round of picking it is, from 1 on.
        rounds: how many there are.
    """

    part: str
    stock: tuple[Stock, ...]
    round: int = 1
    rounds: int = 1


def shares_of(kind: TaskType, stock: Sequence[Stock], rules: RuleBook) -> Iterator[Share]:
    """The plants of a task type by what is done together; all of them where it does not matter."""
    if not kind.by_kind:
        yield Share("", tuple(stock))
    elif kind.picks:
        yield from _picked_together(stock, rules)
    else:
        groups: dict[tuple[str, ...], list[Stock]] = {}
        for row in stock:
            groups.setdefault(_days_of(rules.plants[row.plant], rules), []).append(row)
        for rows in groups.values():
            yield Share(rows[0].plant, tuple(rows))


def _days_of(plant: Plant, rules: RuleBook) -> tuple[str, ...]:
    """What sets the days of cutting a kind: its rules, and its harvest where it waits for that."""
    after = any(
        isinstance(rule, dayrules.AfterHarvestRule) and plant.group in rule.groups
        for rule in rules.rules.values()
    )
    own = (plant.id,) if after else ()
    return (*(rule.id for rule in rules.cut_rules_of(plant.id)), plant.group, *own)


def _picked_together(stock: Sequence[Stock], rules: RuleBook) -> Iterator[Share]:
    """Kinds that are picked as often and at nearly the same times are picked in one go."""
    groups: list[list[Stock]] = []
    for row in stock:
        crop = rules.plants[row.plant].picked
        if crop is None:
            continue
        for rows in groups:
            if all(_ripe_alike(crop, rules.plants[other.plant].picked) for other in rows):
                rows.append(row)
                break
        else:
            groups.append([row])
    for rows in groups:
        picked = rules.plants[rows[0].plant].picked
        if picked is not None:
            yield Share(rows[0].plant, tuple(rows), rounds=picked.rounds)


def _ripe_alike(one: Picking, other: Picking | None) -> bool:
    """Whether two kinds are ripe together in each of their rounds."""
    if other is None or one.rounds != other.rounds:
        return False
    shorter = min((crop.last - crop.first) % 12 or 12 for crop in (one, other))
    apart = max(_months_apart(one.first, other.first), _months_apart(one.last, other.last))
    return apart <= (1 - SHARED) * shorter / one.rounds


def _months_apart(one: float, other: float) -> float:
    """Months between two times of the year, 0 to 6."""
    ahead = (one - other) % 12
    return min(ahead, 12 - ahead)


def rounds_of(share: Share, at_most: int) -> Iterator[Share]:
    """One share for each round, at most so many and at least one."""
    rounds = max(1, min(share.rounds, at_most))
    for n in range(1, rounds + 1):
        part = share.part if rounds == 1 else f"{share.part}-{n}"
        yield Share(part, share.stock, n, rounds)


def ripe_slots(crop: Picking, which: int = 1, of: int = 1) -> Slots:
    """(SLOTS,) the tenths of a month, from the winter solstice on, of a round of picking.

    Args:
        crop: months of the kind.
        which: the round, from 1 on.
        of: how many rounds share the time; 1 gives the whole of it.
    """
    first, last = round(10 * crop.first), round(10 * crop.last)
    span = (last - first) % SLOTS or SLOTS
    begin, end = first + span * (which - 1) // of, first + span * which // of
    slots = np.zeros(SLOTS, dtype=bool)
    slots[np.arange(begin, max(end, begin + 1)) % SLOTS] = True
    return slots


def names_of(stock: Sequence[Stock], rules: RuleBook) -> str:
    """The kinds of some stock by name: ``apple, pear and quince``."""
    names = list(dict.fromkeys(rules.plants[row.plant].name.lower() for row in stock))
    if len(names) > MOST_NAMES:
        names = [*names[: MOST_NAMES - 1], f"{len(names) - MOST_NAMES + 1} more kinds"]
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)
