"""What an entry of the work calendar says: what a crew needs on a phone, in the order of use.

Who, what to do, what to stop for, what to bring, frost and daylight, how to report. The full
reasons, ranges, sources and material are told by ``scheduler why`` and ``scheduler due``.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta

from scheduler.holding import Caution
from scheduler.reasons import SeasonPlan
from scheduler.season import Placed
from scheduler.stand import Task, wants_two
from scheduler.windows import cautions_on, concerns_of
from scheduler.words import phrases
from scheduler.words.material_words import haul_words
from scheduler.words.price_words import hours_by_name
from scheduler.words.text import rows_words
from scheduler.words.why_day import short_reason
from scheduler.words.work_words import facts_of

MOST_WORDS = 200  # what somebody reads on a phone with gloves on
# what is left out of a longer one, in this order; `scheduler why` and the feed's head have it
LEAVES_OUT = ("plants", "reason", "closed window", "codes", "hours", "haul")


def visit_text(plan: SeasonPlan, visit_id: str, days: Sequence[int], person: str = "") -> str:
    """The text for some days of a visit, one day of a campaign or a run of days of other work.

    Where it would be longer than ``MOST_WORDS``, some is left out, see ``LEAVES_OUT``. Nothing
    that keeps people safe is left out.

    Args:
        plan: the season.
        visit_id: the visit.
        days: day numbers that the entry speaks of, ascending.
        person: whose entry it is; empty for the whole crew.
    """
    told = ""
    for n in range(len(LEAVES_OUT) + 1):
        told = _text(plan, visit_id, days, person, frozenset(LEAVES_OUT[:n]))
        if len(told.split()) <= MOST_WORDS:
            break
    return told


def day_notes(plan: SeasonPlan, visit_id: str, day: int) -> tuple[tuple[str, str], ...]:
    """What a crew must know on one day of a visit, each with its heading, in the order of use.

    The steps, the tools and the emergency line are not in it; the day sheet has them itself.
    """
    placed, days = plan.placed, [day]
    paragraphs = (
        phrases.frost_warning(visit_id, days, plan),
        phrases.half_done_warning(visit_id, plan),
        _alone(placed, visit_id, days),
        _stop_for(placed, visit_id, days),
        _mind(placed, visit_id, days, codes=True),
        phrases.frost_words(visit_id, days, placed),
        _light(placed, visit_id, days),
        phrases.moon_words(visit_id, days, placed),
        _why(placed, visit_id, days),
        _report(placed, visit_id, days),
    )
    return tuple(_headed(paragraph) for paragraph in paragraphs if paragraph)


def _headed(paragraph: str) -> tuple[str, str]:
    head, colon, words = paragraph.partition(": ")
    return (head, words) if colon and len(head.split()) < 4 else ("Caution", paragraph)


def _text(
    plan: SeasonPlan, visit_id: str, days: Sequence[int], person: str, out: frozenset[str]
) -> str:
    warning = phrases.frost_warning(visit_id, days, plan)
    quiet = "closed window" in out and not warning
    paragraphs = (
        warning,
        phrases.half_done_warning(visit_id, plan),
        _who(plan.placed, visit_id, days, person),
        _do(plan.placed, visit_id, days, out),
        _alone(plan.placed, visit_id, days),
        _stop_for(plan.placed, visit_id, days),
        _mind(plan.placed, visit_id, days, codes="codes" not in out),
        _bring(plan.placed, visit_id, days),
        "" if quiet else phrases.frost_words(visit_id, days, plan.placed),
        _light(plan.placed, visit_id, days),
        phrases.moon_words(visit_id, days, plan.placed),
        "" if "reason" in out else _why(plan.placed, visit_id, days),
        _emergency(plan.placed, visit_id, days),
        _report(plan.placed, visit_id, days),
    )
    return "\n".join(paragraph for paragraph in paragraphs if paragraph)


def _who(plan: Placed, visit_id: str, days: Sequence[int], person: str) -> str:
    shares = hours_by_name(plan, visit_id, days)
    hired = {hire for task in phrases.tasks_on(plan, visit_id, days) for hire in task.hired}
    firms = [hire.name for hire in plan.holding.crew.hire if hire.id in hired]
    if person:
        others = ", ".join(name for name in shares if name != person)
        told = [f"you {shares.get(person, 0.0):.1f} h", *([f"with {others}"] if others else [])]
    else:
        told = [f"{name} {hours:.1f}" for name, hours in shares.items()]
        told[-1] += " h"
    hired_too = f"; hired: {', '.join(firms)}" if firms else ""
    return f"Who: {', '.join(told)}{hired_too}."


def _do(plan: Placed, visit_id: str, days: Sequence[int], out: frozenset[str]) -> str:
    """The steps of these days in their order, with hours and plants."""
    tasks, alone = phrases.tasks_on(plan, visit_id, days), len(plan.groups[visit_id]) == 1
    amount = alone or "hours" not in out
    plants = {task.id: _about(task, plan, out) for task in tasks}
    hours = {task.id: _hours(task, days, plan, amount=amount) for task in tasks}
    if alone:
        (task,) = tasks
        return f"Do, {hours[task.id]}{plants[task.id]}: {task.type.how}"
    rows = (", ".join(filter(None, (f"{t.title}{plants[t.id]}", hours[t.id]))) for t in tasks)
    return f"Do, in this order:{rows_words(rows)}"


def _hours(task: Task, days: Sequence[int], plan: Placed, *, amount: bool) -> str:
    """Person-hours of a step on some days; says where it goes on or began before."""
    stint = plan.stints[task.id]
    hours = sum(h for day, h in zip(stint.days, stint.hours, strict=True) if day in days)
    entry = plan.progress.get(task.id)
    told = (
        f"{hours:.1f} h" if amount else "",
        "the rest" if stint.first < days[0] else "",
        "the first part" if stint.last > days[-1] else "",
        f"{entry.percent} % done" if entry else "",
    )
    return ", ".join(filter(None, told))


def _about(task: Task, plan: Placed, out: frozenset[str]) -> str:
    """In brackets, what a step is about: the lines it hauls between, or its plants."""
    haul = haul_words(task, plan)
    if haul and "haul" not in out:
        return f" ({haul})"
    kinds, counts = plan.holding.rules.plants, dict[str, int]()
    for row in () if "plants" in out else task.stock:
        counts[row.plant] = counts.get(row.plant, 0) + row.count
    told = ", ".join(f"{n} {kinds[plant].name.lower()}" for plant, n in counts.items())
    return f" ({told})" if told else ""


def _stop_for(plan: Placed, visit_id: str, days: Sequence[int]) -> str:
    """The dangers and limits of these very days."""
    stops, heights = dict[str, str](), list[float]()
    for task in phrases.tasks_on(plan, visit_id, days):
        stops |= _stops(plan, task, days)
        heights += [row.height_m for row in task.stock] if task.type.overhead else []
    if heights and "two-tree-lengths" in stops:
        clear_m = plan.holding.rules.figure("tree-lengths") * max(heights)
        stops["two-tree-lengths"] = f"nobody within {clear_m:g} m of a falling tree, nobody alone"
    return f"Stop for: {'; '.join(stops.values())}." if stops else ""


def _stops(plan: Placed, task: Task, days: Sequence[int]) -> dict[str, str]:
    facts, stops = facts_of(plan), dict[str, str]()
    limits = [c for c in concerns_of(plan.windows[task.id], facts) if not c.standing]
    for day in sorted({*days}.intersection(plan.stints[task.id].days)):
        stops |= {c.id: c.short for c in cautions_on(task, day, facts) if not c.standing}
        stops |= {c.rule_id: c.words for c in limits if c.on[day]}
    return stops


def _alone(plan: Placed, visit_id: str, days: Sequence[int]) -> str:
    """The caution for somebody who saws, climbs or stands on a ladder alone that day."""
    if not plan.holding.site.works_alone:
        return ""
    for task in phrases.tasks_on(plan, visit_id, days):
        stint = plan.stints[task.id]
        there = zip(stint.days, stint.people, strict=True)
        risky = wants_two(task.type, task.stock, task.batches, plan.holding.rules)
        if risky and any(day in days and len(people) == 1 for day, people in there):
            return f"{plan.holding.rules.cautions['alone'].short}."
    return ""


def _emergency(plan: Placed, visit_id: str, days: Sequence[int]) -> str:
    """Who calls whom and where the road is, on each day of heavy work."""
    heavy = any(task.type.heavy for task in phrases.tasks_on(plan, visit_id, days))
    told = plan.holding.site.emergency
    return f"Emergency: {told}" if heavy and told else ""


def _mind(plan: Placed, visit_id: str, days: Sequence[int], *, codes: bool) -> str:
    """What holds from now on, told once in the visit, with the first step that calls for it.

    What a logged step calls for has been told by then.
    """
    told, first = set[str](), dict[str, tuple[int, str]]()
    for task_id, day, caution in _standing(plan, visit_id):
        if task_id in plan.progress:
            told.add(caution.id)
        elif task_id in plan.stints:
            first.setdefault(caution.id, (day, caution.short))
    found = [short for key, (day, short) in first.items() if day in days and key not in told]
    is_step = plan.tasks[plan.groups[visit_id][0]].is_step
    found += [phrases.CODES] if codes and is_step and _begins(plan, visit_id, days) else []
    return f"Mind: {'; '.join(found)}." if found else ""


def _standing(plan: Placed, visit_id: str) -> Iterator[tuple[str, int, Caution]]:
    """The cautions that each step of a visit calls for from its first day on."""
    facts, stints = facts_of(plan), plan.stints
    for task_id in plan.groups[visit_id]:
        day = stints[task_id].first if task_id in stints else plan.visits[visit_id].first
        cautions = cautions_on(plan.tasks[task_id], day, facts)
        yield from ((task_id, day, caution) for caution in cautions if caution.standing)


def _begins(plan: Placed, visit_id: str, days: Sequence[int]) -> bool:
    """Whether a visit begins on the first of some days; one that the log has begun does not."""
    return days[0] == plan.visits[visit_id].first and not plan.logged_days(visit_id)


def _bring(plan: Placed, visit_id: str, days: Sequence[int]) -> str:
    tools = dict.fromkeys(
        tool.strip()
        for task in phrases.tasks_on(plan, visit_id, days)
        for tool in (*task.type.tools.split(","), *task.type.kit)
        if tool.strip()
    )
    return f"Bring: {', '.join(tools)}." if tools else ""


def _light(plan: Placed, visit_id: str, days: Sequence[int]) -> str:
    """Sunrise to sunset in the whole minutes between, outside of which nobody cuts overhead."""
    sky = plan.outlook.sky
    rise, fall = sky.sunrise[days[0]], sky.sunset[days[0]]
    if len(rise) != 1 or len(fall) != 1:
        return ""
    overhead = any(task.type.overhead for task in phrases.tasks_on(plan, visit_id, days))
    limit = "; no overhead cutting outside it" if overhead else ""
    later = rise[0] + timedelta(minutes=1, microseconds=-1)
    return f"Daylight: {later:%H:%M} to {fall[0]:%H:%M}{limit}."


def _why(plan: Placed, visit_id: str, days: Sequence[int]) -> str:
    if not _begins(plan, visit_id, days):
        return ""
    return f"Why not sooner: {short_reason(plan, visit_id)}."


def _report(plan: Placed, visit_id: str, days: Sequence[int]) -> str:
    day = plan.season.date_of(days[-1])
    records = dict.fromkeys(
        item.strip()
        for task in phrases.tasks_on(plan, visit_id, days)[:1]
        for item in task.type.record.split(",")
        if item.strip() and len(plan.groups[visit_id]) == 1
    )
    asked = f"{', '.join(records)}; " if records else ""
    on = f" --on {day}" if plan.tasks[plan.groups[visit_id][0]].is_step else ""
    return f"Report: {asked}scheduler log SITE {visit_id}{on}"
