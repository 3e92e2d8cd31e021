"""All pages of a holding, or those that one person is meant to see."""

from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.pages.day_page import day_page, work_days
from scheduler.pages.front_page import Calendar, front_page
from scheduler.pages.frost_page import frost_page
from scheduler.pages.plot_page import plot_pages
from scheduler.pages.rendering import Page
from scheduler.pages.season_page import season_page
from scheduler.reasons import SeasonPlan


@dataclass(frozen=True, slots=True)
class Link:
    """A page in the row of links that each page begins with."""

    name: str
    title: str


def pages_of(plan: SeasonPlan, calendars: Sequence[Calendar] = ()) -> tuple[Page, ...]:
    """Every page of a holding: front, season, frost, plots and days.

    Args:
        plan: the season.
        calendars: where to subscribe, for the front page.
    """
    links = (
        Link("index", plan.placed.holding.site.name),
        Link("season", "Season"),
        Link("frost", "Frost"),
        *(
            Link(f"plot-{plot.id}", plot.name.partition(" (")[0])
            for plot in plan.placed.holding.plots
        ),
    )
    days = work_days(plan.placed)
    return (
        front_page(plan, calendars, links=links),
        season_page(plan, links=links),
        frost_page(plan, links=links),
        *plot_pages(plan, links=links),
        *(day_page(plan, day, links=links) for day in days),
    )


def pages_for(plan: SeasonPlan, person: str) -> tuple[Page, ...]:
    """The days of one person, and nothing else of the holding.

    Args:
        plan: the season.
        person: the name, as crew.toml has it.
    """
    days = [
        day
        for day in work_days(plan.placed)
        if any(
            person in people
            for stint in plan.placed.stints.values()
            for at, people in zip(stint.days, stint.people, strict=True)
            if at == day
        )
    ]
    return tuple(day_page(plan, day, person, links=()) for day in days)
