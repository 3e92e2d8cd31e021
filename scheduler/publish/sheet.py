"""The season as tables of words, for a terminal or a pipe."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from scheduler.publish import words, work_words
from scheduler.publish.disc import disc_of
from scheduler.season import SeasonPlan
from scheduler.sky import Sky
from scheduler.terms import Notice


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
        grid = [self.columns, *self.rows]
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
        (f"{e.local:%a %Y-%m-%d}", f"{e.local:%H:%M}", words.EVENT_WORDS[e.event])
        for e in sky.events
    )
    return (
        Table(
            "Sun and Moon",
            ("day", "sunrise", "sunset", "light", "moon", "", "rises", "sets", "season clock"),
            days,
            (
                "Season clock: months of the Sun's round since the local winter solstice.",
                f"Timing work by the moon is a {words.MOON_TAG}.",
            ),
        ),
        Table("Marks of the sky", ("day", "time", "what"), events),
    )


def roster_table(plan: SeasonPlan) -> Table:
    """The crew's days, one row for each task and day."""
    rows = []
    for task_id, stint in plan.stints.items():
        task = plan.tasks[task_id]
        for day, hours, people in zip(stint.days, stint.hours, stint.people, strict=True):
            when = plan.season.date_of(day)
            rows.append(
                (
                    when,
                    (
                        f"{when:%a} {when}",
                        words.task_title(task, plan),
                        task_id,
                        ", ".join((*people, *task.hired)),
                        f"{hours:.1f}",
                    ),
                )
            )
    rows += [
        (errand.on, (f"{errand.on:%a} {errand.on}", errand.title, errand.id, "", ""))
        for errand in plan.errands
    ]
    rows.sort(key=lambda row: row[0])
    return Table(
        plan.holding.plan.says.title,
        ("day", "work", "task", "who", "person-hours"),
        tuple(row for _, row in rows),
        (
            work_words.proof_words(plan.roster),
            *_left_out_lines(plan),
            *work_words.roster_words(plan),
            *words.move_lines(plan),
        ),
    )


def _left_out_lines(plan: SeasonPlan) -> Iterator[str]:
    """The work without a place, a line for each plot; the warnings say why."""
    plots: dict[str, list[str]] = {}
    left = set(plan.roster.left_out)
    for task_id in plan.tasks:
        if task_id in left:
            task = plan.tasks[task_id]
            plots.setdefault(words.where(task, plan), []).append(task_id)
    for place, ids in plots.items():
        yield f"Left out in {place}: {', '.join(ids)}."


def notice_lines(notices: Sequence[Notice]) -> tuple[str, ...]:
    """One line for each notice."""
    return tuple(f"{notice.level.value}: {notice.about}: {notice.says}" for notice in notices)


def _clock_times(times: tuple[datetime, ...]) -> str:
    return " ".join(f"{time:%H:%M}" for time in times)
