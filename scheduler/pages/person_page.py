"""One person's own page: the days on which they work, and their calendar."""

from scheduler.pages.front_page import CalendarLink, coming_days
from scheduler.pages.rendering import Page, page
from scheduler.reasons import SeasonPlan


def person_page(
    plan: SeasonPlan, person: str, calendars: tuple[CalendarLink, ...], **more: object
) -> Page:
    """The page of one person."""
    placed = plan.placed
    site = placed.holding.site.name
    sheet = {
        "site": site,
        "person": person,
        "as_of": placed.outlook.as_of,
        "days": coming_days(plan, person),
        "calendars": calendars,
    }
    return page("index", f"{site}: {person}", "person.html", sheet, **more)
