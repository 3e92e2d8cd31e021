"""Frost in words that notices and errands share: kinds, chances, nights."""

import math
from collections.abc import Iterable, Sequence

from scheduler.frost.tender import Exposed, HardNight
from scheduler.holding import Holding
from scheduler.terms import day_words, percent_words

_NEAR_K = 2.0
_MOST_KINDS = 3  # named; of more the first, which are the tenderest


def name_words(one: Exposed, holding: Holding) -> str:
    """The name of a kind."""
    plant = holding.rules.plants.get(one.plant)
    return plant.name.lower() if plant else "young alley plants"


def kind_words(one: Exposed, holding: Holding) -> str:
    """A kind and its state: ``new growth of tagasaste``."""
    name = name_words(one, holding)
    of = "new growth of " if one.stage == "growth" else ""
    state = f" at {one.detail}" if one.stage == "bloom" else " (hardened)" if one.hardened else ""
    return f"{of}{name}{state}"


def tenderest_of(kinds: Sequence[Exposed]) -> list[Exposed]:
    """Those that are hurt nearly as soon as the tenderest; what stands far more is not named."""
    least_c = max((one.hurt_at_c for one in kinds), default=0.0) - _NEAR_K
    return [one for one in kinds if one.hurt_at_c >= least_c]


def kinds_words(kinds: Iterable[Exposed], holding: Holding) -> str:
    """Several kinds as a list, the first few by name."""
    return _listed([kind_words(one, holding) for one in kinds])


def names_words(kinds: Iterable[Exposed], holding: Holding) -> str:
    """Several kinds by name alone."""
    return _listed([name_words(one, holding) for one in kinds])


def _listed(found: list[str]) -> str:
    names = list(dict.fromkeys(found))
    more = len(names) - _MOST_KINDS
    named = [*names[:_MOST_KINDS], f"{more} more"] if more > 0 else names
    return f"{', '.join(named[:-1])} and {named[-1]}" if len(named) > 1 else "".join(named)


def chance_words(chance: float, words: str) -> str:
    """Words with a chance in them; nothing where no record says."""
    return "" if math.isnan(chance) else words.format(percent_words(chance))


def night_words(hard: HardNight, holding: Holding) -> str:
    """One hard night: how cold, and what it may do."""
    night, hurt = hard.night, hard.hurt
    hurts = ", ".join(
        f"{kind_words(one, holding)} from {one.hurt_at_c:g} °C on, chance {percent_words(chance)}"
        for one, chance in hurt[:_MOST_KINDS]
    )
    return (
        f"the night to {day_words(night.day)} is forecast at {night.plot_c:.1f} °C "
        f"(± {night.error_c:.1f}) there; it hurts {hurts}"
    )
