"""``plan-<season>.toml``: the work wanted this season, and the grower's own dates."""

from scheduler.files import fields
from scheduler.holding.crew import SomeDays
from scheduler.terms import Season


@fields.table
class Work:
    """``[[work]]``: kinds of work wanted."""

    types: tuple[fields.Slug, ...]  # visits such as ``release``, or single task types
    plots: tuple[fields.Slug, ...] = ()  # all where left out
    without: tuple[fields.Slug, ...] = ()  # task types not wanted after all
    # a plot whose visit these plots ride along with: theirs comes in the days after it, not weeks
    # apart, as far as frost and season let it
    along_with: fields.Slug | None = None
    # the lighter form of the visits, as young plots take it: only task types marked ``light``
    lighter: fields.YesNo = False


@fields.table
class OwnDate:
    """``[[own_date]]``: the grower's own word on one task."""

    task: fields.Name  # id of the task, ``<plot>.<task type>``
    on: fields.Day | None = None  # it begins on this very day; the rules still warn
    not_before: fields.Day | None = None  # it begins on this day or later
    not_after: fields.Day | None = None  # it is finished on this day
    why: fields.Name  # the reason, to be read in the calendar


@fields.table
class Closed(SomeDays):
    """``[[closed]]``: days on which some work may not stand."""

    types: tuple[fields.Slug, ...] = ()  # visits or task types; all where left out
    plots: tuple[fields.Slug, ...] = ()  # all where left out
    why: fields.Name  # the reason, to be read in the calendar

    @property
    def for_all(self) -> bool:
        """Whether no work at all may stand."""
        return not (self.types or self.plots)


@fields.table
class PlanFile:
    """What stands in the file."""

    title: fields.Name  # as it is to be read at the head of the calendar
    first: fields.Day
    last: fields.Day  # at most 15 months later
    work: tuple[Work, ...]
    own_date: tuple[OwnDate, ...] = ()
    closed: tuple[Closed, ...] = ()


@fields.table
class Plan:
    """A plan and its id, which is the part of the file name after ``plan-``."""

    id: fields.Slug
    says: PlanFile

    @property
    def season(self) -> Season:
        """The civil days of the plan."""
        return Season.between(self.says.first, self.says.last)
