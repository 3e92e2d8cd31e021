"""What a conflict is made of: things that have been said, and what would free the work."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Statement:
    """One thing that the grower, or the rule book, has said.

    Args:
        kind: ``work`` (another visit is wanted too), ``rule``, ``people``,
            ``crew-days``, ``own-kit`` (how long the crew may saw), ``hire-count``,
            ``hire-days``, ``heavy-row`` (the cap on heavy days in a row) or ``end`` of the plan.
        about: visit id of work, task id of a rule, hire id or nothing.
        number: of a rule among those of the task.
    """

    kind: str
    about: str = ""
    number: int = 0


@dataclass(frozen=True)
class Conflict:
    """Statements of which every one could be met without the others.

    Args:
        says: the statements, in words.
        frees: what would free the task, in words; empty where no single one does.
    """

    says: tuple[str, ...]
    frees: tuple[str, ...]

    @property
    def words(self) -> str:
        """The whole in one sentence without a full stop."""
        told = "; and ".join(self.says)
        free = "; or ".join(self.frees) or "no single change, several must give way"
        head = "these do not go together: " if len(self.says) > 1 else ""
        return f"{head}{told}. What would free it: {free}"
