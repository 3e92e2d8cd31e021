"""The season as tables of words, for a terminal or a pipe."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from scheduler.reasons import SeasonPlan
from scheduler.roster import VisitDays
from scheduler.season import Placed
from scheduler.sky import Sky
from scheduler.terms import Notice, printable
from scheduler.words import phrases, work_words
from scheduler.words.disc import disc_of


@dataclass(frozen=True)
class Table:
    """Words in rows.

    Args:
        title: head line.
        columns: heads of the columns.
        rows: one tuple of cells a row.
        foot: sentences below the table.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    foot: tuple[str, ...] = ()

    def plain(self) -> str:
        """The table as aligned text without lines or colours."""
        grid = [self.columns, *(tuple(map(printable, row)) for row in self.rows)]
        widths = [max(len(row[at]) for row in grid) for at in range(len(self.columns))]
        lines = [
            "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
            for row in grid
        ]
        return "\n".join((self.title, *lines, *self.foot))


def sky_tables(sky: Sky) -> tuple[Table, ...]:
    """The days of a span, then its instants."""
    days = tuple(
        (
            f"{day:%a} {day}",
            _clock_times(sky.sunrise[at]) or sky.sun_state[at].value,
            _clock_times(sky.sunset[at]),
            f"{sky.day_length_h[at]:.1f} h",
            disc_of(float(sky.elongation_deg[at]), southern=sky.place.southern),
            "waxing" if sky.waxing[at] else "waning",
            _clock_times(sky.moonrise[at]),
            _clock_times(sky.moonset[at]),
            f"{sky.winter_months[at]:.1f}",
        )
        for at, day in enumerate(sky.season)
    )
    events = tuple(
        (f"{e.local:%a %Y-%m-%d}", f"{e.local:%H:%M}", phrases.EVENT_WORDS[e.event])
        for e in sky.events
    )
    return (
        Table(
            "Sun and Moon",
            ("day", "sunrise", "sunset", "light", "moon", "", "rises", "sets", "season clock"),
            days,
            (
                "Season clock: months of the Sun's round since the local winter solstice.",
                f"Timing work by the moon is a {phrases.MOON_TAG}.",
            ),
        ),
        Table("Marks of the sky", ("day", "time", "what"), events),
    )


def roster_table(plan: SeasonPlan) -> Table:
    """The crew's days, one row for each visit: its days, who works there, how long it is open."""
    rows = [
        (plan.placed.season.date_of(v.first), _visit_row(plan.placed, v))
        for v in plan.placed.visits.values()
    ]
    rows += [
        (errand.on, (f"{errand.on:%a} {errand.on}", errand.title, errand.id, "", "", ""))
        for errand in plan.errands
    ]
    rows.sort(key=lambda row: row[0])
    return Table(
        plan.placed.holding.plan.says.title,
        ("days", "visit", "id", "who", "person-hours", "open (least)"),
        tuple(row for _, row in rows),
        (
            work_words.proof_words(plan.placed.roster),
            *_left_out_lines(plan.placed),
            *(
                f"{phrases.visit_name(visit_id, plan.placed)}. {line}"
                for visit_id, visit in plan.placed.visits.items()
                if visit.span_days > visit.least_span_days and visit_id in plan.placed.groups
                if plan.placed.tasks[plan.placed.groups[visit_id][0]].is_step
                for line in phrases.wait_words(plan.placed, visit_id)
            ),
            *work_words.roster_words(plan.placed),
            *phrases.move_lines(plan),
        ),
    )


def _visit_row(plan: Placed, visit: VisitDays) -> tuple[str, ...]:
    ids = [t for t in plan.groups[visit.visit_id] if t in plan.stints]
    stints = [plan.stints[task_id] for task_id in ids]
    people = sorted({name for stint in stints for day in stint.people for name in day})
    hired = dict.fromkeys(hire for task_id in ids for hire in plan.tasks[task_id].hired)
    first, last = map(plan.season.date_of, (visit.first, visit.last))
    days = f"{first:%a} {first}" + (f" to {last:%d %b}" if last != first else "")
    days_open = f"{visit.span_days} ({visit.least_span_days})"
    return (
        days,
        phrases.visit_title(visit.visit_id, range(visit.first, visit.last + 1), plan, 1, 1),
        visit.visit_id,
        ", ".join((*people, *hired)),
        f"{sum(sum(stint.hours) for stint in stints):.1f}",
        days_open if plan.tasks[ids[0]].is_step else "",
    )


def _left_out_lines(plan: Placed) -> Iterator[str]:
    """The visits without a place, a line for each plot; the warnings say why."""
    plots: dict[str, list[str]] = {}
    for visit_id in plan.groups:
        if visit_id in plan.roster.left_out:
            task = plan.tasks[plan.groups[visit_id][0]]
            plots.setdefault(phrases.where(task, plan), []).append(visit_id)
    for place, ids in plots.items():
        yield f"Left out in {place}: {', '.join(ids)}."


def notice_lines(notices: Sequence[Notice]) -> tuple[str, ...]:
    """One line for each notice."""
    return tuple(f"{notice.level.value}: {notice.about}: {notice.says}" for notice in notices)


def _clock_times(times: tuple[datetime, ...]) -> str:
    return " ".join(f"{time:%H:%M}" for time in times)
