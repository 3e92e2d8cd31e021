"""Frost as events: open windows, the day they close, and warnings for work inside them."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from functools import partial

from scheduler.calendars.ics import Event
from scheduler.frost import FrostReach, names_words, night_words
from scheduler.holding import Plot
from scheduler.reasons import SeasonPlan
from scheduler.season import Outlook, Placed
from scheduler.sky import sky_of
from scheduler.terms import Season
from scheduler.words import phrases, release_description, shortened, window_description

COLOR, WARNING_COLOR = "lightsteelblue", "orangered"


def frost_events(plan: SeasonPlan) -> Iterator[Event]:
    """Frost windows of each plot, and warnings for planned work that frost can reach.

    Of a season that begins after the one in force, the nights ahead and the window that is open
    as it begins are told by that one.
    """
    later = plan.placed.is_later
    for plot in plan.placed.holding.plots:
        yield from _window_events(plot, plan.placed.outlook, later=later)
        if not later:
            yield from _hard_night_events(plot, plan.placed)
    for visit_id, visit in plan.placed.visits.items():
        reach = phrases.reach_on(visit_id, range(visit.first, visit.last + 1), plan.placed)
        if reach is not None:
            yield from _warning_events(visit_id, reach, plan)


def _window_events(plot: Plot, outlook: Outlook, *, later: bool) -> Iterator[Event]:
    """Open windows, and the day after each; as far as the plan sees their ends."""
    risk, name = outlook.frost[plot.id], phrases.short_name(plot)
    frost = partial(Event, categories=("frost",), location=plot.name, color=COLOR)
    windows = [window for window in risk.windows if window.first in outlook.season]
    for part, window in enumerate(windows, start=1):
        begun = later and window.first == outlook.season.first
        ends = window.last < risk.season.last
        until = f" until {window.last.day} {window.last:%b}" if ends else ""
        if not begun:
            yield frost(
                key=f"{outlook.holding.plan.id}/{plot.id}/frost-window/{part}",
                title=shortened(name, end=f": frost risk{until}"),
                first=window.first,
                last=window.last,
                description=window_description(plot, risk),
            )
        release = window.last + timedelta(days=1)
        if ends and release in outlook.season:
            yield frost(
                key=f"{outlook.holding.plan.id}/{plot.id}/frost-release/{part}",
                title=shortened(name, end=f": {phrases.RISK_OVER}"),
                first=release,
                last=release,
                description=release_description(plot, risk, release),
            )


def _warning_events(visit_id: str, reach: FrostReach, plan: SeasonPlan) -> Iterator[Event]:
    """A warning over the days of a visit in the window, and the evening to put covers on."""
    visit, key = plan.placed.visits[visit_id], f"{plan.placed.holding.plan.id}/{visit_id}"
    says = phrases.frost_warning(visit_id, range(visit.first, visit.last + 1), plan)
    last = plan.placed.season.date_of(visit.last)
    task = plan.placed.tasks[plan.placed.groups[visit_id][0]]
    name = phrases.visit_name(visit_id, plan.placed)
    place = task.plot.name if task.plot else ""
    warning = partial(Event, categories=("frost",), location=place, color=WARNING_COLOR)
    yield warning(
        key=f"{key}/frost-warning/1",
        title=shortened(phrases.frost_title(name, reach)),
        first=reach.day,
        last=min(last, reach.closes or last),
        description=f"{says}\n\n{phrases.CLIMATE_CAUTION}",
    )
    times = _last_light(plan.placed, reach.day)
    if times is not None:
        yield warning(
            key=f"{key}/frost-evening/1",
            title=shortened(f"{phrases.where(task, plan.placed)}: {phrases.WATCH}"),
            first=reach.day,
            last=reach.day,
            times=times,
            description=f"{phrases.EVENING.format(name)}\n\n{says}\n\n{phrases.CLIMATE_CAUTION}",
        )


def _hard_night_events(plot: Plot, plan: Placed) -> Iterator[Event]:
    """The last light before each forecast night that tender stock wants covering for."""
    for part, hard in enumerate(plan.outlook.plots[plot.id].hard_nights, start=1):
        kinds = names_words([exposed for exposed, _ in hard.hurt], plan.holding)
        yield Event(
            key=f"{plan.holding.plan.id}/{plot.id}/hard-night/{part}",
            title=shortened(f"{phrases.short_name(plot)}: {phrases.COVER.format(kinds)}"),
            first=hard.night.evening,
            last=hard.night.evening,
            times=_last_light(plan, hard.night.evening),
            description=f"Tonight: {night_words(hard, plan.holding)}. {phrases.FORECAST_CAUTION}",
            categories=("frost",),
            location=plot.name,
            color=WARNING_COLOR,
        )


def _last_light(plan: Placed, day: date) -> tuple[datetime, datetime] | None:
    """The last hours before sunset; None where the Sun does not set once on that day."""
    sky = plan.outlook.sky
    if day not in sky.season:  # a forecast may speak of nights before the plan
        sky = sky_of(plan.holding.site.place, Season(day, 1))
    sunset = sky.sun.sets[sky.season.day_of(day)]
    before = timedelta(hours=plan.holding.rules.figure("covers-before-sunset"))
    return (sunset[0] - before, sunset[0]) if len(sunset) == 1 else None
