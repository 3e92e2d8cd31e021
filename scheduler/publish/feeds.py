"""A planned season as calendars: the work, the frost windows, the sky."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from scheduler.holding import Plot
from scheduler.publish import words
from scheduler.publish.ics import Event, Feed
from scheduler.season import Outlook, SeasonPlan
from scheduler.sky import SkyEvent
from scheduler.terms import DaySpan, day_words

# One CSS3 colour name for each visit; a hint for readers that show it, never a code to learn.
VISIT_COLOR = {
    "dormant": "steelblue",
    "release": "seagreen",
    "dry-summer": "darkkhaki",
    "year": "slategray",
}
SKY_SHOWN = (
    "new_moon",
    "first_quarter",
    "full_moon",
    "last_quarter",
    "march_equinox",
    "june_solstice",
    "september_equinox",
    "december_solstice",
)


def feeds_of(plan: SeasonPlan) -> tuple[Feed, ...]:
    """All calendars of a site."""
    site, title = plan.holding.site, plan.holding.plan.says.title
    return (
        Feed(
            site.id,
            "work",
            f"{site.name}: work",
            f"{title}. {words.GENERAL_CAUTION} {words.CLIMATE_CAUTION}",
            (*_work_events(plan), *_done_events(plan), *_errand_events(plan)),
        ),
        Feed(
            site.id,
            "frost",
            f"{site.name}: frost windows",
            f"{title}. {words.CLIMATE_CAUTION}",
            tuple(_frost_events(plan.outlook)),
        ),
        Feed(
            site.id,
            "sky",
            f"{site.name}: moon and seasons",
            f"{title}. Phases and season marks, computed for {site.zone}. Timing work by the "
            f"moon is a {words.MOON_TAG}.",
            tuple(_sky_events(plan.outlook)),
        ),
    )


def _work_events(plan: SeasonPlan) -> Iterator[Event]:
    for task_id, stint in plan.stints.items():
        task = plan.tasks[task_id]
        runs = words.runs_of(plan.season, stint.days)
        for part, (first, last) in enumerate(runs, start=1):
            of = f" ({part} of {len(runs)})" if len(runs) > 1 else ""
            yield Event(
                key=f"{plan.holding.plan.id}/{task_id}/{part}",
                title=words.task_title(task, plan) + of,
                first=first,
                last=last,
                description=words.task_description(task, stint, plan),
                categories=(task.type.visit,),
                location=task.plot.name if task.plot else "",
                busy=True,
                color=VISIT_COLOR[task.type.visit],
            )


def _done_events(plan: SeasonPlan) -> Iterator[Event]:
    for task_id, entry in plan.done.items():
        task = plan.tasks.get(task_id)
        if task is None:
            continue
        spent = f"{entry.hours:g} person-hours. " if entry.hours is not None else ""
        yield Event(
            key=f"{plan.holding.plan.id}/{task_id}/1",
            title=f"Done: {words.where(task, plan)}: {task.type.title}",
            first=entry.date,
            last=entry.date,
            description=f"{spent}{entry.note}".strip() or "Done.",
            categories=(task.type.visit,),
            location=task.plot.name if task.plot else "",
            color=VISIT_COLOR[task.type.visit],
        )


def _errand_events(plan: SeasonPlan) -> Iterator[Event]:
    for errand in plan.errands:
        yield Event(
            key=f"{plan.holding.plan.id}/{errand.id}/1",
            title=errand.title,
            first=errand.on,
            last=errand.on,
            description=words.errand_description(errand, plan),
            categories=("booking",),
            color="slategray",
        )


def _frost_events(outlook: Outlook) -> Iterator[Event]:
    for plot in outlook.holding.plots:
        risk = outlook.frost[plot.id]
        name = words.short_name(plot)
        windows = [window for window in risk.windows if window.first in outlook.season]
        for part, window in enumerate(windows, start=1):
            yield Event(
                key=f"{outlook.holding.plan.id}/{plot.id}/frost-window/{part}",
                title=f"{name}: frost window open",
                first=window.first,
                last=window.last,
                description=words.window_description(plot, risk),
                categories=("frost",),
                location=plot.name,
                color="lightsteelblue",
            )
            yield from _release_event(plot, window, part, outlook)


def _release_event(plot: Plot, window: DaySpan, part: int, outlook: Outlook) -> Iterator[Event]:
    """The day after an open window, where the plan sees its end."""
    risk = outlook.frost[plot.id]
    release = window.last + timedelta(days=1)
    if window.last < risk.season.last and release in outlook.season:
        yield Event(
            key=f"{outlook.holding.plan.id}/{plot.id}/frost-release/{part}",
            title=f"{words.short_name(plot)}: frost window closes",
            first=release,
            last=release,
            description=(
                f"From {day_words(release)} on the chance of another frost in {plot.name} is at "
                f"most {100 * risk.tolerance:g} %. It rests on {words.rests_on(risk)}. "
                f"{words.CLIMATE_CAUTION}"
            ),
            categories=("frost",),
            location=plot.name,
            color="lightsteelblue",
        )


def _sky_events(outlook: Outlook) -> Iterator[Event]:
    for event in outlook.sky.events:
        if event.event in SKY_SHOWN:
            yield _sky_event(event, outlook)


def _sky_event(event: SkyEvent, outlook: Outlook) -> Event:
    day, title = event.local.date(), words.EVENT_WORDS[event.event]
    moon = event.event in SKY_SHOWN[:4]
    tag = f" Timing work by the moon is a {words.MOON_TAG}." if moon else ""
    clock = f"{event.local:%H:%M} in {outlook.holding.site.zone}"
    return Event(
        key=f"sky/{event.event}/{_round_of(event) if moon else day.year}",
        title=title,
        first=day,
        last=day,
        description=f"{title} on {day_words(day)} at {clock}.{tag}",
        categories=("moon" if moon else "season",),
        color="silver" if moon else "goldenrod",
    )


def _round_of(event: SkyEvent) -> int:
    """Which lunation a phase belongs to, counted from January 2000: its name for ever.

    The mean synodic month is good enough to count by: a phase strays from it by hours.
    """
    return round((event.utc - _FIRST_LUNATION) / _SYNODIC_MONTH - SKY_SHOWN.index(event.event) / 4)


_FIRST_LUNATION = datetime(2000, 1, 6, 18, 14, tzinfo=UTC)
_SYNODIC_MONTH = timedelta(days=29.530588853)
