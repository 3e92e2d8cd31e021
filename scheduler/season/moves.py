"""Published work that stands elsewhere now: which, and what forced it."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from scheduler.roster.why import Obstacle, Standing
from scheduler.season.kept_days import day_to_keep, numbers_of
from scheduler.season.placed import Placed
from scheduler.terms import DaySpan, Ruling, day_words


@dataclass(frozen=True, slots=True)
class Move:
    """One task that left its published days.

    Args:
        task_id: the task.
        was: first published day that had not gone by; of work whose days have all gone by,
            the first of them.
        now: the day on which it begins; None where it could not be placed.
        because: what forced it, in words.
    """

    task_id: str
    was: date
    now: date | None
    because: str


def moves_of(placed: Placed) -> tuple[Move, ...]:
    """Every move, by its new day; what could not be placed comes last."""
    found = [move for task_id in placed.published for move in _move(placed, task_id)]
    return tuple(sorted(found, key=lambda m: (m.now or date.max, m.task_id)))


def _move(placed: Placed, task_id: str) -> Iterator[Move]:
    spans = placed.published[task_id]
    if task_id not in placed.tasks or task_id in placed.done or not spans:
        return
    stint = placed.stints.get(task_id)
    now = None if stint is None else placed.season.date_of(stint.first)
    keep = day_to_keep(spans, placed.outlook.as_of)
    if keep is None:
        yield Move(task_id, spans[0].first, now, _gone_words(placed, task_id))
    elif keep != now:
        yield Move(task_id, keep, now, _because(placed, task_id, keep, spans))


def _gone_words(placed: Placed, task_id: str) -> str:
    entry = placed.progress.get(task_id)
    if entry is None:
        return "its days have gone by, and the work log does not say that it was done"
    return f"its days have gone by; {entry.percent} % of it is logged, and the rest goes on"


def _because(placed: Placed, task_id: str, keep: date, spans: Sequence[DaySpan]) -> str:
    day = placed.season.day_of(keep)
    window = placed.windows[task_id]
    if window.fixed_first is not None:
        return f"you set {day_words(placed.season.date_of(window.fixed_first))} for it"
    until = placed.season.day_of(max(span.last for span in spans))
    for there in range(day, until + 1):
        if 0 <= there < placed.season.n_days and (closing := window.closing(there)):
            return _closed_words(placed, there, closing)
    if day not in range(placed.season.n_days):
        return "that day is outside the plan"
    if agreed := _booked_words(placed, task_id, day):
        return agreed
    answer = Standing(placed.problem, placed.roster).asked(task_id, day)
    if isinstance(answer, Obstacle):
        return obstacle_words(placed, task_id, answer)
    return "other published work could so keep its day"


def _booked_words(placed: Placed, task_id: str, keep: int) -> str:
    """What is booked for other days than those that were published; empty where nothing is."""
    task, stint = placed.tasks[task_id], placed.stints.get(task_id)
    for hire in placed.holding.crew.hire:
        if stint is not None and hire.id in task.hired:
            spans = hire.booked_for(task.type.visit, placed.season)
            booked = numbers_of(spans, placed.season)
            if keep not in booked and stint.first in booked:
                return f"{hire.name} is booked for {day_words(placed.season.date_of(stint.first))}"
    return ""


def _closed_words(placed: Placed, day: int, closing: tuple[Ruling, ...]) -> str:
    told = "; and ".join(ruling.words for ruling in closing)
    return f"{day_words(placed.season.date_of(day))} is closed to it: {told}"


def obstacle_words(
    placed: Placed, task_id: str, what: Obstacle, *, dated: bool = True, named: bool = True
) -> str:
    """What keeps a task from a day, in the grower's words.

    Args:
        placed: the season.
        task_id: the task.
        what: the obstacle.
        dated: whether the day is told with it.
        named: whether the work that takes the room is told with it.
    """
    if what.kind == "heavy-row":
        return _row_words(placed, task_id, what)
    day = day_words(placed.season.date_of(min(what.day, placed.season.n_days - 1)))
    on, about = f" on {day}" if dated else "", placed.titled(what.about)
    hired = {hire.id: hire.name for hire in placed.holding.crew.hire}.get(what.about, what.about)
    told = {
        "closed": f"{day} is closed to it",
        "nobody": f"nobody of the crew works{on}",
        "kit-away": f"{hired} does not come{on}",
        "team": f"too few of the crew who can do it are there{on}{_team_words(placed, task_id)}",
        "cut-short": f"begun{on or ' then'}, it would not be done before its days close",
        "rests": f"begun{on or ' then'}, with the rest that heavy_days_in_row asks for, it would "
        "be done later than if begun later",
        "rest-short": f"begun{on or ' then'}, with the rest that heavy_days_in_row asks for, it "
        "would not be done before its days close",
        "unplaced": f"it waits for {about}, which has no place",
        "waits": f"it waits for {about}",
        "too-late": f"it would come too late after {about}",
        "before": f"{about} would begin before it is done",
        "too-early": f"{about} would come too late after it",
        "plot": f"the plot is taken{on}",
        "kit": f"{hired} is wanted elsewhere{on}",
        "crew": f"the crew is taken{on}",
    }[what.kind]
    others = ", ".join(placed.titled(job_id) for job_id in what.beside if job_id != task_id)
    return f"{told} by {others}" if others and named else told


def _team_words(placed: Placed, task_id: str) -> str:
    """The team that a task needs."""
    team = placed.problem.by_id[task_id].team
    told = " and ".join(f"{n} with {skill}" for skill, n in sorted(team.items()) if n)
    return f" (it needs {told})" if told else ""


def _row_words(placed: Placed, task_id: str, what: Obstacle) -> str:
    """A row of heavy days that would grow too long, and what else stands in it."""
    days = {t: set(placed.stints[t].days) for t in what.beside if t != task_id}
    told = [f"{placed.titled(t)} on {_days_words(placed, days[t] & {*what.row})}" for t in days]
    logged = placed.problem.heavy_worked.intersection(what.row)
    told += [f"what was logged on {_days_words(placed, logged)}"] if logged else []
    cap = placed.problem.heavy_in_row or 0
    return (
        f"it would make more than {cap} heavy day{'s' * (cap > 1)} in a row, the cap in "
        f"crew.toml, with {' and '.join(told)}"
    )


def _days_words(placed: Placed, days: Collection[int]) -> str:
    """The first and the last of some days."""
    ends = dict.fromkeys((min(days), max(days)))
    return " to ".join(day_words(placed.season.date_of(day)) for day in ends)
