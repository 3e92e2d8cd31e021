"""What things cost: a free day, with who is busy on the others, and a preference as a whole."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from scheduler.reasons import Comparison, Sums
from scheduler.roster import HANDS, Obstacle, Price
from scheduler.season import Placed
from scheduler.terms import Basis, day_words
from scheduler.words import phrases
from scheduler.words.phrases import counted, more_words
from scheduler.words.table import Record, Table, picked, table_of


def busy_words(plan: Placed, visit_id: str, obstacle: Obstacle) -> str:
    """The work that takes the room, with those who do it and their hours."""
    by_visit: dict[str, list[str]] = {}
    for other, name, hours in _busy(plan, visit_id, obstacle):
        by_visit.setdefault(other, []).extend([f"{name} {hours:.1f} h"] if name else [])
    works = [
        phrases.visit_name(other, plan) + (f" ({', '.join(who)})" if who else "")
        for other, who in by_visit.items()
    ]
    return f" by {'; '.join(works)}" if works else ""


def _busy(plan: Placed, visit_id: str, obstacle: Obstacle) -> Iterator[tuple[str, str, float]]:
    """Visit id, name and hours of who is busy there; of a short skill only those who have it."""
    able = {
        worker.name
        for worker in plan.problem.workers
        if obstacle.kind != "crew" or any(map(worker.can, obstacle.about.split("+")))
    }
    for other in obstacle.beside:
        if other != visit_id:
            hours = hours_by_name(plan, other, [obstacle.day])
            busy = [(other, name, hours[name]) for name in hours if name in able]
            if not busy and (obstacle.kind != "crew" or obstacle.about == HANDS):
                yield other, "", 0.0
            yield from busy


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

    That a visit would leave its published day is always told if ``published``. A feed that told
    it would change as soon as it is published, so it tells that only of a day against which
    nothing else speaks.
    """
    earlier = [-price.waiting_days for price in prices]
    sooner = max(earlier) > 0
    gain = f"done {_days(earlier)} earlier" if sooner else "done no earlier"
    costs = list(_costs(plan, visit_id, prices))
    if any(price.moved > 0 for price in prices) and (published or (sooner and not costs)):
        costs.insert(0, "it would leave its published day")
    if costs:
        return f"possible, {gain}, but {'; '.join(costs)}"
    if visit_id not in plan.visits:
        return "free as it is; what comes after it, or more important work, would have to yield"
    if plan.roster.proof == "gap":
        return f"free, {gain}: the search ended before it saw that"
    if not sooner:
        return "begun sooner, it would be done no sooner"
    return f"free, {gain}; the whole plan is no better with it there"


def _costs(plan: Placed, visit_id: str, prices: Sequence[Price]) -> Iterator[str]:
    risks = [100 * price.risk for price in prices]
    if max(risks) > 0:
        yield f"the chance of frost damage is higher by {_span(risks, '.0f')} %"
    longer = [price.open_days for price in prices]
    if max(longer) > 0:
        yield f"it would lie open {_days(longer)} longer"
    if any(price.points > 0 for price in prices):
        steps = [step.id for step in plan.problem.visit_by_id[visit_id].steps]
        rules = "; and ".join(preferring(plan, steps)) or "by the rules"
        yield f"it would lose its preferred days ({rules})"
    hire = [price.hire_days for price in prices]
    if max(hire) > 0:
        yield f"what is hired would come once more, worth {_days(hire)} of waiting"


def preferring(plan: Placed, task_ids: Iterable[str]) -> list[str]:
    """The words of the rules that make days of some tasks preferred ones, each once."""
    rulings = (ruling for task_id in task_ids for ruling in plan.windows[task_id].rulings)
    return list(dict.fromkeys(ruling.words for ruling in rulings if ruling.points.any()))


def _days(amounts: Sequence[float]) -> str:
    days = _span([max(0.0, amount) for amount in amounts], "g")
    return f"{days} day{'' if f'{max(amounts):g}' == '1' else 's'}"


def _span(amounts: Sequence[float], form: str) -> str:
    low, high = format(min(amounts), form), format(max(amounts), form)
    return low if low == high else f"{low} to {high}"


def comparison_record(comparison: Comparison, plan: Placed) -> Record:
    """What preferences cost, for a program."""

    def on(day: int | None) -> date | None:
        return None if day is None else plan.season.date_of(day)

    return {
        **picked(comparison, "without", "followed", "proven"),
        "moved": [
            {"visit": visit_id, "with": on(here), "without": on(there)}
            for visit_id, here, there in comparison.moved
        ],
        "waiting_days": comparison.here.late_days - comparison.there.late_days,
        "with_it": _sums(comparison.here),
        "without_it": _sums(comparison.there),
    }


def _sums(sums: Sums) -> Record:
    return {
        **picked(sums, "open_days", "hire_blocks", "hire_cost", "left_out"),
        "frost_chance_sum": sums.frost_sum,
        "frost_chance_most": sums.frost_most,
    }


def comparison_table(comparison: Comparison, plan: Placed) -> Table:
    """The same as a table."""
    without, book = comparison.without, plan.holding.rules.rules
    practice = any(rule in book and book[rule].basis is Basis.PRACTICE for rule in without)
    tag = f" ({phrases.MOON_TAG})" if practice else ""

    def on(day: int | None) -> str:
        return "unscheduled" if day is None else day_words(plan.season.date_of(day))

    def moves(here: int | None, there: int | None) -> str:
        if here is None or there is None:
            return ""
        return more_words(there - here, "earlier", "later")

    return table_of(
        f"With and without {', '.join(without)}{tag}; both planned afresh",
        comparison.moved,
        {
            "visit": lambda row: row[0],
            "with it": lambda row: on(row[1]),
            "without it": lambda row: on(row[2]),
            "moves": lambda row: moves(row[1], row[2]),
        },
        *_foot(comparison),
    )


def _foot(comparison: Comparison) -> Iterator[str]:
    here, there = comparison.here, comparison.there
    idle = [rule for rule in comparison.without if rule not in comparison.followed]
    for rule in idle:
        yield f"{rule} is not followed in this plan, so it costs nothing."
    if len(idle) < len(comparison.without) and not comparison.moved:
        yield "Nothing moves: it costs nothing."
    yield (
        f"Cost with it: {counted(len(comparison.moved), 'visit')} on other days; all visits "
        f"together end {more_words(here.late_days - there.late_days, 'earlier', 'later')}; they "
        f"lie open {counted(here.open_days, 'day')} with it, {counted(there.open_days, 'day')} "
        "without."
    )
    yield (
        "Chance of frost damage beyond what you accept, summed over the work: "
        f"{here.frost_sum:.2f} with it, {there.frost_sum:.2f} without; the largest "
        f"{100 * here.frost_most:.0f} % and {100 * there.frost_most:.0f} %."
    )
    yield (
        f"Hire: {counted(here.hire_blocks, 'block')}, {here.hire_cost:g}, with it; "
        f"{counted(there.hire_blocks, 'block')}, {there.hire_cost:g}, without."
    )
    yield f"Left out: {here.left_out} with it, {there.left_out} without."
    if not comparison.proven:
        yield "One of the two was not proven best: take it as a guide."
