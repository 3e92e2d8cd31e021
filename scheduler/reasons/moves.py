"""Published visits that stand elsewhere now: which, and what forced it."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from scheduler.roster import Obstacle
from scheduler.season import SAW, Placed, day_to_keep, numbers_of
from scheduler.terms import DaySpan, Ruling, day_words

SAW_TAKEN = "the time that the crew may saw is taken"


@dataclass(frozen=True, slots=True)
class Move:
    """One visit that left its published days.

    Args:
        visit_id: the visit.
        was: first published day that had not gone by; of a visit whose days have all gone by,
            the first of them.
        now: the day on which it begins; None where it could not be placed.
        because: what forced it, in words.
    """

    visit_id: str
    was: date
    now: date | None
    because: str


def moves_of(placed: Placed) -> tuple[Move, ...]:
    """Every move, by its new day; what could not be placed comes last."""
    found = [move for visit_id in placed.published for move in _move(placed, visit_id)]
    return tuple(sorted(found, key=lambda m: (m.now or date.max, m.visit_id)))


def _move(placed: Placed, visit_id: str) -> Iterator[Move]:
    spans, visit = placed.published[visit_id], placed.visits.get(visit_id)
    if visit_id not in placed.problem.visit_by_id or not spans:
        return
    now = None if visit is None else placed.season.date_of(visit.first)
    keep = day_to_keep(spans, placed.outlook.as_of)
    if keep is None:
        yield Move(visit_id, spans[0].first, now, _gone_words(placed, visit_id))
    elif keep != now:
        yield Move(visit_id, keep, now, _because(placed, visit_id, keep, spans))


def _gone_words(placed: Placed, visit_id: str) -> str:
    if not placed.logged_days(visit_id):
        return "its days have gone by, and the work log does not say that it was done"
    return "its days have gone by; part of it is logged, and the rest goes on"


def _because(placed: Placed, visit_id: str, keep: date, spans: Sequence[DaySpan]) -> str:
    day = placed.season.day_of(keep)
    steps = placed.problem.visit_by_id[visit_id].steps
    fixed = next((step.fixed_first for step in steps if step.fixed_first is not None), None)
    if fixed is not None:
        return f"you set {day_words(placed.season.date_of(fixed))} for it"
    if day not in range(placed.season.n_days):
        return "that day is outside the plan"
    if agreed := _booked_words(placed, visit_id, spans):
        return agreed
    answer = placed.standing.asked(visit_id, day)
    if isinstance(answer, Obstacle):
        return obstacle_words(placed, visit_id, answer)
    return "other published work could so keep its day"


def _booked_words(placed: Placed, visit_id: str, spans: Sequence[DaySpan]) -> str:
    """What is booked for other days than those that were published; empty where nothing is."""
    there = numbers_of(spans, placed.season)
    for hire in placed.holding.crew.hire:
        for step in placed.problem.visit_by_id[visit_id].steps:
            stint, task = placed.stints.get(step.id), placed.tasks[step.id]
            if stint is None or hire.id not in task.hired:
                continue
            agreed = hire.booked_for(task.type.visit, placed.season)
            booked = numbers_of(agreed, placed.season)
            if booked and not booked & there and stint.first in booked:
                return f"{hire.name} is booked for {day_words(placed.season.date_of(stint.first))}"
    return ""


def closed_words(placed: Placed, step_id: str, day: int) -> str:
    """That a day is closed to a piece of work, and by what."""
    closing: tuple[Ruling, ...] = placed.windows[step_id].closing(day)
    told = "; and ".join(ruling.words for ruling in closing)
    on = day_words(placed.season.date_of(day))
    return f"{on} is closed to {placed.tasks[step_id].title!r}: {told}"


def obstacle_words(
    placed: Placed, visit_id: str, what: Obstacle, *, dated: bool = True, named: bool = True
) -> str:
    """What keeps a visit from a day, in the grower's words.

    Args:
        placed: the season.
        visit_id: the visit.
        what: the obstacle.
        dated: whether the day is told with it.
        named: whether the work that takes the room is told with it.
    """
    if what.kind == "heavy-row":
        return _row_words(placed, visit_id, what)
    if what.kind == "closed":
        return closed_words(placed, what.step, what.day)
    if what.kind == "stuck":
        return f"begun then, it would not be finished: {stuck_words(placed, what)}"
    day = day_words(placed.season.date_of(min(what.day, placed.season.n_days - 1)))
    on, about = f" on {day}" if dated else "", placed.titled(what.about)
    hired = {hire.id: hire.name for hire in placed.holding.crew.hire}.get(what.about, what.about)
    away, taken = f"{hired} does not come", f"{hired} is wanted elsewhere"
    if what.about == SAW:
        away, taken = "nobody who saws is there", SAW_TAKEN
    told = {
        "nobody": f"nobody of the crew works{on}",
        "kit-away": f"{away}{on}",
        "team": f"too few of the crew who can do it are there{on}{_team_words(placed, what.step)}",
        "short": f"too little of the day is left{on}",
        "rests": f"begun{on or ' then'}, with the rest that heavy_days_in_row asks for, it would "
        "be done later than if begun later",
        "unplaced": f"it waits for {about}, which has no place",
        "waits": f"it waits for {about}",
        "too-late": f"it would come too late after {about}",
        "before": f"{about} would begin before it is done",
        "too-early": f"{about} would come too late after it",
        "plot": f"the plot is taken{on}",
        "kit": f"{taken}{on}",
        "crew": f"the crew is taken{on}",
    }[what.kind]
    others = ", ".join(placed.titled(other) for other in what.beside if other != visit_id)
    return f"{told} by {others}" if others and named else told


def stuck_words(placed: Placed, what: Obstacle) -> str:
    """Why a later step of a visit would find no day in time."""
    title, n_days = repr(placed.tasks[what.step].title), placed.season.n_days
    if what.why == "end" or what.day >= n_days:
        return f"the plan ends before {title} is done"
    if what.why == "closed":
        return closed_words(placed, what.step, what.day)
    on = day_words(placed.season.date_of(what.day))
    return {
        "late": f"{title} would come too late after the work before it ({on})",
        "nobody": f"nobody of the crew works on {on}",
        "kit-away": f"{_away_words(placed, what)} on {on} for {title}",
        "team": f"too few of the crew who can do {title} are there on {on}",
        "rests": f"heavy work rests on {on}",
        "short": f"{title} has too little time on {on}",
    }[what.why]


def _away_words(placed: Placed, what: Obstacle) -> str:
    """Which firm does not come on a day, or that nobody saws then."""
    uses = placed.problem.by_id[what.step].uses
    away = {kit.id for kit in placed.problem.kits if kit.units[what.day] < uses.get(kit.id, 0)}
    firms = [hire.name for hire in placed.holding.crew.hire if hire.id in away]
    return f"{' and '.join(firms)} does not come" if firms else "nobody who saws is there"


def _team_words(placed: Placed, step_id: str) -> str:
    """The team that a step needs."""
    step = placed.problem.by_id.get(step_id)
    team = {} if step is None else step.team
    told = " and ".join(f"{n} with {skill}" for skill, n in sorted(team.items()) if n)
    return f" (it needs {told})" if told else ""


def _row_words(placed: Placed, visit_id: str, what: Obstacle) -> str:
    """A row of heavy days that would grow too long, and what else stands in it."""
    told = []
    for other in what.beside:
        steps = placed.problem.visit_by_id[other].steps
        heavy = {d for s in steps if s.heavy for d in placed.stints[s.id].days} & {*what.row}
        if other != visit_id and heavy:
            told.append(f"{placed.titled(other)} on {_days_words(placed, heavy)}")
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
