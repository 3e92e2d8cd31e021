"""What to ask a firm for, where its notice is what keeps a visit from sooner days. Pure."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from scheduler.holding import Hire
from scheduler.reasons.moves import Move
from scheduler.roster import (
    Block,
    Packer,
    Problem,
    Visit,
    followers,
    keeps_all,
    tied,
    with_followers,
)
from scheduler.season import Placed
from scheduler.terms import Level, Notice, day_words

NOTICE_RULE = "hire-notice"


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
