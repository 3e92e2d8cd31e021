"""Things worth telling, as values: returned beside a product, printed by the door."""

from dataclasses import dataclass
from enum import StrEnum


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
