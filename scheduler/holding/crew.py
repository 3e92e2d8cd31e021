"""``crew.toml``: who works, on which days, and what is hired."""

from datetime import date

from scheduler.holding.fields import (
    WEEKDAYS,
    Amount,
    Count,
    CountOfSome,
    Day,
    DayHours,
    DaysInRow,
    Skill,
    Slug,
    SpareShare,
    Told,
    Weekday,
    table,
)
from scheduler.terms import DaySpan


@table
class DaysOff:
    """``{ first = ..., last = ... }``: days away, both ends included."""

    first: Day
    last: Day

    @property
    def span(self) -> DaySpan:
        """The same as a span of days."""
        return DaySpan(self.first, self.last)


@table
class Person:
    """``[[person]]``.

    Args:
        name: as it is to be read in the calendar.
        skills: what this person may be asked to do; everybody has ``hands``.
        days: days of the week on which this person works here.
        hours: productive hours on such a day; set-up, breaks and talk are not in them.
        off: days away.
    """

    name: Told
    skills: tuple[Skill, ...] = ()
    days: tuple[Weekday, ...]
    hours: DayHours = 6.0
    off: tuple[DaysOff, ...] = ()

    def works_on(self, day: date) -> bool:
        """Whether this person works on a civil day."""
        return WEEKDAYS[day.weekday()] in self.days and not any(
            day in off.span for off in self.off
        )


@table
class Hire:
    """``[[hire]]``: a machine or a licensed person that comes for pay.

    Args:
        id: the kit or skill it brings, as the rule book names it: ``chipper``, ``climber``.
        name: firm or person to call.
        count: how many at once.
        days: days of the week on which it can come.
        hours: productive hours a day, for a person.
        lead_days: days of notice it needs.
        cost_day: price of a day, in the grower's money.
        block_days: days by which all work together may wait to spare one more coming; where it
            is not given, it comes as seldom as can be, before preferences and early finish.
    """

    id: Slug
    name: Told
    count: CountOfSome = 1
    days: tuple[Weekday, ...] = WEEKDAYS[:5]
    hours: DayHours = 6.0
    lead_days: Count = 0
    cost_day: Amount = 0.0
    block_days: Amount | None = None

    def comes_on(self, day: date) -> bool:
        """Whether it can come on a civil day, notice aside."""
        return WEEKDAYS[day.weekday()] in self.days


@table
class Crew:
    """``crew.toml``.

    Args:
        person: who works here.
        hire: what is hired.
        heavy_days_in_row: days of heavy work that may follow one another, 1 to 14; a day off or
            a day of light work ends the row. None sets no cap.
        spare_share: share of everybody's hours that is left free for rain and what comes
            between, 0 to 0.5; to leave a tenth to a fifth is common practice, no source. None
            leaves it to the rain of the station record, month by month.
    """

    person: tuple[Person, ...]
    hire: tuple[Hire, ...] = ()
    heavy_days_in_row: DaysInRow | None = None
    spare_share: SpareShare | None = None
