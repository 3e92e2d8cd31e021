"""``plan-<season>.toml``: the work wanted this season, and the grower's own dates."""

from scheduler.files import fields
from scheduler.terms import DaySpan, Season


@fields.table
class Work:
    """``[[work]]``: kinds of work wanted.

    Args:
        types: visits (``dormant``, ``release``, ``dry-summer``, ``year``) or single task
            types.
        plots: ids of plots; all where left out.
        without: task types that are not wanted after all.
        along_with: id of a plot whose visit these plots ride along with: theirs comes in the days
            after it, not weeks apart, as far as frost and season let it.
        lighter: whether the lighter form of the visits is wanted, as young plots take it: the
            task types marked ``light``, and none beside them.
    """

    types: tuple[fields.Slug, ...]
    plots: tuple[fields.Slug, ...] = ()
    without: tuple[fields.Slug, ...] = ()
    along_with: fields.Slug | None = None
    lighter: fields.YesNo = False


@fields.table
class OwnDate:
    """``[[own_date]]``: the grower's own word on one task.

    Args:
        task: id of the task, ``<plot>.<task type>``.
        on: it begins on this very day, whatever the rules say; they still warn.
        not_before: it begins on this day or later.
        not_after: it is finished on this day.
        why: the reason, to be read in the calendar.
    """

    task: fields.Name
    on: fields.Day | None = None
    not_before: fields.Day | None = None
    not_after: fields.Day | None = None
    why: fields.Name


@fields.table
class Closed:
    """``[[closed]]``: days on which some work may not stand.

    Args:
        first: first day.
        last: last day.
        types: visits or task types; all where left out.
        plots: ids of plots; all where left out.
        why: the reason, to be read in the calendar.
    """

    first: fields.Day
    last: fields.Day
    types: tuple[fields.Slug, ...] = ()
    plots: tuple[fields.Slug, ...] = ()
    why: fields.Name

    @property
    def span(self) -> DaySpan:
        """The same as a span of days."""
        return DaySpan(self.first, self.last)


@fields.table
class PlanFile:
    """What stands in the file.

    Args:
        title: as it is to be read at the head of the calendar.
        first: first civil day.
        last: last civil day; at most 15 months later.
        work: the work wanted.
        own_date: the grower's own dates.
        closed: days on which work may not stand.
    """

    title: fields.Name
    first: fields.Day
    last: fields.Day
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
