"""All pages of a holding: the owner's, and each person's own."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial

from scheduler.pages.day_page import day_page, work_days
from scheduler.pages.front_page import CalendarLink, coming_days, front_page, person_page
from scheduler.pages.frost_page import frost_page
from scheduler.pages.plot_page import plot_page
from scheduler.pages.rendering import Page
from scheduler.pages.season_page import season_page
from scheduler.reasons import SeasonPlan
from scheduler.words import dues_of, phrases

Drawers = dict[str, Callable[[], Page]]  # what draws a page, by its name


@dataclass(frozen=True, slots=True)
class PageLink:
    """A page in the row of links that each page begins with."""

    name: str
    title: str


def owner_links(plan: SeasonPlan) -> tuple[PageLink, ...]:
    """The row of links of the owner's pages."""
    site, plots = plan.placed.holding.site, plan.placed.holding.plots
    return (
        PageLink("index", site.name),
        PageLink("season", "Season"),
        PageLink("frost", "Frost"),
        *(PageLink(f"plot-{plot.id}", phrases.short_name(plot)) for plot in plots),
    )


def owner_pages(
    plan: SeasonPlan, calendars: Iterable[CalendarLink] = (), **more: object
) -> Drawers:
    """What draws each page of a holding: front, season, frost, plots and days.

    ``more`` is what else the templates need; ``links`` in it take the place of the usual row.
    """
    rows = {"links": owner_links(plan), **more}
    pages: Drawers = {
        "index": partial(front_page, plan, tuple(calendars), **rows),
        "season": partial(season_page, plan, **rows),
        "frost": partial(frost_page, plan, **rows),
    }
    for due in dues_of(plan.placed):
        pages[f"plot-{due.plot.id}"] = partial(plot_page, plan, due, **rows)
    for day in work_days(plan.placed):
        pages[f"day-{plan.placed.season.date_of(day)}"] = partial(day_page, plan, day, **rows)
    return pages


def person_pages(plan: SeasonPlan, person: str, calendars: Iterable[CalendarLink]) -> Drawers:
    """What draws the pages of one person: a front page, and their days."""
    links = (PageLink("index", person),)
    front = partial(person_page, plan, person, tuple(calendars), links=links)
    days = {
        day.page: partial(day_page, plan, plan.placed.season.day_of(day.day), links=links)
        for day in coming_days(plan, person)
    }
    return {"index": front, **days}


def drawn_pages(pages: Drawers) -> tuple[Page, ...]:
    """Every page, drawn."""
    return tuple(draw() for draw in pages.values())
