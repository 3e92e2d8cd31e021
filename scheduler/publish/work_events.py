"""The work as events: planned, done, and what has to be booked for it."""

from collections.abc import Iterator

from scheduler.holding import Plot
from scheduler.publish import words
from scheduler.publish.describe import task_description
from scheduler.publish.frost_events import WARNING_COLOR
from scheduler.publish.ics import Event, Follower
from scheduler.publish.text import shortened
from scheduler.roster import Stint
from scheduler.season import SeasonPlan

# One CSS3 colour name for each visit; a hint for readers that show it, never a code to learn.
VISIT_COLOR = {
    "dormant": "steelblue",
    "release": "seagreen",
    "dry-summer": "darkkhaki",
    "year": "slategray",
}


def work_events(
    plan: SeasonPlan, *, person: str = "", plot: Plot | None = None
) -> Iterator[Event]:
    """Planned work, one event for each run of days.

    Args:
        plan: the season.
        person: only the days of this person; empty for everybody.
        plot: only work in this plot; None for the whole holding.
    """
    days = {
        task_id: _days_of(stint, person)
        for task_id, stint in plan.stints.items()
        if plot is None or plan.tasks[task_id].plot_id == plot.id
    }
    for task_id, worked in days.items():
        if worked:
            yield from _stint_events(plan, task_id, worked, person)


def _days_of(stint: Stint, person: str) -> tuple[int, ...]:
    if not person:
        return stint.days
    return tuple(
        day for day, people in zip(stint.days, stint.people, strict=True) if person in people
    )


def _stint_events(
    plan: SeasonPlan, task_id: str, days: tuple[int, ...], person: str
) -> Iterator[Event]:
    task = plan.tasks[task_id]
    runs = words.runs_of(plan.season, days)
    for part, (first, last) in enumerate(runs, start=1):
        of = f" ({part} of {len(runs)})" if len(runs) > 1 else ""
        yield Event(
            key=f"{plan.holding.plan.id}/{task_id}/{part}",
            title=words.task_title(task, plan, end=of),
            first=first,
            last=last,
            description=task_description(task, plan.stints[task_id], plan, person),
            categories=(task.type.visit,),
            location=task.plot.name if task.plot else "",
            busy=True,
            color=VISIT_COLOR[task.type.visit],
            followers=_followers(plan, task_id) if part == len(runs) else (),
        )


def _followers(plan: SeasonPlan, task_id: str) -> tuple[Follower, ...]:
    """The first parts of what may not start before this has ended."""
    return tuple(
        Follower(f"{plan.holding.plan.id}/{link.after}/1", link.min_days)
        for link in plan.links
        if link.before == task_id and link.after in plan.stints
    )


def done_events(plan: SeasonPlan, *, plot: Plot | None = None) -> Iterator[Event]:
    """Finished work, on the day the work log gives; of one plot, or of all."""
    for task_id, entry in plan.done.items():
        task = plan.tasks.get(task_id)
        if task is None or (plot is not None and task.plot_id != plot.id):
            continue
        spent = f"{entry.hours:g} person-hours. " if entry.hours is not None else ""
        yield Event(
            key=f"{plan.holding.plan.id}/{task_id}/1",
            title=shortened(f"Done: {words.where(task, plan)}: {task.type.title}"),
            first=entry.date,
            last=entry.date,
            description=f"{spent}{entry.note}".strip() or "Done.",
            categories=(task.type.visit,),
            location=task.plot.name if task.plot else "",
            color=VISIT_COLOR[task.type.visit],
        )


def errand_events(plan: SeasonPlan, plot: Plot | None = None) -> Iterator[Event]:
    """Bookings on the last good day for each, covers on the evening before a hard night."""
    for errand in plan.errands:
        if plot is not None and not errand.id.startswith(f"{plot.id}."):
            continue
        protects = errand.kind == "protect"
        yield Event(
            key=f"{plan.holding.plan.id}/{errand.id}/1",
            title=shortened(errand.title),
            first=errand.on,
            last=errand.on,
            description=words.errand_description(errand, plan),
            categories=("frost" if protects else "booking",),
            color=WARNING_COLOR if protects else "slategray",
        )
