"""``crew.toml``: who works, on which days, and what is hired."""

from datetime import date

from scheduler.files import fields
from scheduler.terms import DaySpan, Season


@fields.table
class SomeDays:
    """``{ first = ..., last = ... }``: days on end, both ends included."""

    first: fields.Day
    last: fields.Day

    @property
    def span(self) -> DaySpan:
        """The same as a span of days."""
        return DaySpan(self.first, self.last)


@fields.table
class DaysOff(SomeDays):
    """Days away."""


@fields.table
class ExtraDays(SomeDays):
    """``{ first = ..., last = ..., hours = ... }``: days of work beside those of the week.

    Args:
        hours: productive hours on such a day; the person's usual ones where left out.
    """

    hours: fields.DayHours | None = None


@fields.table
class BookedDays(SomeDays):
    """``{ first = ..., last = ..., visit = ... }``: days agreed with a firm.

    Args:
        visit: the visit that they were booked for; left out, they are for any.
    """

    visit: fields.Visit | None = None


@fields.table
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

    name: fields.Name
    skills: tuple[fields.Skill, ...] = ()
    days: tuple[fields.Weekday, ...]
    hours: fields.DayHours = 6.0
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
        works = fields.WEEKDAYS[day.weekday()] in self.days
        return self.hours if works and not any(day in off.span for off in self.off) else 0.0


@fields.table
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

    id: fields.Slug
    name: fields.Name
    count: fields.SmallCount = 1
    days: tuple[fields.Weekday, ...] = fields.WEEKDAYS[:5]
    extra: tuple[SomeDays, ...] = ()
    hours: fields.DayHours = 6.0
    lead_days: fields.DaysAhead = 0
    booked: tuple[BookedDays, ...] = ()
    cost_day: fields.Price = 0.0
    block_days: fields.WaitDays | None = None
    wanted: fields.YesNo = False

    def comes_on(self, day: date) -> bool:
        """Whether it can come on a civil day, notice aside."""
        beside = (*self.extra, *self.booked)
        return fields.WEEKDAYS[day.weekday()] in self.days or any(
            day in one.span for one in beside
        )

    def booking_of(self, visit: str) -> str:
        """The id of the errand to book it for a visit, as the work log knows it."""
        return f"holding.book-{self.id}-{visit}"

    def booked_for(self, visit: fields.Visit, season: Season) -> tuple[DaySpan, ...]:
        """The days that were booked for a visit of a season, or for any visit of it."""
        return tuple(
            one.span
            for one in self.booked
            if one.visit in (None, visit) and one.first <= season.last and one.last >= season.first
        )


@fields.table
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
    heavy_days_in_row: fields.DaysInRow | None = None
    spare_share: fields.SpareShare | None = None
    hour_price: fields.Price | None = None
