"""A season, planned, and what can be asked about it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from types import MappingProxyType

from scheduler.holding import Holding, years_later
from scheduler.reasons.moves import Move, moves_of
from scheduler.reasons.notices import notices_of, visit_notices
from scheduler.season import Errand, Placed, Published, errands_of, placed_season
from scheduler.terms import Notice, day_words


@dataclass(frozen=True, eq=False)
class SeasonPlan:
    """A season, planned. What explains it is computed when it is first asked for."""

    placed: Placed  # the work and its days
    tell: Callable[[str], None]  # is told what takes its time, as a few words for the grower
    # the days for which the visits of a later season were last published
    published_later: Callable[[Holding], Published] = lambda _: {}

    @cached_property
    def seasons(self) -> "tuple[SeasonPlan, ...]":
        """This season, and those after it that begin in the coming twelve months."""
        as_of, holding = self.placed.outlook.as_of, self.placed.holding
        if holding.following is None or holding.following.season.first > years_later(as_of, 1):
            return (self,)
        self.tell(f"Planning from {day_words(holding.following.season.first)} on")
        later = holding.in_plan(holding.following)
        published = self.published_later(later)
        done = self.placed.done_by_its_end
        placed = placed_season(later, as_of, published=published, done_before=done, tell=self.tell)
        return (self, *SeasonPlan(placed, self.tell, self.published_later).seasons)

    @cached_property
    def errands(self) -> tuple[Errand, ...]:
        """Calls to make before the work, by day."""
        return errands_of(self.placed)

    @cached_property
    def moves(self) -> tuple[Move, ...]:
        """Published visits that are no longer where they were published."""
        return moves_of(self.placed)

    @cached_property
    def visit_notices(self) -> tuple[Notice, ...]:
        """Those of the notices that the events of visits carry."""
        return visit_notices(self.placed)

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
    published_later: Callable[[Holding], Published] = lambda _: {},
    tell: Callable[[str], None] = lambda _: None,
) -> SeasonPlan:
    """Plan the season; its arguments are those of ``placed_season``.

    Args:
        holding: the site's files, checked.
        as_of: today.
        published: the days for which the visits of this season were last published.
        published_later: asked the same of a later season.
        tell: is told each stage of the work.

    Returns:
        The plan. What has no room is left out; its notices say why.
    """
    placed = placed_season(holding, as_of, published=published, tell=tell)
    return SeasonPlan(placed, tell, published_later)
