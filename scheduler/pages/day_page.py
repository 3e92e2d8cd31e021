"""One day of work on one sheet: who, where, steps to tick, what to stop for, what to bring."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from scheduler.holding import Hire
from scheduler.pages.rendering import Page, page
from scheduler.reasons import SeasonPlan
from scheduler.season import Placed
from scheduler.stand import Task
from scheduler.words import day_notes, hours_by_name, mulches_of, phrases


@dataclass(frozen=True, slots=True)
class DayStep:
    """One step to tick."""

    task: str  # its id, as the log takes it
    title: str  # what is done
    how: str  # how it is done
    hours: float  # person-hours of this day
    people: tuple[str, ...]  # who does it
    plants: str  # what it is done to
    goes_on: bool  # whether a part of it is left for another day


@dataclass(frozen=True, slots=True)
class LaidLine:
    """The mulch of one line, the lowest layer first: its name, fresh kg and depth in cm."""

    line: str
    layers: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True, slots=True)
class DayVisit:
    """What is done of one visit on the day."""

    visit: str  # its id
    title: str  # its name
    hired: tuple[str, ...]  # names of those hired for it, and whether they are booked
    steps: tuple[DayStep, ...]  # in the order of work
    notes: tuple[tuple[str, str], ...]  # what a crew must know, by its heading
    lines: tuple[LaidLine, ...]  # what is laid that day, line by line


@dataclass(frozen=True, slots=True)
class DaySheet:
    """Everything the day sheet shows."""

    site: str  # name of the holding
    day: date  # the day
    hours: float  # person-hours of everybody
    people: tuple[tuple[str, float], ...]  # who works, with their hours
    visits: tuple[DayVisit, ...]  # what is done
    bring: tuple[str, ...]  # tools and kit of all of it
    emergency: str  # who calls whom, and where the road is
    # of each plot with work: name, open or closed, chance of another frost
    frost: tuple[tuple[str, str], ...]


def work_days(placed: Placed) -> list[int]:
    """Numbers of the days with work, ascending."""
    return sorted({day for stint in placed.stints.values() for day in stint.days})


def day_sheet(plan: SeasonPlan, day: int, person: str = "") -> DaySheet:
    """The rows of one day.

    Args:
        plan: the season.
        day: number of the day.
        person: whose sheet it is; empty for the whole crew.
    """
    placed = plan.placed
    on = list(_visits_on(placed, day, person))
    visits = tuple(_visit(plan, visit_id, day) for visit_id in on)
    shares: Counter[str] = Counter()
    for visit_id in on:
        shares.update(hours_by_name(placed, visit_id, [day]))
    tasks = [task for visit_id in on for task in phrases.tasks_on(placed, visit_id, [day])]
    return DaySheet(
        site=placed.holding.site.name,
        day=placed.season.date_of(day),
        hours=round(sum(shares.values()), 2),
        people=tuple((name, round(hours, 2)) for name, hours in sorted(shares.items())),
        visits=visits,
        bring=tuple(dict.fromkeys(_tools(tasks))),
        emergency=placed.holding.site.emergency if any(t.type.heavy for t in tasks) else "",
        frost=tuple(dict.fromkeys(_frost(placed, tasks, day))),
    )


def _visits_on(placed: Placed, day: int, person: str) -> Iterator[str]:
    """The visits with work that day, or with work for one person."""
    for visit_id in placed.groups:
        people = _people(placed, visit_id, day)
        if people and (not person or person in people):
            yield visit_id


def _people(placed: Placed, visit_id: str, day: int) -> set[str]:
    """Who works on a visit that day; nobody where it has no work then."""
    names = set[str]()
    for task_id in placed.groups[visit_id]:
        stint = placed.stints.get(task_id)
        if stint is not None and day in stint.days:
            names.update(stint.people[stint.days.index(day)])
    return names


def _tools(tasks: Sequence[Task]) -> Iterator[str]:
    for task in tasks:
        for tool in (*task.type.tools.split(","), *task.type.kit):
            if tool.strip():
                yield tool.strip()


def _frost(placed: Placed, tasks: Sequence[Task], day: int) -> Iterator[tuple[str, str]]:
    for task in tasks:
        if task.plot is not None:
            risk = placed.outlook.frost[task.plot.id]
            yield task.plot.name, phrases.risk_words(risk, placed.season.date_of(day))


def _visit(plan: SeasonPlan, visit_id: str, day: int) -> DayVisit:
    placed = plan.placed
    tasks = phrases.tasks_on(placed, visit_id, [day])
    hired = {hire for task in tasks for hire in task.hired}
    return DayVisit(
        visit=visit_id,
        title=phrases.visit_name(visit_id, placed),
        hired=tuple(
            f"{hire.name} ({_booked_words(hire, placed.season.date_of(day))})"
            for hire in placed.holding.crew.hire
            if hire.id in hired
        ),
        steps=tuple(_step(placed, task, day) for task in tasks),
        notes=day_notes(plan, visit_id, day),
        lines=tuple(
            LaidLine(
                mulch.line.id,
                tuple(
                    (layer.layer.id, round(layer.kg, 1), round(layer.depth_cm, 2))
                    for layer in mulch.layers
                ),
            )
            for task in tasks[-1:]
            for mulch in mulches_of(placed, task.id)
            if mulch.layers
        ),
    )


def _booked_words(hire: Hire, day: date) -> str:
    return "booked" if any(day in booked.span for booked in hire.booked) else "not booked yet"


def _step(placed: Placed, task: Task, day: int) -> DayStep:
    stint = placed.stints[task.id]
    at = stint.days.index(day)
    kinds, counts = placed.holding.rules.plants, dict[str, int]()
    for row in task.stock:
        counts[row.plant] = counts.get(row.plant, 0) + row.count
    return DayStep(
        task=task.id,
        title=task.title,
        how=task.type.how,
        hours=round(stint.hours[at], 2),
        people=tuple(stint.people[at]),
        plants=", ".join(f"{n} {kinds[plant].name.lower()}" for plant, n in counts.items()),
        goes_on=day != stint.last,
    )


def day_page(plan: SeasonPlan, day: int, person: str = "", **more: object) -> Page:
    """One day as a page."""
    sheet = day_sheet(plan, day, person)
    title = f"{sheet.day:%A} {sheet.day.day} {sheet.day:%B %Y}"
    return page(f"day-{sheet.day}", title, "day.html", sheet, **more)
