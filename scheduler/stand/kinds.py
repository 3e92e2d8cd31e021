"""Which plants of a plot are done together: kinds that disagree on their days part company."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduler.holding import Picking, Plant, RuleBook, Stock, TaskType

SHARED = 0.6  # of each round, from which two kinds are picked in one go
MOST_NAMES = 3


@dataclass(frozen=True)
class Share:
    """Plants of a task that are done together, in one of its rounds, from 1 on.

    ``part`` is what it is called by: its first kind and the round, once they are told apart.
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
    cut_rules = [rule.id for rule in rules.cut_rules_of(plant.id)]
    for rule in rules.rules.values():
        if rule.kind == "after-harvest" and plant.group in rule.groups:
            return (*cut_rules, plant.group, plant.id)
    return (*cut_rules, plant.group)


def _picked_together(stock: Sequence[Stock], rules: RuleBook) -> Iterator[Share]:
    """Kinds that are picked as often and at nearly the same times are picked in one go."""
    groups: list[list[tuple[Picking, Stock]]] = []
    for row in stock:
        crop = rules.plants[row.plant].picked
        if crop is None:
            continue
        for group in groups:
            if all(_ripe_alike(crop, other) for other, _ in group):
                group.append((crop, row))
                break
        else:
            groups.append([(crop, row)])
    for group in groups:
        rows = tuple(row for _, row in group)
        yield Share(rows[0].plant, rows, rounds=group[0][0].rounds)


def _ripe_alike(crop: Picking, other: Picking) -> bool:
    """Whether two kinds are ripe together in each of their rounds."""
    shorter = min((each.last - each.first) % 12 or 12 for each in (crop, other))
    ahead = ((crop.first - other.first) % 12, (crop.last - other.last) % 12)
    apart = max(min(months, 12 - months) for months in ahead)  # round the year, 0 to 6
    return crop.rounds == other.rounds and apart <= (1 - SHARED) * shorter / crop.rounds


def rounds_of(share: Share, at_most: int) -> Iterator[Share]:
    """One share for each round, at most so many and at least one."""
    rounds = max(1, min(share.rounds, at_most))
    for n in range(1, rounds + 1):
        names = (share.part, f"{n}" if rounds > 1 else "")
        yield Share("-".join(filter(None, names)), share.stock, n, rounds)


def names_of(stock: Sequence[Stock], rules: RuleBook) -> str:
    """The kinds of some stock by name: ``apple, pear and quince``."""
    names = list(dict.fromkeys(rules.plants[row.plant].name.lower() for row in stock))
    if len(names) > MOST_NAMES:
        names = [*names[: MOST_NAMES - 1], f"{len(names) - MOST_NAMES + 1} more kinds"]
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)
