"""``crew.toml``: who works, on which days, and what is hired."""

from datetime import date

from scheduler.files import fields
from scheduler.terms import DaySpan, Season


@fields.table
class SomeDays:
    """``{ first = ..., last = ... }``: days on end, both ends included; a day needs no last."""

    first: fields.Day
    last: fields.Day = None  # type: ignore[assignment]  # filled in at once

    def __post_init__(self) -> None:
        object.__setattr__(self, "last", self.last or self.first)  # type: ignore[truthy-bool]

    @property
    def span(self) -> DaySpan:
        """The same as a span of days."""
        return DaySpan(self.first, self.last)


@fields.table
class ExtraDays(SomeDays):
    """``{ first = ..., last = ..., hours = ... }``: days of work beside those of the week."""

    hours: fields.DayHours | None = None  # productive hours; left out, the person's usual ones


@fields.table
class BookedDays(SomeDays):
    """``{ first = ..., last = ..., visit = ... }``: days agreed with a firm."""

    visit: fields.Visit | None = None  # they were booked for; left out, they are for any


@fields.table
class Person:
    """``[[person]]``."""

    name: fields.Name  # as it is to be read in the calendar
    skills: tuple[fields.Skill, ...] = ()  # what may be asked of them; everybody has ``hands``
    days: tuple[fields.Weekday, ...]  # on which this person works here
    hours: fields.DayHours = 6.0  # productive hours a day, without set-up, breaks and talk
    off: tuple[SomeDays, ...] = ()  # days away
    # single days of work beside the days of the week, or longer ones among them
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
    """``[[hire]]``: a machine or a licensed person that comes for pay."""

    id: fields.Slug  # the kit or skill it brings, such as ``chipper`` or ``climber``
    name: fields.Name  # firm or person to call
    count: fields.SmallCount = 1  # how many at once
    days: tuple[fields.Weekday, ...] = fields.WEEKDAYS[:5]  # days of the week on which it can come
    extra: tuple[SomeDays, ...] = ()  # single days on which it can come beside them
    hours: fields.DayHours = 6.0  # productive hours a day, for a person
    lead_days: fields.DaysAhead = 0  # days of notice it needs
    booked: tuple[BookedDays, ...] = ()  # agreed with the firm; it needs no further notice then
    cost_day: fields.Price = 0.0  # in the grower's money
    # days by which all work together may wait to spare one more coming; left out, the figure
    # ``call-out-days`` of the rule book
    block_days: fields.WaitDays | None = None
    wanted: fields.YesNo = False  # comes even where it saves less than it costs, for what it makes

    def comes_on(self, day: date) -> bool:
        """Whether it can come on a civil day, notice aside."""
        usual = fields.WEEKDAYS[day.weekday()] in self.days
        return usual or any(day in days.span for days in (*self.extra, *self.booked))

    def booking_of(self, visit: str) -> str:
        """The id of the errand to book it for a visit, as the work log knows it."""
        return f"holding.book-{self.id}-{visit}"

    def booked_for(self, visit: fields.Visit, season: Season) -> tuple[DaySpan, ...]:
        """The days that were booked for a visit of a season, or for any visit of it."""
        return tuple(
            days.span
            for days in self.booked
            if days.visit in (None, visit)
            if days.first <= season.last and days.last >= season.first
        )


@fields.table
class Crew:
    """``crew.toml``."""

    person: tuple[Person, ...]
    hire: tuple[Hire, ...] = ()
    # days of heavy work that may follow one another, 1 to 14; a day off or a day of light work
    # ends the row. None sets no cap
    heavy_days_in_row: fields.DaysInRow | None = None
    # share of everybody's hours that is left free for rain and what comes between, 0 to 0.5; to
    # leave a tenth to a fifth is common practice, no source. None leaves it to the rain of the
    # station record, month by month
    spare_share: fields.SpareShare | None = None
    # what an hour of work is worth to the grower, in the grower's money; a machine is hired where
    # it saves more than it costs
    hour_price: fields.Price | None = None
