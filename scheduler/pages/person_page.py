"""One person's own page: the days on which they work, and their calendar."""

from dataclasses import dataclass
from datetime import date

from scheduler.pages.front_page import CalendarLink, ComingDay, coming_days
from scheduler.pages.rendering import Page, page
from scheduler.reasons import SeasonPlan


@dataclass(frozen=True, slots=True)
class PersonSheet:
    """Everything a person's own page shows."""

    site: str  # name of the holding
    person: str  # name of the person
    as_of: date  # today
    days: tuple[ComingDay, ...]  # their days from today on
    calendars: tuple[CalendarLink, ...]  # their own


def person_page(
    plan: SeasonPlan, person: str, calendars: tuple[CalendarLink, ...], **more: object
) -> Page:
    """The page of one person."""
    placed = plan.placed
    sheet = PersonSheet(
        site=placed.holding.site.name,
        person=person,
        as_of=placed.outlook.as_of,
        days=coming_days(plan, person),
        calendars=calendars,
    )
    return page("index", f"{sheet.site}: {person}", "person.html", sheet, **more)
