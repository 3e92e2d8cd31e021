"""Why this day and not earlier: the rulings, then the order, then the crew, then preference."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Literal

import numpy as np

from scheduler.publish import words
from scheduler.publish.sheet import Table
from scheduler.season import SeasonPlan
from scheduler.terms import Ruling, day_words, spans_of

Kind = Literal["closed", "waits", "crew", "preference"]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a task does not stand on a run of days.

    Args:
        first: first day of the run.
        last: last day of the run.
        kind: a rule closes them, the task waits for another, the crew or kit has no room,
            or a preferred day was worth the wait.
        says: the reason in words.
        ruling: the ruling that closes the days, if one does.
    """

    first: date
    last: date
    kind: Kind
    says: str
    ruling: Ruling | None = None


def reasons_of(plan: SeasonPlan, task_id: str) -> tuple[Reason, ...]:
    """Why a task stands on no earlier day, from today to the day before it begins.

    First each rule with the days it closes, those that hold longest first; then the open
    days, and what keeps the task from them. For a task that could not be placed, all days
    of the plan are gone through.
    """
    stint = plan.stints.get(task_id)
    until = plan.season.n_days if stint is None else stint.first
    since = max(0, plan.season.day_of(plan.outlook.as_of))
    closed = sorted(
        _closed(plan, task_id, since, until), key=lambda r: (-r.last.toordinal(), r.first)
    )
    return (*closed, *_unused(plan, task_id, since, until))


def _closed(plan: SeasonPlan, task_id: str, since: int, until: int) -> Iterator[Reason]:
    days = np.arange(plan.season.n_days)
    asked = (days >= since) & (days < until)
    for ruling in plan.windows[task_id].rulings:
        for span in spans_of(plan.season, ruling.closed & asked):
            yield Reason(span.first, span.last, "closed", words.ruling_words(ruling), ruling)


def _unused(plan: SeasonPlan, task_id: str, since: int, until: int) -> list[Reason]:
    """The open days in runs with the same reason."""
    runs: list[Reason] = []
    is_open = plan.windows[task_id].open
    for day in range(since, until):
        if not is_open[day]:
            continue
        kind, says = _reason(plan, task_id, day)
        when = plan.season.date_of(day)
        last = runs[-1] if runs else None
        if last and last.says == says and when - last.last == timedelta(days=1):
            runs[-1] = Reason(last.first, when, kind, says)
        else:
            runs.append(Reason(when, when, kind, says))
    return runs


def _reason(plan: SeasonPlan, task_id: str, day: int) -> tuple[Kind, str]:
    waits = _waits_for(plan, task_id, day)
    if waits:
        return "waits", waits
    stint = plan.stints.get(task_id)
    points = plan.windows[task_id].points
    if stint is not None and points[stint.first] > points[day]:
        return "preference", f"a later day is preferred ({words.MOON_TAG})"
    return "crew", _busy_words(plan, task_id, day)


def _waits_for(plan: SeasonPlan, task_id: str, day: int) -> str:
    for link in plan.links:
        before = plan.stints.get(link.before)
        if link.after != task_id or before is None:
            continue
        if day < before.last + link.min_days:
            last = day_words(plan.season.date_of(before.last))
            title = plan.tasks[link.before].type.title
            gap = f" and {link.min_days} days must pass" if link.min_days else ""
            return f"it waits for {title!r}, which ends on {last}{gap}"
    return ""


def _busy_words(plan: SeasonPlan, task_id: str, day: int) -> str:
    """Nobody there, or what the crew and the kit are at."""
    hours = sum(float(worker.hours[day]) for worker in plan.problem.workers)
    if hours == 0:
        return "nobody of the crew works"
    others = [
        words.task_title(plan.tasks[other], plan)
        for other, stint in plan.stints.items()
        if other != task_id and day in stint.days
    ]
    if others:
        return "the crew is at " + ", ".join(others)
    needs = [hire.name for hire in plan.holding.crew.hire if hire.id in plan.tasks[task_id].hired]
    with_hire = f" with {', '.join(needs)}" if needs else ""
    return f"no room for the whole of it{with_hire} in one go, beside the work tied to it"


def why_table(plan: SeasonPlan, task_id: str) -> Table:
    """The reasons as a table."""
    for errand in plan.errands:
        if errand.id == task_id:
            on = day_words(errand.on)
            return Table(f"{errand.title}: by {on}", ("why by then",), ((errand.because,),))
    task, stint = plan.tasks[task_id], plan.stints.get(task_id)
    title = words.task_title(task, plan)
    if task_id in plan.done:
        head = f"{title}: done on {day_words(plan.done[task_id].date)}"
        return Table(head, ("days", "why not then"), ())
    if stint is None:
        head = f"{title}: could not be placed"
    else:
        head = f"{title}: {words.days_words(plan.season, stint.days)}"
    return Table(
        head,
        ("days", "why not then"),
        tuple((words.span_words(r.first, r.last), r.says) for r in reasons_of(plan, task_id)),
        tuple(_foot(plan, task_id)),
    )


def _foot(plan: SeasonPlan, task_id: str) -> Iterator[str]:
    """Frost state of the day, who works, and where the rules come from."""
    task, stint = plan.tasks[task_id], plan.stints.get(task_id)
    for notice in plan.notices:
        if notice.about == task_id:
            yield f"{notice.level.value.upper()}: {notice.says}"
    if stint is not None:
        told = (words.frost_words(task, stint, plan), words.moon_words(task, stint, plan))
        yield from filter(None, told)
    closing = {r.ruling.rule_id: r.ruling for r in reasons_of(plan, task_id) if r.ruling}
    for ruling in closing.values():
        yield f"Source of {ruling.rule_id} [{words.basis_words(ruling)}]: {ruling.source}."


def why_record(plan: SeasonPlan, task_id: str) -> dict[str, Any]:
    """The reasons for a program."""
    for errand in plan.errands:
        if errand.id == task_id:
            on = errand.on.isoformat()
            return {"task": task_id, "title": errand.title, "on": on, "because": errand.because}
    stint = plan.stints.get(task_id)
    days = [] if stint is None else [plan.season.date_of(d).isoformat() for d in stint.days]
    return {
        "task": task_id,
        "title": words.task_title(plan.tasks[task_id], plan),
        "days": days,
        "done": task_id in plan.done,
        "earlier": [
            {
                "first": reason.first.isoformat(),
                "last": reason.last.isoformat(),
                "kind": reason.kind,
                "says": reason.says,
                **_rule_record(reason.ruling),
            }
            for reason in reasons_of(plan, task_id)
        ],
    }


def _rule_record(ruling: Ruling | None) -> dict[str, str]:
    if ruling is None:
        return {}
    return {"rule": ruling.rule_id, "basis": ruling.basis.value, "source": ruling.source}
