"""The roster: the visits on their days, hire and preferences, for people and programs."""

from collections.abc import Iterator
from datetime import date

from scheduler.reasons import SeasonPlan, obstacle_words
from scheduler.roster import Price, Stint, VisitDays
from scheduler.season import Placed, spare_words
from scheduler.terms import day_words
from scheduler.words import phrases, work_words
from scheduler.words.price_words import preferring, price_words
from scheduler.words.short import HEAVY, heavy_to_come
from scheduler.words.station_sheet import spare_record
from scheduler.words.table import Record, Table, notice_records, picked, table_of


def roster_record(plan: SeasonPlan) -> Record:
    """The crew's days for a program."""
    placed, roster = plan.placed, plan.placed.roster
    return {
        "as_of": placed.outlook.as_of,
        "plan": placed.holding.plan.id,
        "proof": roster.proof,
        "gap": roster.gap,
        "heavy_days": [row for row in heavy_to_come(plan) if row.kind == HEAVY],
        "visits": [_visit_record(visit, placed) for visit in placed.visits.values()],
        "bookings": [
            {"booking": errand.id, **picked(errand, "title", "on", "needed", "late")}
            for errand in plan.errands
        ],
        "left_out": roster.left_out,
        "spare_time": spare_record(placed.outlook.spare),
        "preferences": list(_preferences(placed)),
        "hires": [
            {
                "kit": use.kit_id,
                "days": [placed.season.date_of(day) for day in use.days],
                "cost": round(use.cost, 2),
            }
            for use in roster.hires
        ],
        "moved": [
            {"visit": move.visit_id, **picked(move, "was", "now", "because")}
            for move in plan.moves
        ],
        "notices": notice_records(plan.notices),
    }


def _visit_record(visit: VisitDays, plan: Placed) -> Record:
    """One visit: its days, its steps, and how long it lies open."""
    tasks = phrases.planned_tasks(visit.visit_id, plan)
    days = range(visit.first, visit.last + 1)
    heavy_h, waning_h = _heavy_hours(visit.visit_id, plan)
    stints = [plan.stints[task.id] for task in tasks]
    return {
        "visit": visit.visit_id,
        "plot": tasks[0].plot_id,
        "kind": tasks[0].type.visit,
        "title": phrases.visit_title(visit.visit_id, days, plan, 1, 1),
        "first": plan.season.date_of(visit.first),
        "last": plan.season.date_of(visit.last),
        **picked(visit, "span_days", "least_span_days"),
        "open_longer": list(phrases.wait_words(plan, visit.visit_id)),
        "work_h": round(sum(sum(stint.hours) for stint in stints), 2),
        "heavy_h": round(heavy_h, 2),
        "heavy_waning_h": round(waning_h, 2),
        "frost_window_open": phrases.reach_on(visit.visit_id, days, plan) is not None,
        "steps": [
            {"task": task.id, "title": task.title, "days": _days(stint, plan), "hired": task.hired}
            for task, stint in zip(tasks, stints, strict=True)
        ],
    }


def _days(stint: Stint, plan: Placed) -> list[Record]:
    return [
        {"date": plan.season.date_of(day), "work_h": round(hours, 2), "people": people}
        for day, hours, people in zip(stint.days, stint.hours, stint.people, strict=True)
    ]


def roster_tables(plan: SeasonPlan) -> tuple[Table, ...]:
    """The crew's days; then hire and preferences, where there are any."""
    return (roster_table(plan), *hire_tables(plan.placed), *preference_tables(plan.placed))


def roster_table(plan: SeasonPlan) -> Table:
    """The crew's days, one row for each visit: its days, who works there, how long it is open."""
    placed = plan.placed
    rows = [
        (placed.season.date_of(v.first), _visit_row(placed, v)) for v in placed.visits.values()
    ]
    rows += [
        (errand.on, (f"{errand.on:%a} {errand.on}", errand.title, errand.id, "", "", ""))
        for errand in plan.errands
    ]
    waits = (
        f"{phrases.visit_name(visit_id, placed)}. {line}"
        for visit_id, visit in placed.visits.items()
        if visit.span_days > visit.least_span_days and phrases.first_task(visit_id, placed).is_step
        for line in phrases.wait_words(placed, visit_id)
    )
    foot = (
        work_words.proof_words(placed.roster),
        *_left_out_lines(placed),
        *waits,
        spare_words(placed.outlook.spare),
        "What each visit takes and leaves alone, layers of mulch by line and cautions are in "
        "`scheduler due SITE PLOT` and, for one visit, in `scheduler why`.",
        *phrases.move_lines(plan),
    )
    columns = ("days", "visit", "id", "who", "person-hours", "open (least)")
    cells = tuple(cells for _, cells in sorted(rows, key=lambda row: row[0]))
    return Table(placed.holding.plan.says.title, columns, cells, tuple(filter(None, foot)))


def _visit_row(plan: Placed, visit: VisitDays) -> tuple[str, ...]:
    tasks = phrases.planned_tasks(visit.visit_id, plan)
    stints = [plan.stints[task.id] for task in tasks]
    people = sorted({name for stint in stints for day in stint.people for name in day})
    hired = dict.fromkeys(hire for task in tasks for hire in task.hired)
    first, last = map(plan.season.date_of, (visit.first, visit.last))
    return (
        f"{first:%a} {first}" + (f" to {last:%d %b}" if last != first else ""),
        phrases.visit_title(visit.visit_id, range(visit.first, visit.last + 1), plan, 1, 1),
        visit.visit_id,
        ", ".join((*people, *hired)),
        f"{sum(sum(stint.hours) for stint in stints):.1f}",
        f"{visit.span_days} ({visit.least_span_days})" if tasks[0].is_step else "",
    )


def _left_out_lines(plan: Placed) -> Iterator[str]:
    """The visits without a place, a line for each plot; the warnings say why."""
    plots: dict[str, list[str]] = {}
    for visit_id in plan.groups:
        if visit_id in plan.roster.left_out:
            place = phrases.where(phrases.first_task(visit_id, plan), plan)
            plots.setdefault(place, []).append(visit_id)
    for place, ids in plots.items():
        yield f"Left out in {place}: {', '.join(ids)}."


def hire_tables(plan: Placed) -> Iterator[Table]:
    """Blocks of days of what is hired, and their cost."""
    hires = plan.roster.hires
    if not hires:
        return
    names = {hire.id: hire.name for hire in plan.holding.crew.hire}
    whole = sum(use.cost for use in hires)
    cost = f"{whole:g} in all; a day is paid once" if whole else "crew.toml gives no cost_day"
    yield table_of(
        "Hire",
        hires,
        {
            "who": lambda use: names.get(use.kit_id, use.kit_id),
            "days": lambda use: phrases.days_words(plan.season, use.days),
            "paid days": lambda use: str(len(use.days)),
            "cost": lambda use: f"{use.cost:g}" if use.cost else "-",
        },
        f"{phrases.counted(len(hires), 'block')} of hire, {cost}.",
    )


def _preferences(plan: Placed) -> Iterator[Record]:
    """Every preference: met; or missed, and what the nearest more preferred day costs."""
    for row in plan.roster.preferences:
        nearest, price = (None, "") if row.met else _nearest(row.visit_id, plan)
        yield {
            "visit": row.visit_id,
            **picked(row, "met"),
            "state": "met" if row.met else "in part" if row.points > 0 else "missed",
            **picked(row, "points", "points_best"),
            "nearest": nearest,
            "price": price,
        }


def _nearest(visit_id: str, plan: Placed) -> tuple[date | None, str]:
    """The nearest day that is more preferred, and what keeps it from there or is paid there."""
    nearest = plan.standing.preferred(visit_id)
    if nearest is None:
        return None, ""
    day, answer = nearest
    if isinstance(answer, Price):
        return plan.season.date_of(day), price_words(plan, visit_id, [answer])
    return plan.season.date_of(day), obstacle_words(plan, visit_id, answer)


def preference_tables(plan: Placed) -> Iterator[Table]:
    """Preferences met or missed with their price; nothing where nobody prefers a day."""
    preferences = list(_preferences(plan))
    if not preferences:
        return
    hours = [_heavy_hours(visit_id, plan) for visit_id in plan.visits]
    heavy, waning = (sum(pair[at] for pair in hours) for at in (0, 1))
    half = f"Heavy cuts in the waning half: {waning:.0f} of {heavy:.0f} h ({phrases.MOON_TAG})."
    yield table_of(
        f"Preferred days. The site {'; '.join(preferring(plan, plan.windows))}",
        preferences,
        {
            "visit": lambda row: row["visit"],
            "days": lambda row: phrases.visit_days_words(row["visit"], plan),
            "preferred": lambda row: row["state"],
            "nearest better day": lambda row: (
                f"{day_words(row['nearest'])}: {row['price']}" if row["nearest"] else "-"
            ),
        },
        half if plan.holding.site.moon.practice and heavy else "",
        "`scheduler plan SITE --without ID` shows what a preference costs, `scheduler why SITE "
        "VISIT` what one visit pays for it.",
    )


def _heavy_hours(visit_id: str, plan: Placed) -> tuple[float, float]:
    """Person-hours of the heavy cuts of a planned visit, and how many of them are waning ones.

    Heavy cuts are those that the rule of the waning moon names; whether the site follows that
    practice does not matter here.
    """
    rules, waxing = plan.holding.rules.rules.values(), plan.outlook.sky.waxing
    cuts = {name for rule in rules if rule.kind == "waning-moon" for name in rule.tasks}
    heavy = waning = 0.0
    for task in phrases.planned_tasks(visit_id, plan):
        if task.type.id in cuts:
            stint = plan.stints[task.id]
            heavy += sum(stint.hours)
            waning += sum(
                hours
                for day, hours in zip(stint.days, stint.hours, strict=True)
                if not waxing[day]
            )
    return heavy, waning
