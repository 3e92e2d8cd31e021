"""What an entry of the work calendar says: everything the crew wants to know, as plain text."""

from collections.abc import Iterator

from scheduler.holding.tasktypes import AmountRate
from scheduler.publish import material_words, words, work_words
from scheduler.publish.text import rows_words
from scheduler.roster import Stint
from scheduler.season import SeasonPlan
from scheduler.stand import Task
from scheduler.terms import day_words


def task_description(task: Task, stint: Stint, plan: SeasonPlan, person: str = "") -> str:
    """Everything the crew wants to know, in the order in which it is asked.

    Args:
        task: the work.
        stint: its days.
        plan: the season.
        person: whose own hours stand at the head; empty for all the crew.
    """
    told = (_own_hours(stint, plan, person), _body(task.id, stint, plan))
    return "\n\n".join(paragraph for paragraph in told if paragraph)


def _body(task_id: str, stint: Stint, plan: SeasonPlan) -> str:
    """What all calendars say of the task, put together once for a season."""
    if task_id not in plan.told:
        paragraphs = _paragraphs(plan.tasks[task_id], stint, plan)
        plan.told[task_id] = "\n\n".join(paragraph for paragraph in paragraphs if paragraph)
    return plan.told[task_id]


def _paragraphs(task: Task, stint: Stint, plan: SeasonPlan) -> Iterator[str]:
    yield words.frost_warning(task, plan)
    yield words.half_done_warning(task, plan)
    yield "Why this day: " + "; ".join(words.why_words(task, stint, plan)) + "."
    yield _work_words(task, stint, plan)
    yield _order_words(task, plan)
    yield f"How: {task.type.how}"
    yield _bring_words(task, plan)
    yield _stock_words(task, plan)
    yield from work_words.work_paragraphs(task, plan)
    yield material_words.mulch_words(task, plan) or _material_words(task, plan)
    yield words.frost_words(task, stint, plan)
    yield _light_words(task, stint, plan)
    yield words.moon_words(task, stint, plan)
    yield _caution_words(task)
    yield f"Write down: {task.type.record}." if task.type.record else ""
    yield f"When it is done: scheduler done SITE {task.id}"


def _work_words(task: Task, stint: Stint, plan: SeasonPlan) -> str:
    """Hours, where they come from, and below them who does it."""
    hours, basis = words.hours_words(task.hours), work_words.hours_basis_words(task, plan)
    done = _progress_words(task, plan)
    return f"Work: {hours}{done}, {basis}\nWho: {_crew_words(stint, plan)}."


def _progress_words(task: Task, plan: SeasonPlan) -> str:
    entry = plan.progress.get(task.id)
    return f", {entry.percent} % of it done" if entry else ""


def _own_hours(stint: Stint, plan: SeasonPlan, person: str) -> str:
    own = [
        f"{day_words(plan.season.date_of(day))} {hours:.1f} h"
        for day, people, each in zip(stint.days, stint.people, stint.each_h, strict=True)
        for name, hours in zip(people, each, strict=True)
        if name == person
    ]
    return f"Your hours: {', '.join(own)}." if own else ""


def _crew_words(stint: Stint, plan: SeasonPlan) -> str:
    days = [
        f"{day_words(plan.season.date_of(day))} {', '.join(people)} ({hours:.1f} h together)"
        for day, hours, people in zip(stint.days, stint.hours, stint.people, strict=True)
    ]
    hired = [
        hire.name for hire in plan.holding.crew.hire if hire.id in plan.tasks[stint.job_id].hired
    ]
    return "; ".join(days) + (f"; hired: {', '.join(hired)}" if hired else "")


def _order_words(task: Task, plan: SeasonPlan) -> str:
    before = [plan.tasks[link.before].type.title for link in plan.links if link.after == task.id]
    after = [plan.tasks[link.after].type.title for link in plan.links if link.before == task.id]
    parts = []
    if before:
        parts.append("after " + ", ".join(repr(title) for title in before))
    if after:
        parts.append("before " + ", ".join(repr(title) for title in after))
    if task.type.overhead:
        parts.append("shrubs stay standing as a shield, nobody works below until it is done")
    return f"Order of work: {'; '.join(parts)}." if parts else ""


def _stock_words(task: Task, plan: SeasonPlan) -> str:
    plants = plan.holding.rules.plants
    rows = [
        f"{row.count} {plants[row.plant].name.lower()}"
        + (f" (line {row.line})" if row.line else "")
        for row in task.stock
    ]
    return f"Plants: {', '.join(rows)}." if rows else ""


def _material_words(task: Task, plan: SeasonPlan) -> str:
    """What comes down, or what is laid and in which layers: coarse to fine either way."""
    rate, material = plan.holding.rules.rates[task.type.rate], task.material
    lays = isinstance(rate, AmountRate) and rate.of.endswith("-kg")
    if material.fresh_kg < 1 or not (task.type.cuts or lays):
        return ""
    layers = {
        "logs": material.logs_kg,
        "branches": material.branches_kg,
        "twigs": material.twigs_kg,
        "leaves": material.leaves_kg,
        "juicy stems": material.juicy_kg,
    }
    named = ", ".join(
        f"{name} {material_words.kg_words(kg)}" for name, kg in layers.items() if kg >= 1
    )
    head = (
        "Material, fresh, coarse to fine" if task.type.cuts else "Layers from the ground up, fresh"
    )
    return f"{head}: {named} ({material_words.mass_range_words(task, plan)})."


def _bring_words(task: Task, plan: SeasonPlan) -> str:
    firms = {hire.id: hire.name for hire in plan.holding.crew.hire}
    kit = [f"{name} ({firms[name]})" if name in firms else name for name in task.type.kit]
    bring = "; kit: ".join(filter(None, (task.type.tools, ", ".join(kit))))
    return f"Bring: {bring}." if bring else ""


def _light_words(task: Task, stint: Stint, plan: SeasonPlan) -> str:
    """The limits of daylight where wood comes down over people's heads."""
    sky = plan.outlook.sky
    rise, fall = sky.sunrise[stint.first], sky.sunset[stint.first]
    if not task.type.overhead or len(rise) != 1 or len(fall) != 1:
        return ""
    return (
        f"Light: the Sun is up from {rise[0]:%H:%M} to {fall[0]:%H:%M} on the first day "
        f"(clocks of {plan.holding.site.zone}); no cutting overhead outside it."
    )


def _caution_words(task: Task) -> str:
    told = rows_words((*task.cautions, words.GENERAL_CAUTION))
    return f"Cautions:{told}" if task.cautions else ""
