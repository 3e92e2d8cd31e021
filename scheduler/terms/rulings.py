"""What is said of days and plans: rulings of rules, and notices that the door prints."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from scheduler.terms.days import frozen


class Basis(StrEnum):
    """What a ruling rests on."""

    MEASURED = "measured"  # a station or logger record
    COMPUTED = "computed"  # astronomy
    PLANNED = "planned"  # the grower's own dates, the crew, the order of work
    PUBLISHED = "published"  # a handbook, a standard, common practice of the trade
    PRACTICE = "practice"  # an optional grower practice; may prefer a day, never close one


@dataclass(frozen=True)
class Ruling:
    """What one rule says of every day of a season, for one task.

    Args:
        rule_id: the rule's id in the rule book.
        basis: what the ruling rests on.
        words: the reason, one sentence that can be printed beside a date.
        source: where the rule comes from; never empty.
        closed: (n_days,) bool, True where the task may not stand.
        points: (n_days,) float, how much such a day counts among preferred ones; >= 0.

    Raises:
        ValueError: shapes differ, the source is empty, or a practice closes a day.
    """

    rule_id: str
    basis: Basis
    words: str
    source: str
    closed: NDArray[np.bool_]
    points: NDArray[np.float64]

    def __post_init__(self) -> None:
        if self.closed.shape != self.points.shape or self.closed.ndim != 1:
            raise ValueError(
                f"rule {self.rule_id}: closed has shape {self.closed.shape}, "
                f"points {self.points.shape}; both must be (n_days,)"
            )
        if not self.source:
            raise ValueError(f"rule {self.rule_id} names no source")
        if self.basis is Basis.PRACTICE and self.closed.any():
            raise ValueError(f"rule {self.rule_id} is a grower practice and may not close a day")
        frozen(self.closed)
        frozen(self.points)


class Level(StrEnum):
    """How much a notice asks of the reader."""

    NOTE = "note"  # good to know; nothing to do
    WARNING = "warning"  # something stands that may do harm; exit code 1


@dataclass(frozen=True, slots=True)
class Notice:
    """One thing worth telling."""

    code: str  # stable name a program may test for, such as ``frost-window-open``
    level: Level  # note or warning
    about: str  # what it concerns: a task id, a plot id, a file
    says: str  # one or two plain sentences
    also: tuple[str, ...] = ()  # ids of other tasks that it speaks of

    def speaks_of(self, task_id: str) -> bool:
        """Whether it concerns a task, alone or beside others."""
        return task_id == self.about or task_id in self.also
