"""The pages of the desk: what happened, the stock as a table, what a change would move."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from scheduler.pages.front_page import free_days
from scheduler.pages.rendering import Page, Rows, page
from scheduler.reasons import SeasonPlan
from scheduler.terms import span_words
from scheduler.words import phrases


def happened_page(plan: SeasonPlan, kept: Sequence[Any], **more: object) -> Page:
    """The page on which the grower tells what happened."""
    placed, as_of = plan.placed, plan.placed.outlook.as_of
    choices = tuple(_choices(plan))
    # what the plan has for later days was not worked on yet; what has no days may have been
    later = {v for v, visit in placed.visits.items() if placed.season.date_of(visit.first) > as_of}
    crew = placed.holding.crew
    sheet = {
        "as_of": as_of,
        "people": tuple(person.name for person in crew.person),
        "hire": tuple((hire.id, hire.name) for hire in crew.hire),
        "free": tuple(free_days(plan, placed.season.last)),
        "begun": tuple(choice for choice in choices if choice["visit"] not in later),
        "visits": (*choices, *_own_tasks(plan, {choice["visit"] for choice in choices})),
        "kept": tuple(kept),  # changes kept so far, the latest first
    }
    return page("happened", "What happened", "happened.html", sheet, **more)


def _choices(plan: SeasonPlan) -> Iterator[Rows]:
    """The visits that are not done, in the order of their days; unscheduled ones last."""
    placed = plan.placed
    unscheduled = [visit for visit in placed.groups if visit not in placed.visits]
    for visit_id in (*placed.visits, *unscheduled):
        if visit_id in placed.groups:
            visit = placed.visits.get(visit_id)
            days = "" if visit is None else span_words(
                *map(placed.season.date_of, (visit.first, visit.last))
            )  # fmt: skip
            title = phrases.visit_name(visit_id, placed)
            yield {"visit": visit_id, "title": title, "days": days}


def _own_tasks(plan: SeasonPlan, known: set[str]) -> Iterator[Rows]:
    """Single pieces of work that have a day of the grower's own."""
    for own in plan.placed.holding.plan.says.own_date:
        if own.task in plan.placed.tasks and own.task not in known:
            task = plan.placed.tasks[own.task]
            title = f"{phrases.where(task, plan.placed)}: {task.title}"
            yield {"visit": own.task, "title": title, "days": ""}


def stock_page(table: Any, plan: SeasonPlan, **more: object) -> Page:  # noqa: ANN401  # columns and rows
    """The stock as a table to edit."""
    plots = [plot.id for plot in plan.placed.holding.plots]
    return page("stock", "Stock", "stock.html", table, plots=plots, **more)


def answer_page(
    title: str,
    answer: Any,  # noqa: ANN401  # words, notes, shifts, warnings, seen
    form: Mapping[str, Sequence[str]],
    **more: object,
) -> Page:
    """What a change would move, with the form that keeps it."""
    fields = [(name, value) for name, values in form.items() for value in values]
    return page("answer", title, "answer.html", answer, fields=fields, **more)


def refusal_page(title: str, reasons: Sequence[str], **more: object) -> Page:
    """Why something cannot be done, a line each."""
    return page("refusal", title, "refusal.html", list(reasons), **more)
