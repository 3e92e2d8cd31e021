"""All pages of a holding."""

from dataclasses import dataclass

from scheduler.pages.day_page import day_page, work_days
from scheduler.pages.front_page import front_page
from scheduler.pages.frost_page import frost_page
from scheduler.pages.plot_page import plot_pages
from scheduler.pages.rendering import Page
from scheduler.pages.season_page import season_page
from scheduler.reasons import SeasonPlan
from scheduler.words import phrases


@dataclass(frozen=True, slots=True)
class PageLink:
    """A page in the row of links that each page begins with."""

    name: str
    title: str


def pages_of(plan: SeasonPlan) -> tuple[Page, ...]:
    """Every page of a holding: front, season, frost, plots and days."""
    links = (
        PageLink("index", plan.placed.holding.site.name),
        PageLink("season", "Season"),
        PageLink("frost", "Frost"),
        *(
            PageLink(f"plot-{plot.id}", phrases.short_name(plot))
            for plot in plan.placed.holding.plots
        ),
    )
    days = work_days(plan.placed)
    return (
        front_page(plan, links=links),
        season_page(plan, links=links),
        frost_page(plan, links=links),
        *plot_pages(plan, links=links),
        *(day_page(plan, day, links=links) for day in days),
    )
