"""A season, planned, and what can be asked about it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from types import MappingProxyType

from scheduler.holding import Holding
from scheduler.reasons.moves import Move, moves_of
from scheduler.reasons.notices import notices_of
from scheduler.season import Errand, Placed, Published, errands_of, placed_season
from scheduler.terms import Notice


@dataclass(frozen=True, eq=False)
class SeasonPlan:
    """A season, planned. What explains it is computed when it is first asked for."""

    placed: Placed  # the work and its days
    tell: Callable[[str], None]  # is told what takes its time, as a few words for the grower

    @cached_property
    def errands(self) -> tuple[Errand, ...]:
        """Calls to make before the work, by day."""
        return errands_of(self.placed)

    @cached_property
    def moves(self) -> tuple[Move, ...]:
        """Published visits that are no longer where they were published."""
        return moves_of(self.placed)

    @cached_property
    def notices(self) -> tuple[Notice, ...]:
        """Everything worth telling, warnings first; why work is left out among it."""
        if n_out := len(self.placed.roster.left_out):
            self.tell(f"Asking why {n_out} visits are unscheduled")
        return notices_of(self.placed, self.errands, self.moves)


def plan_season(
    holding: Holding,
    as_of: date,
    *,
    published: Published = MappingProxyType({}),
    tell: Callable[[str], None] = lambda _: None,
) -> SeasonPlan:
    """Plan the season; its arguments are those of ``placed_season``.

    Returns:
        The plan. What has no room is left out; its notices say why.
    """
    return SeasonPlan(placed_season(holding, as_of, published=published, tell=tell), tell)
