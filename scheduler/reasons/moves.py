"""Published visits that stand elsewhere now: which, what forced it, and whom to ask for help.

Where the notice of a firm is what keeps a visit from sooner days, the firm can be asked. Pure.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from scheduler.holding import Hire
from scheduler.roster import (
    Block,
    Obstacle,
    Packer,
    Problem,
    Visit,
    followers,
    keeps_all,
    tied,
    with_followers,
)
from scheduler.season import SAW, Placed, day_to_keep, numbers_of
from scheduler.terms import DaySpan, Level, Notice, day_words, span_words

NOTICE_RULE = "hire-notice"
NOBODY_SAWS = "nobody who saws is there"


@dataclass(frozen=True, slots=True)
class Move:
    """One visit that left its published days."""

    visit_id: str
    # first published day that had not gone by; of a visit whose days have all gone by, the first
    # of them
    was: date
    now: date | None  # the day on which it begins; None where it could not be placed
    because: str  # what forced it, in words


def moves_of(placed: Placed) -> tuple[Move, ...]:
    """Every move, by its new day; what could not be placed comes last."""
    moves = (move for visit_id in placed.published for move in _move(placed, visit_id))
    return tuple(sorted(moves, key=lambda move: (move.now or date.max, move.visit_id)))


def _move(placed: Placed, visit_id: str) -> Iterator[Move]:
    spans, visit = placed.published[visit_id], placed.visits.get(visit_id)
    if visit_id not in placed.problem.visit_by_id or not spans:
        return
    now = None if visit is None else placed.season.date_of(visit.first)
    keep = day_to_keep(spans, placed.outlook.as_of)
    if keep is None:
        gone = "its days have gone by, and the work log does not say that it was done"
        if placed.logged_days(visit_id):
            gone = "its days have gone by; part of it is logged, and the rest goes on"
        yield Move(visit_id, spans[0].first, now, gone)
    elif keep != now:
        yield Move(visit_id, keep, now, because_not_on(placed, visit_id, keep, spans))


def because_not_on(
    placed: Placed,
    visit_id: str,
    keep: date,
    spans: Sequence[DaySpan],
    otherwise: str = "other published work could so keep its day",
) -> str:
    """Why a visit of the plan does not begin on a day, one of the ``spans`` that it had.

    ``otherwise`` is said where nothing stands against that day.
    """
    day = placed.season.day_of(keep)
    for step in placed.problem.visit_by_id[visit_id].steps:
        if step.fixed_first is not None:
            return f"you set {_day_words(placed, step.fixed_first)} for it"
    if keep not in placed.season:
        return "that day is outside the plan"
    if agreed := _booked_words(placed, visit_id, spans):
        return agreed
    answer = placed.standing.asked(visit_id, day)
    if isinstance(answer, Obstacle):
        return obstacle_words(placed, visit_id, answer)
    return otherwise


def _booked_words(placed: Placed, visit_id: str, spans: Sequence[DaySpan]) -> str:
    """What is booked for other days than those that were published; empty where nothing is."""
    kept = numbers_of(spans, placed.season)
    for hire in placed.holding.crew.hire:
        for step in placed.problem.visit_by_id[visit_id].steps:
            stint, task = placed.stints.get(step.id), placed.tasks[step.id]
            if stint is None or hire.id not in task.hired:
                continue
            booked = numbers_of(hire.booked_for(task.type.visit, placed.season), placed.season)
            if booked and not booked & kept and stint.first in booked:
                return f"{hire.name} is booked for {_day_words(placed, stint.first)}"
    return ""


def obstacle_words(
    placed: Placed, visit_id: str, what: Obstacle, *, dated: bool = True, named: bool = True
) -> str:
    """What keeps a visit from a day, in the grower's words.

    If ``dated`` the day is told with it, if ``named`` the work that takes the room.
    """
    if what.kind == "heavy-row":
        return _row_words(placed, visit_id, what)
    if what.kind == "closed":
        return _closed_words(placed, what)
    if what.kind == "stuck":
        return f"begun then, it would not be finished: {_stuck_words(placed, what)}"
    day = _day_words(placed, min(what.day, placed.season.n_days - 1))
    on, about = f" on {day}" if dated else "", placed.titled(what.about)
    hired = {hire.id: hire.name for hire in placed.holding.crew.hire}.get(what.about, what.about)
    away, taken = f"{hired} does not come", f"{hired} is wanted elsewhere"
    if what.about == SAW:
        away, taken = NOBODY_SAWS, "the time that the crew may saw is taken"
    says = {
        "nobody": f"nobody of the crew works{on}",
        "kit-away": f"{away}{on}",
        "team": f"too few of the crew who can do it are there{on}{_team_words(placed, what.step)}",
        "short": f"too little of the day is left{on}",
        "rests": f"begun{on or ' then'}, with the rest that heavy_days_in_row asks for, it would "
        "be done later than if begun later",
        "unplaced": f"it waits for {about}, which is unscheduled",
        "waits": f"it waits for {about}",
        "too-late": f"it would come too late after {about}",
        "before": f"{about} would begin before it is done",
        "too-early": f"{about} would come too late after it",
        "plot": f"the plot is taken{on}",
        "kit": f"{taken}{on}",
        "crew": f"the crew is taken{on}",
    }[what.kind]
    others = ", ".join(placed.titled(other) for other in what.beside if other != visit_id)
    return f"{says} by {others}" if others and named else says


def _closed_words(placed: Placed, what: Obstacle) -> str:
    """That a day is closed to a piece of work, and by what."""
    rulings = "; and ".join(r.words for r in placed.windows[what.step].closing(what.day))
    title = placed.tasks[what.step].title
    return f"{_day_words(placed, what.day)} is closed to {title!r}: {rulings}"


def _stuck_words(placed: Placed, what: Obstacle) -> str:
    """Why a later step of a visit would find no day in time."""
    title = repr(placed.tasks[what.step].title)
    if what.why == "end" or what.day >= placed.season.n_days:
        return f"the plan ends before {title} is done"
    if what.why == "closed":
        return _closed_words(placed, what)
    on, uses = _day_words(placed, what.day), placed.problem.by_id[what.step].uses
    away = {kit.id for kit in placed.problem.kits if kit.units[what.day] < uses.get(kit.id, 0)}
    firms = [hire.name for hire in placed.holding.crew.hire if hire.id in away]
    missing = f"{' and '.join(firms)} does not come" if firms else NOBODY_SAWS
    return {
        "late": f"{title} would come too late after the work before it ({on})",
        "nobody": f"nobody of the crew works on {on}",
        "kit-away": f"{missing} on {on} for {title}",
        "team": f"too few of the crew who can do {title} are there on {on}",
        "rests": f"heavy work rests on {on}",
        "short": f"{title} has too little time on {on}",
    }[what.why]


def _team_words(placed: Placed, step_id: str) -> str:
    """The team that a step needs."""
    step = placed.problem.by_id.get(step_id)
    team = sorted(step.team.items()) if step else ()
    needs = " and ".join(f"{n} with {skill}" for skill, n in team if n)
    return f" (it needs {needs})" if needs else ""


def _row_words(placed: Placed, visit_id: str, what: Obstacle) -> str:
    """A row of heavy days that would grow too long, and what else stands in it."""
    beside = []
    for other in what.beside:
        steps = placed.problem.visit_by_id[other].steps
        heavy = {d for s in steps if s.heavy for d in placed.stints[s.id].days} & {*what.row}
        if other != visit_id and heavy:
            beside.append(f"{placed.titled(other)} on {_ends_words(placed, heavy)}")
    logged = placed.problem.heavy_worked.intersection(what.row)
    if logged:
        beside.append(f"what was logged on {_ends_words(placed, logged)}")
    cap = placed.problem.heavy_in_row or 0
    return (
        f"it would make more than {cap} heavy day{'s' * (cap > 1)} in a row, the cap in "
        f"crew.toml, with {' and '.join(beside)}"
    )


def _ends_words(placed: Placed, days: Collection[int]) -> str:
    """The first and the last of some days."""
    return span_words(placed.season.date_of(min(days)), placed.season.date_of(max(days)))


def _day_words(placed: Placed, day: int) -> str:
    return day_words(placed.season.date_of(day))


def ask_notices(placed: Placed, moves: Sequence[Move]) -> Iterator[Notice]:
    """For each visit that moved later, or has no place: the days to ask a firm for, if that helps.

    They are the nearest to the published ones; all other work stands where it is.
    """
    near = {move.visit_id: move.was for move in moves if move.now is None or move.now > move.was}
    for visit_id in placed.roster.left_out:
        if placed.logged_days(visit_id):
            near.setdefault(visit_id, placed.outlook.as_of)
    for visit_id in sorted(near.keys() & placed.problem.visit_by_id.keys()):
        block = _sooner(placed, visit_id, placed.season.day_of(near[visit_id]))
        if block is None:
            continue
        visit = placed.visits.get(visit_id)
        otherwise = "it stays unscheduled"
        if visit is not None:
            otherwise = f"it moves to {day_words(placed.season.date_of(visit.first))}"
        for hire in placed.holding.crew.hire:
            if days := sorted(_days_to_ask(placed, hire, block)):
                on = " and ".join(day_words(placed.season.date_of(day)) for day in days)
                says = f"{placed.titled(visit_id)}: ask {hire.name} for {on}; else {otherwise}."
                says = says[0].upper() + says[1:]
                yield Notice("ask-hire", Level.WARNING, visit_id, says)


def _sooner(placed: Placed, visit_id: str, near: int) -> Block | None:
    """The block of a visit nearest to a day that no notice keeps; None where it is no sooner."""
    visit, now = _without_notice(placed, visit_id), placed.visits.get(visit_id)
    if visit is None:
        return None
    others = [v for v in placed.problem.visits if v.id != visit_id]
    problem = replace(placed.problem, visits=(*others, visit))
    ledger, along = placed.standing.ledger, _moving_along(problem, visit)
    blocks = Packer(problem, placed.standing.crew).blocks(visit)
    sooner = [block for block in blocks if now is None or block.last < now.last]
    moving = [ledger.take(v) for v in sorted(along & ledger.placed.keys())]
    try:
        for block in sorted(sooner, key=lambda block: (abs(block.first - near), block.first)):
            if keeps_all(problem, ledger.placed, block) and ledger.fits(block):
                return block
    finally:
        for moved in moving:
            ledger.put(moved)
    return None


def _without_notice(placed: Placed, visit_id: str) -> Visit | None:
    """A visit that need not wait for any notice; None where it waits for none."""
    visit, steps = placed.problem.visit_by_id[visit_id], []
    for step in visit.steps:
        window = placed.windows[step.id]
        rulings = tuple(r for r in window.rulings if r.rule_id != NOTICE_RULE)
        steps.append(replace(step, open=replace(window, rulings=rulings).open))
    if all((own.open == free.open).all() for own, free in zip(visit.steps, steps, strict=True)):
        return None
    return replace(visit, steps=tuple(steps))


def _moving_along(problem: Problem, visit: Visit) -> set[str]:
    """A visit, what must come after it, and the other work in its plot."""
    after = with_followers({visit.id}, followers(tied(problem, problem.visit_by_id)))
    return after | {v.id for v in problem.visits if v.steps[0].plot == visit.steps[0].plot}


def _days_to_ask(placed: Placed, hire: Hire, block: Block) -> set[int]:
    """Which days of a block only the notice of a firm closes; none where it has agreed to come."""
    steps = [step.id for step in block.visit.steps if step.uses.get(hire.id)]
    if _has_agreed(placed, hire, steps):
        return set()
    return {
        day
        for step_id in steps
        for day in block.by_step[step_id].days
        if any(ruling.rule_id == NOTICE_RULE for ruling in placed.windows[step_id].closing(day))
    }


def _has_agreed(placed: Placed, hire: Hire, steps: Sequence[str]) -> bool:
    """Whether these steps stand where they do on days that the firm has agreed to."""
    stints = [placed.stints[step_id] for step_id in steps if step_id in placed.stints]
    days = {placed.season.date_of(day) for stint in stints for day in stint.days}
    return bool(days) and all(any(day in one.span for one in hire.booked) for day in days)
