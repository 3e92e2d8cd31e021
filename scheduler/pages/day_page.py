"""One day of work on one sheet: who, where, steps to tick, what to stop for, what to bring."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from scheduler.holding import Hire
from scheduler.pages.rendering import Page, Rows, page
from scheduler.reasons import SeasonPlan
from scheduler.season import Placed
from scheduler.stand import LineMulch, Task
from scheduler.words import day_notes, hours_by_name, mulches_of, part_words, phrases


def work_days(placed: Placed) -> list[int]:
    """Numbers of the days with work, ascending."""
    return sorted({day for stint in placed.stints.values() for day in stint.days})


def visits_worked_on(placed: Placed, day: int) -> list[str]:
    """Ids of the visits that are worked on on a day, in the order of work."""
    return [visit_id for visit_id in placed.groups if phrases.tasks_on(placed, visit_id, [day])]


def hours_of_people(placed: Placed, visits: Iterable[str], day: int) -> dict[str, float]:
    """Person-hours by name, of everybody who works on some visits on a day, sorted by name."""
    shares: Counter[str] = Counter()
    for visit_id in visits:
        shares.update(hours_by_name(placed, visit_id, [day]))
    return {name: round(hours, 2) for name, hours in sorted(shares.items())}


def day_sheet(plan: SeasonPlan, day: int) -> Rows:
    """What the sheet of a day shows, by the number of the day."""
    placed = plan.placed
    on = visits_worked_on(placed, day)
    people = hours_of_people(placed, on, day)
    tasks = [task for visit_id in on for task in phrases.tasks_on(placed, visit_id, [day])]
    return {
        "site": placed.holding.site.name,
        "day": placed.season.date_of(day),
        "hours": round(sum(people.values()), 2),
        "people": tuple(people.items()),
        "visits": tuple(_visit(plan, visit_id, day) for visit_id in on),
        "bring": phrases.tools_of(tasks),
        "emergency": placed.holding.site.emergency if any(t.type.heavy for t in tasks) else "",
        "frost": tuple(dict.fromkeys(_frost(placed, tasks, day))),
    }


def _frost(placed: Placed, tasks: Sequence[Task], day: int) -> Iterator[tuple[str, str]]:
    for task in tasks:
        if task.plot is not None:
            risk = placed.outlook.frost[task.plot.id]
            yield task.plot.name, phrases.risk_words(risk, placed.season.date_of(day))


def _visit(plan: SeasonPlan, visit_id: str, day: int) -> Rows:
    """What is done of one visit on a day; its mulch is that of the whole visit."""
    placed = plan.placed
    tasks = phrases.tasks_on(placed, visit_id, [day])
    hired = {hire for task in tasks for hire in task.hired}
    laid = (mulches_of(placed, task.id) for task in tasks)
    return {
        "visit": visit_id,
        "title": phrases.visit_name(visit_id, placed),
        "hired": tuple(
            f"{hire.name} ({_booked_words(hire, placed.season.date_of(day))})"
            for hire in placed.holding.crew.hire
            if hire.id in hired
        ),
        "steps": tuple(_step(placed, task, day) for task in tasks),
        "notes": day_notes(plan, visit_id, day),
        "lines": tuple(
            {"line": mulch.line.id, "layers": layer_rows(mulch)}
            for mulch in next(filter(None, laid), ())
            if mulch.layers
        ),
    }


def layer_rows(mulch: LineMulch) -> tuple[tuple[str, float, float], ...]:
    """The layers of one line from the lowest up: name, fresh kg, depth in cm."""
    return tuple((of.layer.id, round(of.kg, 1), round(of.depth_cm, 2)) for of in mulch.layers)


def _booked_words(hire: Hire, day: date) -> str:
    return "booked" if any(day in booked.span for booked in hire.booked) else "not booked yet"


def _step(placed: Placed, task: Task, day: int) -> Rows:
    """A step to tick."""
    stint = placed.stints[task.id]
    at = stint.days.index(day)
    return {
        "task": task.id,
        "title": task.title,
        "how": task.type.how,
        "hours": round(stint.hours[at], 2),
        "people": stint.people[at],
        "plants": phrases.stock_words(task.stock, placed),
        "part": part_words(stint, [day]),
    }


def day_page(plan: SeasonPlan, day: int, **more: object) -> Page:
    """One day as a page."""
    sheet = day_sheet(plan, day)
    on = sheet["day"]
    title = f"{on:%A} {on.day} {on:%B %Y}"
    return page(f"day-{on}", title, "day.html", sheet, **more)
