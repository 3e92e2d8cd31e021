"""A ruling from a rule of the rule book."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduler.holding.rulehead import RuleHead
from scheduler.terms import Ruling

Mask = NDArray[np.bool_]


def ruling_by(rule: RuleHead, closed: Mask, **filled_in: Any) -> Ruling:  # noqa: ANN401  # any value can be printed
    """What a rule says of every day, its words filled in, without preferred days."""
    return Ruling(
        rule_id=rule.id,
        basis=rule.basis,
        words=rule.words.format(**filled_in),
        source=rule.source,
        closed=closed,
        points=np.zeros(closed.shape),
    )
