"""A season as it is worked: firms booked for the planned days, the log kept day by day."""

from datetime import date, timedelta
from pathlib import Path

from scheduler.holding import LogEntry
from scheduler.reasons import SeasonPlan
from tests.sites import append_to_log, edit

Booked = list[tuple[date, str]]  # days with the kind of visit they are booked for


def hired_days(plan: SeasonPlan, hire_id: str = "climber") -> Booked:
    """The days on which the plan has somebody hired, by day."""
    return sorted(
        {
            (plan.placed.season.date_of(day), plan.placed.tasks[task_id].type.visit)
            for task_id, stint in plan.placed.stints.items()
            if hire_id in plan.placed.tasks[task_id].hired
            for day in stint.days
        }
    )


def book(site: Path, days: Booked, hire_id: str = "climber") -> None:
    """Write the booked days into crew.toml."""
    assert days
    told = ", ".join(
        f'{{ first = {day}, last = {day}, visit = "{visit}" }}' for day, visit in days
    )
    edit(site, "crew.toml", f'id = "{hire_id}"\n', f'id = "{hire_id}"\nbooked = [{told}]\n')


def log(site: Path, plan: SeasonPlan, until: date, visit_id: str = "") -> None:
    """Log the work of the plan up to a day as it was planned, and its calls; or of one visit."""
    rows = []
    for task_id, stint in plan.placed.stints.items():
        if visit_id and plan.placed.visit_of[task_id] != visit_id:
            continue
        done_h = 0.0
        for day, hours in zip(stint.days, stint.hours, strict=True):
            done_h += hours
            on, percent = plan.placed.season.date_of(day), round(100 * done_h / sum(stint.hours))
            rows.append(
                LogEntry(
                    date=on,
                    plan=plan.placed.holding.plan.id,
                    task=task_id,
                    percent=max(percent, 1),
                )
            )
    if not visit_id:
        rows += [
            LogEntry(date=e.on, plan=plan.placed.holding.plan.id, task=e.id) for e in plan.errands
        ]
    rows = sorted((row for row in rows if row.date <= until), key=lambda row: row.date)
    assert rows
    append_to_log(site, rows)


def close(site: Path, day: date, why: str = "rain") -> None:
    """Let the grower close a day to all work."""
    text = f'\n[[closed]]\nfirst = {day}\nlast = {day}\nwhy = "{why}"\n'
    with (site / "plan-2027.toml").open("a", encoding="utf-8") as plan:
        plan.write(text)


def away(site: Path, name: str, first: date, last: date) -> None:
    """Let a person be away for some days, beside those that stand in crew.toml."""
    path = site / "crew.toml"
    text = path.read_text(encoding="utf-8")
    head, _, rest = text.partition(f'name = "{name}"\n')
    assert rest, name
    own, mark, others = rest.partition("\n[[")
    days = f"{{ first = {first}, last = {last} }}"
    own = (
        own.replace("off = [", f"off = [{days}, ")
        if "off = [" in own
        else f"{own}off = [{days}]\n"
    )
    path.write_text(f'{head}name = "{name}"\n{own}{mark}{others}', encoding="utf-8")


def weekday_after(day: date, days: int = 1) -> date:
    """The day some days later; Monday where that is a weekend."""
    later = day + timedelta(days=days)
    return later + timedelta(days=max(0, 7 - later.weekday())) if later.weekday() > 4 else later
