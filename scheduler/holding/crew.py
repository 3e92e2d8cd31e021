"""``crew.toml``: who works, on which days, and what is hired."""

from datetime import date

from scheduler.files.fields import (
    WEEKDAYS,
    Day,
    DayHours,
    DaysAhead,
    DaysInRow,
    Name,
    Price,
    Skill,
    Slug,
    SmallCount,
    SpareShare,
    Visit,
    WaitDays,
    Weekday,
    YesNo,
    table,
)
from scheduler.terms import DaySpan, Season


@table
class SomeDays:
    """``{ first = ..., last = ... }``: days on end, both ends included."""

    first: Day
    last: Day

    @property
    def span(self) -> DaySpan:
        """The same as a span of days."""
        return DaySpan(self.first, self.last)


@table
class DaysOff(SomeDays):
    """Days away."""


@table
class ExtraDays(SomeDays):
    """``{ first = ..., last = ..., hours = ... }``: days of work beside those of the week.

    Args:
        hours: productive hours on such a day; the person's usual ones where left out.
    """

    hours: DayHours | None = None


@table
class BookedDays(SomeDays):
    """``{ first = ..., last = ..., visit = ... }``: days agreed with a firm.

    Args:
        visit: the visit that they were booked for; left out, they are for any.
    """

    visit: Visit | None = None


@table
class Person:
    """``[[person]]``.

    Args:
        name: as it is to be read in the calendar.
        skills: what this person may be asked to do; everybody has ``hands``.
        days: days of the week on which this person works here.
        hours: productive hours on such a day; set-up, breaks and talk are not in them.
        off: days away.
        extra: single days of work beside the days of the week, or longer ones among them.
    """

    name: Name
    skills: tuple[Skill, ...] = ()
    days: tuple[Weekday, ...]
    hours: DayHours = 6.0
    off: tuple[DaysOff, ...] = ()
    extra: tuple[ExtraDays, ...] = ()

    def hours_on(self, day: date) -> float:
        """Productive hours on a civil day; 0 on a day off.

        >>> once = ExtraDays(first=date(2027, 5, 8), last=date(2027, 5, 8), hours=4.0)
        >>> noa = Person(name="Noa", days=("fri",), extra=(once,))
        >>> [noa.hours_on(date(2027, 5, day)) for day in (7, 8, 9)]
        [6.0, 4.0, 0.0]
        """
        for extra in self.extra:
            if day in extra.span:
                return self.hours if extra.hours is None else extra.hours
        works = WEEKDAYS[day.weekday()] in self.days
        return self.hours if works and not any(day in off.span for off in self.off) else 0.0


@table
class Hire:
    """``[[hire]]``: a machine or a licensed person that comes for pay.

    Args:
        id: the kit or skill it brings, as the rule book names it: ``chipper``, ``climber``.
        name: firm or person to call.
        count: how many at once.
        days: days of the week on which it can come.
        extra: single days on which it can come beside them.
        hours: productive hours a day, for a person.
        lead_days: days of notice it needs.
        booked: days agreed with the firm; it comes on them without further notice.
        cost_day: price of a day, in the grower's money.
        block_days: days by which all work together may wait to spare one more coming; where it
            is not given, the figure ``call-out-days`` of the rule book.
        wanted: whether a machine comes even where it saves less than it costs, because the
            grower wants what it makes.
    """

    id: Slug
    name: Name
    count: SmallCount = 1
    days: tuple[Weekday, ...] = WEEKDAYS[:5]
    extra: tuple[SomeDays, ...] = ()
    hours: DayHours = 6.0
    lead_days: DaysAhead = 0
    booked: tuple[BookedDays, ...] = ()
    cost_day: Price = 0.0
    block_days: WaitDays | None = None
    wanted: YesNo = False

    def comes_on(self, day: date) -> bool:
        """Whether it can come on a civil day, notice aside."""
        beside = (*self.extra, *self.booked)
        return WEEKDAYS[day.weekday()] in self.days or any(day in one.span for one in beside)

    def booking_of(self, visit: str) -> str:
        """The id of the errand to book it for a visit, as the work log knows it."""
        return f"holding.book-{self.id}-{visit}"

    def booked_for(self, visit: Visit, season: Season) -> tuple[DaySpan, ...]:
        """The days that were booked for a visit of a season, or for any visit of it."""
        return tuple(
            one.span
            for one in self.booked
            if one.visit in (None, visit) and one.first <= season.last and one.last >= season.first
        )


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
        hour_price: what an hour of work is worth to the grower, in the grower's money; a
            machine is hired where it saves more than it costs.
    """

    person: tuple[Person, ...]
    hire: tuple[Hire, ...] = ()
    heavy_days_in_row: DaysInRow | None = None
    spare_share: SpareShare | None = None
    hour_price: Price | None = None
