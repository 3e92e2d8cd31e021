"""How much of a crown may go, and on what conditions a kind is cut."""

from collections.abc import Iterator, Sequence

from scheduler.holding import RuleBook, Stock, dayrules

# Cut systems that leave a crown, so that a largest share has a meaning.
_LEAVES_A_CROWN = ("retained", "pollard")


def cut_share(row: Stock, rules: RuleBook) -> float:
    """Share of the crown that a cut takes off a row of stock, 0 to 1.

    What the grower sets; else what its cut system takes, and of trees that keep a crown no
    more than the rules of cutting allow its kind.
    """
    if row.cut_share is not None:
        return row.cut_share
    share = rules.cut_shares[row.cut_system].share
    most = most_share(row, rules)
    return share if most is None else min(share, most)


def most_share(row: Stock, rules: RuleBook) -> float | None:
    """The largest share of its crown that the rules allow; None where none is given."""
    if row.cut_system not in _LEAVES_A_CROWN:
        return None
    given = [rule.most for rule in rules.cut_rules_of(row.plant) if rule.most is not None]
    return min(given, default=None)


def conditions_of(stock: Sequence[Stock], rules: RuleBook) -> tuple[str, ...]:
    """What the rules of cutting ask of the day and the cut, a sentence a rule."""
    found: dict[str, str] = {}
    for row in stock:
        for rule in rules.cut_rules_of(row.plant):
            wants = list(_wants(rule, row))
            if wants:
                found[rule.id] = (
                    f"{_whom(rule)}: {'; '.join(wants)} (confidence {rule.confidence})."
                )
    return tuple(found.values())


def _whom(rule: dayrules.CutSeasonRule) -> str:
    return ", ".join(rule.groups or rule.plants).replace("-", " ")


def _wants(rule: dayrules.CutSeasonRule, row: Stock) -> Iterator[str]:
    if rule.gate:
        yield rule.gate
    if rule.dry:
        yield rule.dry
    if rule.heat_stop_c is not None:
        yield f"not above {rule.heat_stop_c:g} °C"
    if rule.most is not None and row.cut_system in _LEAVES_A_CROWN:
        yield f"at most {rule.most:.0%} of {rule.most_of}"
