"""What the entries of a work calendar speak of: read from their words, and from the plan."""

import re
from datetime import date, timedelta

from scheduler.calendars import Feed
from scheduler.calendars.ics import Event
from scheduler.reasons import SeasonPlan
from tests.once import feeds_once

_REPORT = re.compile(r"scheduler log SITE ([^ \n]+)(?: --on [\d-]+)?\Z")


def feeds_by_name(
    plan: SeasonPlan, *, alarms: bool = False, relations: bool = False
) -> dict[str, Feed]:
    return {feed.name: feed for feed in feeds_once(plan, alarms=alarms, relations=relations)}


def told_of(description: str) -> str:
    """The visit or errand that the last words of an entry ask to report; empty for none."""
    found = _REPORT.search(description)
    return found[1] if found else ""


def is_visit(event: Event) -> bool:
    """Whether it is planned work: no errand, nothing that is done, no frost and no sky."""
    return event.description.rpartition("\n")[2].startswith("Report: ")


def days_of(event: Event) -> set[date]:
    return {event.first + timedelta(days=n) for n in range((event.last - event.first).days + 1)}


def shown_days(feed: Feed) -> set[tuple[str, date]]:
    """Visits with their days, as the entries of a feed show them."""
    return {
        (told_of(e.description), day) for e in feed.events if is_visit(e) for day in days_of(e)
    }


def planned_days(plan: SeasonPlan, person: str = "") -> set[tuple[str, date]]:
    """Visits with their days, from the stints of their steps; of one person only theirs."""
    return {
        (plan.placed.visit_of[task_id], plan.placed.season.date_of(day))
        for task_id, stint in plan.placed.stints.items()
        for day, people in zip(stint.days, stint.people, strict=True)
        if not person or person in people
    }


def campaigns(plan: SeasonPlan) -> list[str]:
    """The visits that are worked in one go, as ordered steps."""
    return [v for v in plan.placed.visits if plan.placed.tasks[plan.placed.groups[v][0]].is_step]
