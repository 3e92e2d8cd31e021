"""Preferences and hire of a roster, and what a preference costs: tables and records."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from scheduler.holding import dayrules
from scheduler.reasons import Comparison, Sums, obstacle_words, with_visit_on
from scheduler.roster import HireUse, Obstacle, Preference, Price
from scheduler.season import Placed
from scheduler.terms import Basis, day_words
from scheduler.words import phrases
from scheduler.words.price_words import price_words
from scheduler.words.sheet import Table

Record = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of the preferred days of one visit.

    Args:
        preference: what the roster says of it.
        state: ``met``, ``in part`` or ``missed``.
        nearest: the nearest day more preferred than its own, where it stands on no best days.
        price: what was paid, or what keeps it from that day or would be paid there.
    """

    preference: Preference
    state: str
    nearest: date | None
    price: str


def outcomes_of(plan: Placed) -> tuple[Outcome, ...]:
    """Every preference, met or missed, with its price."""
    return tuple(_outcome(one, plan) for one in plan.roster.preferences)


def heavy_hours(visit_id: str, plan: Placed) -> tuple[float, float]:
    """Person-hours of the heavy cuts of a planned visit, and how many of them are waning ones.

    Heavy cuts are those that the rule of the waning moon names; whether the site follows that
    practice does not matter here.
    """
    rules, waxing = plan.holding.rules.rules.values(), plan.outlook.sky.waxing
    heavy = {name for rule in rules if isinstance(rule, dayrules.MoonRule) for name in rule.tasks}
    whole = waning = 0.0
    for task_id in plan.groups[visit_id]:
        if task_id in plan.stints and plan.tasks[task_id].type.id in heavy:
            stint = plan.stints[task_id]
            for day, hours in zip(stint.days, stint.hours, strict=True):
                whole += hours
                waning += 0.0 if waxing[day] else hours
    return whole, waning


def preference_tables(plan: Placed) -> list[Table]:
    """Preferences met or missed with their price; nothing where nobody prefers a day."""
    told = outcomes_of(plan)
    if not told:
        return []
    named = dict.fromkeys(
        ruling.words
        for window in plan.windows.values()
        for ruling in window.rulings
        if ruling.points.any()
    )
    rows = tuple(_preference_row(one, plan) for one in told)
    title = f"Preferred days. The site {'; '.join(named)}"
    return [Table(title, ("visit", "days", "preferred", "price"), rows, tuple(_moon_foot(plan)))]


def _moon_foot(plan: Placed) -> Iterator[str]:
    hours = [heavy_hours(visit_id, plan) for visit_id in plan.visits]
    whole, waning = (sum(pair[at] for pair in hours) for at in (0, 1))
    if plan.holding.site.moon.practice and whole:
        yield f"Heavy cuts in the waning half: {waning:.0f} of {whole:.0f} h ({phrases.MOON_TAG})."
    yield "`scheduler plan SITE --without ID` shows what a preference costs."


def _preference_row(one: Outcome, plan: Placed) -> tuple[str, ...]:
    visit_id = one.preference.visit_id
    near = f"nearest: {day_words(one.nearest)}; " if one.nearest else ""
    days = phrases.visit_days_words(visit_id, plan)
    return visit_id, days, one.state, f"{near}{one.price}"


def _outcome(one: Preference, plan: Placed) -> Outcome:
    """Met, and what was paid; or missed, and what keeps it from the nearest preferred day."""
    if one.met:
        waited = f"waits {_days(one.waited_days)}" if one.waited_days else "none by itself"
        return Outcome(one, "met", None, waited)
    state = "in part" if one.points > 0 else "missed"
    found = plan.standing.preferred(one.visit_id)
    if found is None:
        return Outcome(one, state, None, "")
    day, answer = found
    if isinstance(answer, Obstacle) and plan.roster.proof != "proven":
        # two searches that ended early differ by chance: their difference is no price
        says = obstacle_words(plan, one.visit_id, answer)
    elif isinstance(answer, Price):
        says = price_words(plan, one.visit_id, [answer])
    else:
        says = _moved_price(plan, one.visit_id, day)
    return Outcome(one, state, plan.season.date_of(day), says)


def _moved_price(plan: Placed, visit_id: str, day: int) -> str:
    """What the whole plan would pay to begin a visit on a day."""
    here, there, lost = with_visit_on(plan, visit_id, day)
    if lost:
        have = "has" if len(lost) == 1 else "have"
        return f"then {' and '.join(map(plan.titled, lost))} {have} no place in this plan"
    frost = 100 * (there.frost_sum - here.frost_sum)
    return (
        f"all visits together would end {_than(there.late_days, here.late_days, 'earlier later')} "
        f"and lie open {_than(there.open_days, here.open_days, 'shorter longer')}; hire "
        f"{there.hire_cost - here.hire_cost:+g}, chance of frost {frost:+.0f} %"
    )


def _than(there: int, here: int, words_of: str) -> str:
    """How many days less or more, in one of two words.

    >>> _than(3, 60, "earlier later"), _than(60, 59, "earlier later")
    ('57 days earlier', '1 day later')
    """
    less, more = words_of.split()
    return f"{_days(abs(there - here))} {less if there < here else more}"


def hire_tables(plan: Placed) -> list[Table]:
    """Blocks of days of what is hired, and their cost; nothing where nothing is told."""
    if not plan.roster.hires:
        return []
    names = {hire.id: hire.name for hire in plan.holding.crew.hire}
    rows = tuple(
        (
            names.get(use.kit_id, use.kit_id),
            phrases.days_words(plan.season, use.days),
            str(len(use.days)),
            f"{use.cost:g}" if use.cost else "-",
        )
        for use in plan.roster.hires
    )
    whole = sum(use.cost for use in plan.roster.hires)
    blocks = "1 block" if len(rows) == 1 else f"{len(rows)} blocks"
    cost = f"{whole:g} in all; a day is paid once" if whole else "no cost_day is told in crew.toml"
    foot = f"{blocks} of hire, {cost}."
    return [Table("Hire", ("who", "days", "paid days", "cost"), rows, (foot,))]


def preference_records(plan: Placed) -> list[Record]:
    """The preferences for a program."""
    return [
        {
            "visit": one.preference.visit_id,
            "met": one.preference.met,
            "state": one.state,
            "points": round(one.preference.points, 4),
            "points_best": round(one.preference.points_best, 4),
            "waited_days": one.preference.waited_days,
            "nearest": None if one.nearest is None else one.nearest.isoformat(),
            "price": one.price,
        }
        for one in outcomes_of(plan)
    ]


def hire_record(use: HireUse, plan: Placed) -> Record:
    """One block of hire for a program."""
    days = [plan.season.date_of(day).isoformat() for day in use.days]
    return {"kit": use.kit_id, "days": days, "cost": round(use.cost, 2)}


def comparison_table(told: Comparison, plan: Placed) -> Table:
    """What preferences cost: the days that move, and what both plans come to."""
    rows = tuple(
        (visit_id, _day(one, plan), _day(two, plan), _moved_days(one, two))
        for visit_id, one, two in told.moved
    )
    book = plan.holding.rules.rules
    practice = [one for one in told.without if one in book and book[one].basis is Basis.PRACTICE]
    tag = f" ({phrases.MOON_TAG})" if practice else ""
    idle = [one for one in told.without if one not in told.followed]
    followed = len(idle) < len(told.without)
    return Table(
        f"With and without {', '.join(told.without)}{tag}; both planned afresh",
        ("visit", "with it", "without it", "moves"),
        rows,
        (
            *(f"{one} is not followed in this plan, so it costs nothing." for one in idle),
            *(("Nothing moves: it costs nothing.",) if followed and not rows else ()),
            *_sum_lines(told.here, told.there, len(rows)),
            *(() if told.proven else ("One of the two was not proven best: take it as a guide.",)),
        ),
    )


def _sum_lines(here: Sums, there: Sums, moved: int) -> tuple[str, ...]:
    waits = _than(here.late_days, there.late_days, "earlier later")
    return (
        f"Cost with it: {moved} visit{_s(moved)} on other days; all visits together end {waits}; "
        f"they lie open {_days(here.open_days)} with it, {_days(there.open_days)} without.",
        f"Chance of frost damage beyond what you accept, summed over the work: "
        f"{here.frost_sum:.2f} with it, {there.frost_sum:.2f} without; the largest "
        f"{100 * here.frost_most:.0f} % and {100 * there.frost_most:.0f} %.",
        f"Hire: {here.hire_blocks} block{_s(here.hire_blocks)}, {here.hire_cost:g}, with it; "
        f"{there.hire_blocks} block{_s(there.hire_blocks)}, {there.hire_cost:g}, without.",
        f"Left out: {here.left_out} with it, {there.left_out} without.",
    )


def comparison_record(told: Comparison, plan: Placed) -> Record:
    """The same for a program."""
    return {
        "without": list(told.without),
        "followed": list(told.followed),
        "proven": told.proven,
        "moved": [
            {"visit": visit_id, "with": _iso(one, plan), "without": _iso(two, plan)}
            for visit_id, one, two in told.moved
        ],
        "waiting_days": told.here.late_days - told.there.late_days,
        "with_it": _sums(told.here),
        "without_it": _sums(told.there),
    }


def _sums(sums: Sums) -> Record:
    return {
        "open_days": sums.open_days,
        "frost_chance_sum": round(sums.frost_sum, 4),
        "frost_chance_most": round(sums.frost_most, 4),
        "hire_blocks": sums.hire_blocks,
        "hire_cost": round(sums.hire_cost, 2),
        "left_out": sums.left_out,
    }


def _day(day: int | None, plan: Placed) -> str:
    return "no place" if day is None else day_words(plan.season.date_of(day))


def _iso(day: int | None, plan: Placed) -> str | None:
    return None if day is None else plan.season.date_of(day).isoformat()


def _moved_days(one: int | None, two: int | None) -> str:
    """How much sooner or later it is without the preference."""
    if one is None or two is None:
        return ""
    return f"{_days(abs(two - one))} {'earlier' if two < one else 'later'}"


def _s(n: int) -> str:
    return "" if n == 1 else "s"


def _days(n: float) -> str:
    return f"{n:g} day{'' if n == 1 else 's'}"
