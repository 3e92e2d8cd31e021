"""What an entry of the work calendar says: what a crew needs on a phone, in the order of use.

Who, what to do, what to stop for, what to bring, frost and daylight, how to report. The full
reasons, ranges, sources and material are told by ``scheduler why`` and ``scheduler due``.
"""

from collections.abc import Sequence
from datetime import timedelta

from scheduler.publish import words
from scheduler.publish.reasons import short_reason
from scheduler.publish.text import rows_words
from scheduler.publish.work_words import facts_of
from scheduler.season import SeasonPlan
from scheduler.stand import Task
from scheduler.windows import cautions_on, concerns_of

MOST_WORDS = 200  # what somebody reads on a phone with gloves on


def visit_text(plan: SeasonPlan, visit_id: str, days: Sequence[int], person: str = "") -> str:
    """The text for some days of a visit, one day of a campaign or a run of days of other work.

    Where it would be longer than ``MOST_WORDS``, the plants are left out, then the reason of the
    day: both are told by ``scheduler why``. Nothing that keeps people safe is left out.

    Args:
        plan: the season.
        visit_id: the visit.
        days: day numbers that the entry speaks of, ascending.
        person: whose entry it is; empty for the whole crew.
    """
    told = ""
    for plants, reason in ((True, True), (False, True), (False, False)):
        paragraphs = (
            words.frost_warning(visit_id, days, plan),
            words.half_done_warning(visit_id, plan),
            _who(plan, visit_id, days, person),
            _do(plan, visit_id, days, plants=plants),
            _stop_for(plan, visit_id, days),
            _mind(plan, visit_id, days),
            _bring(plan, visit_id, days),
            words.frost_words(visit_id, days, plan),
            _light(plan, visit_id, days),
            words.moon_words(visit_id, days, plan),
            _why(plan, visit_id, days) if reason else "",
            _report(plan, visit_id, days),
        )
        told = "\n".join(paragraph for paragraph in paragraphs if paragraph)
        if len(told.split()) <= MOST_WORDS:
            break
    return told


def tasks_on(plan: SeasonPlan, visit_id: str, days: Sequence[int]) -> list[Task]:
    """The steps of a visit that are worked on on some days, in the order of work."""
    ids = (t for t in plan.groups[visit_id] if t in plan.stints)
    return [plan.tasks[t] for t in ids if not {*days}.isdisjoint(plan.stints[t].days)]


def _shares(plan: SeasonPlan, visit_id: str, days: Sequence[int]) -> dict[str, float]:
    """Hours of each person on some days of a visit, by name."""
    hours: dict[str, float] = {}
    for task in tasks_on(plan, visit_id, days):
        stint = plan.stints[task.id]
        for day, people, each in zip(stint.days, stint.people, stint.each_h, strict=True):
            for name, share in zip(people, each, strict=True) if day in days else ():
                hours[name] = hours.get(name, 0.0) + share
    return dict(sorted(hours.items()))


def _who(plan: SeasonPlan, visit_id: str, days: Sequence[int], person: str) -> str:
    shares = _shares(plan, visit_id, days)
    hired = {hire for task in tasks_on(plan, visit_id, days) for hire in task.hired}
    firms = [hire.name for hire in plan.holding.crew.hire if hire.id in hired]
    if person:
        others = ", ".join(name for name in shares if name != person)
        told = [f"you {shares.get(person, 0.0):.1f} h", *([f"with {others}"] if others else [])]
    else:
        told = [f"{name} {hours:.1f}" for name, hours in shares.items()]
        told[-1] += " h"
    hired_too = f"; hired: {', '.join(firms)}" if firms else ""
    return f"Who: {', '.join(told)}{hired_too}."


def _do(plan: SeasonPlan, visit_id: str, days: Sequence[int], *, plants: bool) -> str:
    """The steps of these days in their order, with hours and plants."""
    tasks = tasks_on(plan, visit_id, days)
    if len(plan.groups[visit_id]) == 1:
        head = f"{_hours(tasks[0], days, plan)}{_plants(tasks[0], plan) if plants else ''}"
        return f"Do, {head}: {tasks[0].type.how}"
    rows = rows_words(
        f"{task.type.title}{_plants(task, plan) if plants else ''}, {_hours(task, days, plan)}"
        for task in tasks
    )
    return f"Do, in this order:{rows}"


def _hours(task: Task, days: Sequence[int], plan: SeasonPlan) -> str:
    """Person-hours of a step on some days; says where it goes on or began before."""
    stint = plan.stints[task.id]
    hours = sum(h for day, h in zip(stint.days, stint.hours, strict=True) if day in days)
    entry = plan.progress.get(task.id)
    done = f", {entry.percent} % done" if entry else ""
    rest = ", the rest" if stint.first < days[0] else ""
    return f"{hours:.1f} h{rest}{', the first part' if stint.last > days[-1] else ''}{done}"


def _plants(task: Task, plan: SeasonPlan) -> str:
    plants, counts = plan.holding.rules.plants, dict[str, int]()
    for row in task.stock:
        counts[row.plant] = counts.get(row.plant, 0) + row.count
    told = ", ".join(f"{n} {plants[plant].name.lower()}" for plant, n in counts.items())
    return f" ({told})" if told else ""


def _stop_for(plan: SeasonPlan, visit_id: str, days: Sequence[int]) -> str:
    """The dangers and limits of these very days."""
    facts, found = facts_of(plan), dict[str, str]()
    tasks = tasks_on(plan, visit_id, days)
    for task in tasks:
        for day in (day for day in days if day in plan.stints[task.id].days):
            found |= {c.id: c.short for c in cautions_on(task, day, facts) if not c.standing}
            found |= {
                c.rule_id: c.words
                for c in concerns_of(plan.windows[task.id], facts)
                if c.on[day] and not c.standing
            }
    overhead = [row.height_m for task in tasks if task.type.overhead for row in task.stock]
    if overhead and "two-tree-lengths" in found:
        clear_m = plan.holding.rules.figure("tree-lengths") * max(overhead)
        found["two-tree-lengths"] = f"nobody within {clear_m:g} m of a falling tree, nobody alone"
    return f"Stop for: {'; '.join(found.values())}." if found else ""


def _mind(plan: SeasonPlan, visit_id: str, days: Sequence[int]) -> str:
    """What holds from now on, told once in the visit, with the first step that calls for it."""
    facts, first = facts_of(plan), dict[str, tuple[int, str]]()
    for task_id in plan.groups[visit_id]:
        if task_id in plan.stints:
            day = plan.stints[task_id].first
            for caution in cautions_on(plan.tasks[task_id], day, facts):
                if caution.standing:
                    first.setdefault(caution.id, (day, caution.short))
    found = [short for day, short in first.values() if day in days]
    begins = (
        days[0] == plan.visits[visit_id].first and plan.tasks[plan.groups[visit_id][0]].is_step
    )
    found += [words.CODES] if begins else []
    return f"Mind: {'; '.join(found)}." if found else ""


def _bring(plan: SeasonPlan, visit_id: str, days: Sequence[int]) -> str:
    tools = dict.fromkeys(
        tool.strip()
        for task in tasks_on(plan, visit_id, days)
        for tool in (*task.type.tools.split(","), *task.type.kit)
        if tool.strip()
    )
    return f"Bring: {', '.join(tools)}." if tools else ""


def _light(plan: SeasonPlan, visit_id: str, days: Sequence[int]) -> str:
    """Sunrise to sunset in the whole minutes between, outside of which nobody cuts overhead."""
    sky = plan.outlook.sky
    rise, fall = sky.sunrise[days[0]], sky.sunset[days[0]]
    if len(rise) != 1 or len(fall) != 1:
        return ""
    overhead = any(task.type.overhead for task in tasks_on(plan, visit_id, days))
    limit = "; no overhead cutting outside it" if overhead else ""
    later = rise[0] + timedelta(seconds=59)
    return f"Daylight: {later:%H:%M} to {fall[0]:%H:%M}{limit}."


def _why(plan: SeasonPlan, visit_id: str, days: Sequence[int]) -> str:
    if days[0] != plan.visits[visit_id].first:
        return ""
    return f"Why not sooner: {short_reason(plan, visit_id)}."


def _report(plan: SeasonPlan, visit_id: str, days: Sequence[int]) -> str:
    day = plan.season.date_of(days[-1])
    records = dict.fromkeys(
        item.strip()
        for task in tasks_on(plan, visit_id, days)[:1]
        for item in task.type.record.split(",")
        if item.strip() and len(plan.groups[visit_id]) == 1
    )
    asked = f"{', '.join(records)}; " if records else ""
    on = f" --on {day}" if plan.tasks[plan.groups[visit_id][0]].is_step else ""
    return f"Report: {asked}scheduler done SITE {visit_id}{on}"
