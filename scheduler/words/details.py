"""A piece of work in full: hours and their source, plants, rules, material, cautions."""

from collections.abc import Iterator

from scheduler.holding import AmountRate
from scheduler.season import Placed
from scheduler.stand import Task
from scheduler.words import material_words, phrases, work_words
from scheduler.words.text import rows_words


def detail_lines(task: Task, plan: Placed) -> Iterator[str]:
    """Everything known of a task, a paragraph each."""
    days = plan.stints.get(task.id)
    on = f": {phrases.days_words(plan.season, days.days)}" if days else ""
    told = (
        f"\n{task.title} ({task.id}){on}",
        f"Hours: {phrases.hours_words(task.hours)}, {work_words.hours_basis_words(task, plan)}",
        f"How: {task.type.how}",
        _stock_words(task, plan),
        *work_words.work_paragraphs(task, plan),
        material_words.mulch_words(task, plan) or _material_words(task, plan),
        f"Cautions:{rows_words(task.cautions)}" if task.cautions else "",
        f"Write down: {task.type.record}." if task.type.record else "",
    )
    return filter(None, told)


def _stock_words(task: Task, plan: Placed) -> str:
    plants = plan.holding.rules.plants
    rows = [
        f"{row.count} {plants[row.plant].name.lower()}"
        + (f" (line {row.line})" if row.line else "")
        for row in task.stock
    ]
    return f"Plants: {', '.join(rows)}." if rows else ""


def _material_words(task: Task, plan: Placed) -> str:
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
