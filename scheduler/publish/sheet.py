"""The season as tables of words, for a terminal or a pipe."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from scheduler.publish import words, work_words
from scheduler.publish.disc import disc_of
from scheduler.season import Outlook, SeasonPlan
from scheduler.sky import Sky
from scheduler.stand import PlotDue, Task, Warmth, chipper_worth, due_of, held_back
from scheduler.terms import Notice
from scheduler.windows import release_day


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


def frost_table(outlook: Outlook, day: date) -> Table:
    """Frost risk by plot, and whether the window is open on a day."""
    rows = []
    for plot in outlook.holding.plots:
        risk = outlook.frost[plot.id]
        chance = float(risk.after_by_slot[risk.cycle.slot_of(day)])
        rows.append(
            (
                plot.name,
                f"{risk.offset_c:+g} °C",
                *(value or "-" for value in (risk.last_frost.p50, risk.last_frost.p10)),
                *(value or "-" for value in (risk.first_frost.p50, risk.first_frost.p10)),
                "-" if math.isnan(chance) else words.percent_words(chance),
                words.state_words(risk, day),
            )
        )
    risks = list(outlook.frost.values())
    policy = outlook.holding.site.frost
    return Table(
        f"Frost windows of {outlook.holding.site.name} on {words.span_words(day, day)}",
        (
            "plot",
            "offset",
            "last 50 %",
            "last 10 %",
            "first 50 %",
            "first 10 %",
            "another before midsummer",
            "frost window",
        ),
        tuple(rows),
        (
            f"Frost is {policy.threshold_c:g} °C or colder at the plot; the window is open while "
            f"the chance of another frost is above {100 * policy.tolerance:g} %.",
            f"It rests on {words.record_words(risks[0])}." if risks else "",
            words.CLIMATE_CAUTION,
        ),
    )


def due_tables(plan: SeasonPlan) -> Iterator[Table]:
    """The plots in order with the reasons; then for each what is due and what waits."""
    dues = dues_of(plan)
    yield _order_table(dues, plan)
    for due in dues:
        plot = due.plot
        tasks = [task for task in plan.tasks.values() if task.plot_id == plot.id]
        release = words.release_words(plan.outlook.frost[plot.id], plan.outlook.as_of)
        yield Table(
            f"{plot.name}, planted {plot.planted}; frost window closes: {release}",
            ("task", "work", "visit", "person-hours", "who", "done"),
            tuple(_task_row(task, plan) for task in tasks),
            (
                *filter(None, (work_words.visit_words(tasks),)),
                *_cover_words(due),
                *_held_back_words(plan, plot.id),
                *_chipper_words(tasks, words.short_name(plot), plan),
                *work_words.succession_words(plot, plan),
                *filter(None, (work_words.harvest_words(plot, plan),)),
                *(f"{t.type.title}: {w}" for t in tasks for w in work_words.foot_words(t, plan)),
            ),
        )
    whole = [task for task in plan.tasks.values() if task.plot is None]
    if whole:
        rows = tuple((*_task_row(t, plan)[:2], _task_row(t, plan)[3]) for t in whole)
        yield Table("The whole holding", ("task", "work", "person-hours"), rows)


def _chipper_words(tasks: Sequence[Task], where: str, plan: SeasonPlan) -> tuple[str, ...]:
    told = work_words.chipper_words(chipper_worth(tasks, plan.holding.rules), where)
    return (told,) if told else ()


def dues_of(plan: SeasonPlan) -> tuple[PlotDue, ...]:
    """The plots in the order of their heavy work."""
    as_of = plan.outlook.as_of
    released = {plot: release_day(risk, as_of) for plot, risk in plan.outlook.frost.items()}
    return due_of(plan.holding, tuple(plan.tasks.values()), as_of, released)


def _order_table(dues: Sequence[PlotDue], plan: SeasonPlan) -> Table:
    return Table(
        f"Which plot first, on {words.span_words(plan.outlook.as_of, plan.outlook.as_of)}",
        ("", "plot", "light at the alley", "why there"),
        tuple(
            (str(at), words.short_name(due.plot), f"{due.light:.0%}", "; ".join(due.reasons))
            for at, due in enumerate(dues, start=1)
        ),
        (
            "Order: frost release, then how far cover stands over its trigger, then shared hire, "
            "then nests (common practice). Light is that of crowns in leaf.",
            *_chipper_words(tuple(plan.tasks.values()), "one hire for all plots", plan),
            f"Regrowth is counted in {Warmth(plan.holding.record).basis}.",
        ),
    )


def _task_row(task: Task, plan: SeasonPlan) -> tuple[str, ...]:
    return (
        task.id,
        task.type.title,
        task.type.visit,
        f"{task.hours.usual:.1f} ({task.hours.low:.1f} to {task.hours.high:.1f})",
        words.team_words(task),
        _progress(task.id, plan),
    )


def _progress(task_id: str, plan: SeasonPlan) -> str:
    entry = plan.progress.get(task_id)
    return f"{entry.percent} %" if entry else ""


def _cover_words(due: PlotDue) -> Iterator[str]:
    strata = ", ".join(
        f"{s.cover.stratum} {s.cover.share:.0%} (kept to {s.cover.target:.0%}, cut at "
        f"{s.cover.trigger:.0%}{words.cuts_words(s.cuts_a_year)})"
        for s in due.strata
        if s.cover.target is not None
    )
    yield f"Crown cover of the ground now: {strata}. Targets are grower practice, editable."


def _held_back_words(plan: SeasonPlan, plot_id: str) -> Iterator[str]:
    plot = next(plot for plot in plan.holding.plots if plot.id == plot_id)
    for held in held_back(plot, "release", plan.holding):
        plant = plan.holding.rules.plants[held.stock.plant].name.lower()
        until = f"until the {held.until} visit" if held.until else "not cut in this plan"
        why = f": {held.why}" if held.why else ""
        yield f"Held back from the release visit, {until}: {held.stock.count} {plant}{why}."


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
    proof = {
        "proven": "Proven: no better plan exists under these rules.",
        "gap": "Not proven best: the search ended at its limit.",
    }[plan.roster.proof]
    return Table(
        plan.holding.plan.says.title,
        ("day", "work", "task", "who", "person-hours"),
        tuple(row for _, row in rows),
        (
            proof,
            *(f"Left out: {task_id}" for task_id in plan.roster.left_out),
            *(words.move_words(move, plan) for move in plan.moves),
        ),
    )


def notice_lines(notices: Sequence[Notice]) -> tuple[str, ...]:
    """One line for each notice."""
    return tuple(f"{notice.level.value}: {notice.about}: {notice.says}" for notice in notices)


def _clock_times(times: tuple[datetime, ...]) -> str:
    return " ".join(f"{time:%H:%M}" for time in times)
