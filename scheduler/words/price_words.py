"""Who is busy with what on a day, and what a free day would cost: for people and programs."""

from collections.abc import Iterator, Sequence
from typing import Any

from scheduler.roster import HANDS, Answer, Obstacle, Price
from scheduler.season import Placed
from scheduler.words import phrases

Busy = tuple[str, str, float]  # visit id, name, person-hours


def busy_words(plan: Placed, visit_id: str, what: Obstacle) -> str:
    """The work that takes the room, with those who do it and their hours."""
    by_visit: dict[str, list[str]] = {}
    for other, name, hours in _busy(plan, visit_id, what):
        by_visit.setdefault(other, []).append(f"{name} {hours:.1f} h" if name else "")
    told = [
        f"{phrases.visit_name(other, plan)} ({', '.join(who)})"
        if all(who)
        else phrases.visit_name(other, plan)
        for other, who in by_visit.items()
    ]
    return f" by {'; '.join(told)}" if told else ""


def busy_records(plan: Placed, visit_id: str, what: Obstacle) -> list[dict[str, Any]]:
    """The same for a program."""
    day = plan.season.date_of(what.day).isoformat()
    return [
        {"date": day, "visit": other, "person": name or None, "work_h": round(hours, 2)}
        for other, name, hours in _busy(plan, visit_id, what)
    ]


def _busy(plan: Placed, visit_id: str, what: Obstacle) -> Iterator[Busy]:
    """Who does what there; of a skill that is short only those who have it."""
    able = {
        worker.name
        for worker in plan.problem.workers
        if what.kind != "crew" or any(map(worker.can, what.about.split("+")))
    }
    for other in what.beside:
        if other != visit_id:
            hours = hours_by_name(plan, other, [what.day])
            found = [(other, name, hours[name]) for name in hours if name in able]
            nobody = [(other, "", 0.0)] if what.kind != "crew" or what.about == HANDS else []
            yield from found or nobody


def hours_by_name(plan: Placed, visit_id: str, days: Sequence[int]) -> dict[str, float]:
    """Hours of each person on some days of a visit, by name."""
    hours: dict[str, float] = {}
    for task in phrases.tasks_on(plan, visit_id, days):
        stint = plan.stints[task.id]
        for day, people, each in zip(stint.days, stint.people, stint.each_h, strict=True):
            for name, share in zip(people, each, strict=True) if day in days else ():
                hours[name] = hours.get(name, 0.0) + share
    return dict(sorted(hours.items()))


def price_words(
    plan: Placed, visit_id: str, prices: Sequence[Price], *, published: bool = True
) -> str:
    """What a run of free days would give and cost.

    Args:
        plan: the season.
        visit_id: the visit.
        prices: of the days.
        published: whether it is always told that a visit would leave its published day. A feed
            that told it would change as soon as it is published, so it tells that only of a day
            against which nothing else speaks.
    """
    earlier = [-price.waiting_days for price in prices]
    gain = f"done {_span(earlier)} earlier" if max(earlier) > 0 else "done no earlier"
    costs = list(_costs(plan, visit_id, prices))
    alone = not costs and max(earlier) > 0
    if any(price.moved > 0 for price in prices) and (published or alone):
        costs.insert(0, "it would leave its published day")
    if costs:
        return f"free, {gain}, but at a price: {'; '.join(costs)}"
    if visit_id not in plan.visits:
        return "free as it is; what comes after it, or more important work, would have to yield"
    if plan.roster.proof == "gap":
        return f"free, {gain}: the search ended before it saw that"
    if max(earlier) <= 0:
        return "begun sooner, it would be done no sooner"
    return f"free, {gain}; the whole plan is no better with it there"


def _costs(plan: Placed, visit_id: str, prices: Sequence[Price]) -> Iterator[str]:
    risks = [price.risk for price in prices]
    if max(risks) > 0:
        low, high = (f"{100 * risk:.0f}" for risk in (min(risks), max(risks)))
        yield f"the chance of frost damage is higher by {_to(low, high)} %"
    longer = [price.open_days for price in prices]
    if max(longer) > 0:
        yield f"it would lie open {_span(longer)} longer"
    points = [price.points for price in prices]
    if max(points) > 0:
        yield f"it would lose its preferred days ({_preferred(plan, visit_id)})"
    hire = [price.hire_days for price in prices]
    if max(hire) > 0:
        yield f"what is hired would come once more, worth {_span(hire)} of waiting"


def _preferred(plan: Placed, visit_id: str) -> str:
    """What makes its days preferred ones."""
    steps = plan.problem.visit_by_id[visit_id].steps
    rulings = (ruling for step in steps for ruling in plan.windows[step.id].rulings)
    told = dict.fromkeys(ruling.words for ruling in rulings if ruling.points.any())
    return "; and ".join(told) or "by the rules"


def _span(amounts: Sequence[float]) -> str:
    low, high = f"{max(0.0, min(amounts)):g}", f"{max(amounts):g}"
    return f"{_to(low, high)} day{'' if high == '1' else 's'}"


def _to(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def price_record(plan: Placed, day: int, price: Answer) -> dict[str, Any]:
    """What one free day would cost, for a program; a day off in the run costs nothing."""
    record: dict[str, Any] = {"date": plan.season.date_of(day).isoformat()}
    if isinstance(price, Price):
        record |= {
            "leaves_published_day": price.moved > 0,
            "frost_chance_more": round(price.risk, 4),
            "open_days_more": price.open_days,
            "preference_points_lost": round(price.points, 4),
            "hire_days_lost": round(price.hire_days, 4),
            "waiting_days_more": price.waiting_days,
        }
    return record
