"""The short answers of plan and frost, one screen each: a line for each visit, or plot.

The whole tables (``--full``, or a visit named) are in ``roster_sheet`` and ``frost_sheet``.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from scheduler.reasons import SeasonPlan
from scheduler.season import Outlook, Placed
from scheduler.terms import day_words
from scheduler.words import phrases, work_words
from scheduler.words.table import Table, table_of

SOON = timedelta(weeks=6)  # how far ahead routine work is listed
HEAVY = "release"  # the kind of visit whose days are called heavy
MOST_SOON = 12  # pieces of routine work that a screen has room for


@dataclass(frozen=True)
class HeavyDays:
    """The days of one visit with heavy work, a row of the short plan."""

    visit: str  # id of the visit
    plot: str  # name of the plot
    kind: str  # dormant, release or dry-summer
    first: date  # its first day
    last: date  # its last day
    person_hours: float  # planned for it
    person_days: int  # people counted once for each day on which they work
    hired: tuple[str, ...]  # names of those hired for it
    frost_can_reach: bool  # whether frost is a risk for what it lays open
    lays_open: bool  # whether it lays anything open that frost could hurt
    moon: str  # waxing, waning or partly waning; empty where the practice is off


def heavy_days_of(plan: Placed) -> tuple[HeavyDays, ...]:
    """The visits in the order of their first day; work of one step is left to the full table."""
    return tuple(
        _heavy_days(plan, visit_id)
        for visit_id in plan.visits
        if phrases.first_task(visit_id, plan).is_step
    )


def heavy_to_come(plan: SeasonPlan) -> tuple[HeavyDays, ...]:
    """The visits from today on; where no release visit is left, those of the next season too."""
    as_of = plan.placed.outlook.as_of
    rows = [row for row in heavy_days_of(plan.placed) if row.last >= as_of]
    if not any(row.kind == HEAVY for row in rows):
        rows += [row for later in plan.seasons[1:] for row in heavy_days_of(later.placed)]
    return tuple(rows)


def _heavy_days(plan: Placed, visit_id: str) -> HeavyDays:
    visit, ids = plan.visits[visit_id], plan.groups[visit_id]
    stints = [plan.stints[task_id] for task_id in ids if task_id in plan.stints]
    task, days = plan.tasks[ids[0]], range(visit.first, visit.last + 1)
    hired = dict.fromkeys(hire for task_id in ids for hire in plan.tasks[task_id].hired)
    work = {
        (day, name)
        for stint in stints
        for day, people in zip(stint.days, stint.people, strict=True)
        for name in people
    }
    moon = phrases.moon_words(visit_id, days, plan)
    return HeavyDays(
        visit=visit_id,
        plot=phrases.where(task, plan),
        kind=task.type.visit,
        first=plan.season.date_of(visit.first),
        last=plan.season.date_of(visit.last),
        person_hours=sum(sum(stint.hours) for stint in stints),
        person_days=len(work),
        hired=tuple(hired),
        frost_can_reach=phrases.reach_on(visit_id, days, plan) is not None,
        lays_open=any(plan.tasks[task_id].type.exposes for task_id in ids),
        moon=moon.removeprefix("Moon: ").partition(" for ")[0],
    )


def short_plan(plan: SeasonPlan) -> tuple[Table, ...]:
    """When the heavy days are; then the other visits, and the routine work of the next weeks."""
    placed = plan.placed
    visits = heavy_to_come(plan)
    heavy = [row for row in visits if row.kind == HEAVY]
    others = [row for row in visits if row.kind != HEAVY]
    title, foot = placed.holding.plan.says.title, work_words.proof_words(placed.roster)
    tables = [_visit_table(f"Heavy days of {title}: the {HEAVY} visits", heavy)]
    if others:
        tables.append(_visit_table("Other visits", others))
    tables[-1] = replace(tables[-1], foot=(foot, *_open_questions(plan)))
    return (*tables, _soon(plan))


def _visit_table(title: str, rows: Sequence[HeavyDays]) -> Table:
    """A line for each visit; the kind and the moon have a column where they tell something."""
    columns: dict[str, Callable[[HeavyDays], str]] = {
        "days": lambda row: short_span(row.first, row.last),
        "plot": lambda row: row.plot,
        "visit": lambda row: row.kind,
        "people-days": lambda row: str(row.person_days),
        "hours": lambda row: f"{row.person_hours:.0f}",
        "hired": lambda row: ", ".join(row.hired) or "-",
        "frost danger": lambda row: "YES" if row.frost_can_reach else "no",
        "moon (practice)": lambda row: row.moon or "-",
    }
    if len({row.kind for row in rows}) < 2:
        del columns["visit"]
    if not any(row.moon for row in rows):
        del columns["moon (practice)"]
    return table_of(title, rows, columns)


def short_span(first: date, last: date) -> str:
    """A span of days for a narrow column, the year once.

    >>> short_span(date(2027, 5, 24), date(2027, 5, 31))
    'Mon 24 May to Mon 31 May 2027'
    >>> short_span(date(2027, 5, 24), date(2027, 5, 24))
    'Mon 24 May 2027'
    """
    if first == last:
        return f"{first:%a} {day_words(first)}"
    year = f" {first.year}" if first.year != last.year else ""
    return f"{first:%a} {first.day} {first:%b}{year} to {last:%a} {day_words(last)}"


def brief_span(first: date, last: date | None = None) -> str:
    """A day, or a span of days, as short as a drawing needs it: without the year.

    >>> brief_span(date(2027, 5, 24), date(2027, 5, 31)), brief_span(date(2027, 5, 4))
    ('24–31 May', '4 May')
    >>> brief_span(date(2027, 4, 30), date(2027, 5, 3))
    '30 Apr – 3 May'
    """
    end = day_words(last or first).rsplit(" ", 1)[0]
    if last in (None, first):
        return end
    return f"{first.day}–{end}" if first.month == last.month else f"{brief_span(first)} – {end}"


def brief_hours(hours: float) -> str:
    """Hours as all pages have them, in drawings and tables alike."""
    return f"{hours:.1f}".removesuffix(".0")


def _open_questions(plan: SeasonPlan) -> Iterator[str]:
    """What did not fit and what moved, in one line each."""
    n_out = len(plan.placed.roster.left_out)
    if n_out:
        yield f"Unscheduled pieces of work: {n_out}; `scheduler check SITE` says why."
    if plan.moves:
        first, *more = phrases.move_lines(plan)
        also = f" ({len(more)} more: `scheduler plan SITE --full`)" if more else ""
        yield f"{first[0].upper()}{first[1:]}{also}"


def _soon(plan: SeasonPlan) -> Table:
    placed, as_of = plan.placed, plan.placed.outlook.as_of
    pieces = sorted(
        [
            (placed.season.date_of(visit.first), placed.season.date_of(visit.last), visit_id)
            for visit_id, visit in placed.visits.items()
            if not phrases.first_task(visit_id, placed).is_step
        ]
        + [(errand.on, errand.on, errand.id) for errand in plan.errands]
    )
    near = [piece for piece in pieces if as_of <= piece[0] <= as_of + SOON] or pieces[:3]
    shown = near[:MOST_SOON]
    titles = {errand.id: errand.title for errand in plan.errands}
    rows = tuple(
        (short_span(first, last), titles.get(piece_id) or phrases.visit_name(piece_id, placed))
        for first, last, piece_id in shown
    )
    left = len(pieces) - len(shown)
    more = (f"{left} more pieces of routine work: `scheduler plan SITE --full`.",) if left else ()
    return Table("Routine work soon", ("days", "work"), rows, more)


def short_frost(outlook: Outlook, day: date) -> Table:
    """A line for each plot: whether the window is open, until when, and the chance of a frost."""
    return table_of(
        f"Frost risk at {outlook.holding.site.name} on {day_words(day)}",
        outlook.plots.values(),
        {
            "plot": lambda known: known.plot.name,
            "frost window": lambda known: phrases.state_words(known.risk, day),
            "chance of another frost before next midsummer": lambda known: phrases.chance_cell(
                known.risk.chance_after(day)
            ),
        },
        phrases.CLIMATE_CAUTION,
    )
