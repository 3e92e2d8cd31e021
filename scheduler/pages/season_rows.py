"""The rows of the season sheet, as its JSON has them."""

from dataclasses import dataclass
from datetime import date

from scheduler.pages.rendering import Rows


@dataclass(frozen=True, slots=True)
class Bar:
    """A visit in the band of its plot."""

    visit: str  # its id
    kind: str  # dormant, release or dry-summer
    title: str  # of one piece of work with days of its own; empty for a whole campaign
    first: date  # its first day
    last: date  # its last day
    hours: float  # person-hours
    was: date | None  # its first day as published, where it has moved


@dataclass(frozen=True, slots=True)
class Band:
    """One plot over the season."""

    plot: str  # its id
    name: str  # its name without what stands in brackets
    note: str  # what stands there
    bars: tuple[Bar, ...]  # its visits
    marks: tuple[Rows, ...]  # its routine work, by its first day
    # days on which frost is a risk: ``likely`` from an even chance on, else ``possible``
    shades: tuple[Rows, ...]
    # last day of the frost window that ends in the growing season; None without one
    closes: date | None
    opens: tuple[date, ...]  # first days of the frost seasons that begin within the plan
    unscheduled: tuple[str, ...]  # kinds of its visits that have no days


@dataclass(frozen=True, slots=True)
class Week:
    """The crew's load in seven days."""

    first: date  # the Monday, or the first day of the plan
    planned_h: dict[str, float]  # person-hours by kind of visit
    crew_h: float  # person-hours that the crew has, the rain allowance not in them
    n_days: int  # of the plan in it

    @property
    def load_h(self) -> float:
        """Person-hours planned, of all kinds."""
        return sum(self.planned_h.values())


@dataclass(frozen=True, slots=True)
class Span:
    """Days with a word: hire, leave, closed days."""

    first: date
    last: date
    words: str
    kind: str


@dataclass(frozen=True, slots=True)
class SeasonSheet:
    """Everything the season sheet shows."""

    site: str  # name of the holding
    plan: str  # title of the plan
    as_of: date  # today
    first: date  # first day of the plan
    last: date  # its last day
    southern: bool  # whether the Moon is looked at from the south
    phases: tuple[Rows, ...]  # the Moon's, by day
    waning: tuple[Span, ...]  # spans of the waning half, where the practice is followed; else none
    bands: tuple[Band, ...]  # the plots, in the order in which frost leaves them
    weeks: tuple[Week, ...]  # the crew's load
    spans: tuple[Span, ...]  # hire, leave and closed days
    months: tuple[date, ...]  # first day of each month in the plan

    @property
    def n_days(self) -> int:
        """Days of the plan."""
        return (self.last - self.first).days + 1
