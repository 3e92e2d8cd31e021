"""A ruling from a rule of the rule book."""

import re
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import RuleHead
from scheduler.terms import Ruling

Mask = NDArray[np.bool_]


def filled(words: str, values: Mapping[str, Any]) -> str:
    """Words with ``{name}`` replaced where a value has that name; other braces stay.

    >>> filled("waits until {until} {sic}", {"until": "May"})
    'waits until May {sic}'
    """
    return re.sub(r"\{(\w+)\}", lambda name: str(values.get(name[1], name[0])), words)


def ruling_by(rule: RuleHead, closed: Mask, **filled_in: Any) -> Ruling:  # noqa: ANN401  # any value can be printed
    """What a rule says of every day, its words filled in, without preferred days."""
    return Ruling(
        rule_id=rule.id,
        basis=rule.basis,
        words=filled(rule.words, filled_in),
        source=rule.source,
        closed=closed,
        points=np.zeros(closed.shape),
    )
