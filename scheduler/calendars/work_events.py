"""The work as events: one for each plot, visit and day, and what has to be booked for it."""

from collections.abc import Iterator, Sequence
from datetime import date

from scheduler.calendars.frost_events import WARNING_COLOR
from scheduler.calendars.ics import Event
from scheduler.reasons import SeasonPlan
from scheduler.season import Placed
from scheduler.terms import numbered_runs
from scheduler.words import errand_description, phrases, shortened, visit_text

# One CSS3 colour name for each visit; a hint for readers that show it, never a code to learn.
VISIT_COLOR = {
    "dormant": "steelblue",
    "release": "seagreen",
    "dry-summer": "darkkhaki",
    "routine": "slategray",
}
BOOKING_COLOR = "mediumpurple"


def work_events(plan: SeasonPlan, *, person: str = "") -> Iterator[Event]:
    """Planned work: a campaign day by day, other work one event for each run of days.

    Only the days of a person, where one is named.
    """
    for visit_id in plan.placed.visits:
        yield from _visit_events(plan, visit_id, person)


def _visit_events(plan: SeasonPlan, visit_id: str, person: str) -> Iterator[Event]:
    placed, days = plan.placed, _days_of(plan.placed, visit_id, person)
    task = phrases.first_task(visit_id, placed)
    kind = phrases.kind_of_visit(task)
    if task.is_step:  # numbered by all days of the campaign, those of the log first
        runs = [[day] for day in _days_of(placed, visit_id)]
        n_before = len(placed.logged_days(visit_id))
    else:
        runs, n_before = numbered_runs(days), 0
    n_all = n_before + len(runs)
    for part, run in enumerate(runs, start=1 + n_before):
        if run[0] in days:
            yield Event(
                key=f"{placed.holding.plan.id}/{visit_id}/{part}",
                title=phrases.visit_title(visit_id, run, placed, part, n_all),
                first=placed.season.date_of(run[0]),
                last=placed.season.date_of(run[-1]),
                description=visit_text(plan, visit_id, run, person),
                categories=(kind,),
                location=task.plot.name if task.plot else "",
                plot_id=task.plot_id,
                busy=True,
                color=VISIT_COLOR[kind],
                followers=tuple(_followers(placed, visit_id)) if part == n_all else (),
            )


def _days_of(plan: Placed, visit_id: str, person: str = "") -> list[int]:
    """Days on which a visit is worked on; of one person only theirs."""
    stints = [plan.stints[t] for t in plan.groups[visit_id] if t in plan.stints]
    days = {
        day
        for stint in stints
        for day, people in zip(stint.days, stint.people, strict=True)
        if not person or person in people
    }
    return sorted(days)


def _followers(plan: Placed, visit_id: str) -> Iterator[tuple[str, int]]:
    """Visits that may not begin before this one has come so far: first event, days between.

    An order stands between two steps; the days are what it leaves between the end of the one
    visit and the begin of the other, as they are planned.
    """
    stints, visits = plan.stints, plan.visits
    for (before, after), orders in plan.problem.ties.items():
        if before == visit_id != after and after in visits:
            days = max(
                order.min_days
                - (visits[before].last - stints[order.before].last)
                - (stints[order.after].first - visits[after].first)
                for order in orders
            )
            if days >= 0:
                first = 1 + len(plan.logged_days(after))
                yield f"{plan.holding.plan.id}/{after}/{first}", max(0, days - 1)


def done_events(plan: Placed) -> Iterator[Event]:
    """Finished work on the days that the work log gives."""
    for visit_id, ids in plan.groups.items():
        task = plan.tasks[ids[0]]
        if not task.is_step and not all(task_id in plan.done for task_id in ids):
            continue  # what is left of it keeps its event
        days = plan.logged_days(visit_id)
        for part, day in enumerate(days if task.is_step else days[-1:], start=1):
            yield Event(
                key=f"{plan.holding.plan.id}/{visit_id}/{part}",
                title=shortened(phrases.visit_name(visit_id, plan), end=", done"),
                first=day,
                last=day,
                description=_logged_words(plan, ids, day),
                categories=(phrases.kind_of_visit(task),),
                location=task.plot.name if task.plot else "",
                plot_id=task.plot_id,
                color=VISIT_COLOR[phrases.kind_of_visit(task)],
            )


def _logged_words(plan: Placed, ids: Sequence[str], day: date) -> str:
    """What the log has of the tasks of a visit on a day."""
    entries = [e for t in ids for e in plan.log.get(t, ()) if e.date == day]
    spent = sum(entry.hours or 0.0 for entry in entries)
    hours = [f"{spent:g} person-hours"] if spent else []
    rows = (f"{plan.tasks[e.task].title}, {e.percent} % done" for e in entries)
    notes = (entry.note for entry in entries if entry.note)
    return "\n".join((*hours, *rows, *notes))


def errand_events(plan: SeasonPlan) -> Iterator[Event]:
    """Bookings on the last good day for each, covers on the evening before a hard night."""
    plots = plan.placed.holding.plots
    for errand in plan.errands:
        protects = errand.kind == "protect"
        plot = next((plot for plot in plots if errand.id.startswith(f"{plot.id}.")), None)
        yield Event(
            key=f"{plan.placed.holding.plan.id}/{errand.id}/1",
            title=shortened(errand.title),
            first=errand.on,
            last=errand.on,
            description=errand_description(errand, plan.placed),
            categories=("frost" if protects else "booking",),
            location=plot.name if plot else "",
            plot_id=plot.id if plot else "",
            color=WARNING_COLOR if protects else BOOKING_COLOR,
        )
