"""What to ask a firm for, where its notice is what keeps a visit from sooner days. Pure."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

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


@dataclass(frozen=True, slots=True)
class Ask:
    """One call that would bring a visit forward.

    Args:
        visit_id: the visit.
        hire: whom to ask.
        days: day numbers to ask for.
        first: day number on which the visit would then begin.
    """

    visit_id: str
    hire: Hire
    days: tuple[int, ...]
    first: int


def asks_of(placed: Placed, moves: Sequence[Move]) -> Iterator[Ask]:
    """For each visit that moved later, or has no place: the days to ask a firm for, if that helps.

    They are the nearest to the published ones; all other work stands where it is.
    """
    was = {m.visit_id: m.was for m in moves if m.now is None or m.now > m.was}
    for visit_id in placed.roster.left_out:
        if placed.logged_days(visit_id):
            was.setdefault(visit_id, placed.outlook.as_of)
    for visit_id in sorted(was.keys() & placed.problem.visit_by_id.keys()):
        block = _sooner(placed, visit_id, placed.season.day_of(was[visit_id]))
        if block:
            yield from _asks(placed, block)


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


def _asks(placed: Placed, block: Block) -> Iterator[Ask]:
    for hire in placed.holding.crew.hire:
        days = {
            day
            for step, part in zip(block.visit.steps, block.parts, strict=True)
            if step.uses.get(hire.id)
            for day in part.days
            if any(r.rule_id == NOTICE_RULE for r in placed.windows[step.id].closing(day))
        }
        if days and not _has_agreed(placed, hire, block.visit):
            yield Ask(block.visit.id, hire, tuple(sorted(days)), block.first)


def _has_agreed(placed: Placed, hire: Hire, visit: Visit) -> bool:
    """Whether a visit stands where it does on days that the firm has agreed to."""
    steps = [step.id for step in visit.steps if step.uses.get(hire.id)]
    stints = [placed.stints[step_id] for step_id in steps if step_id in placed.stints]
    days = {placed.season.date_of(day) for stint in stints for day in stint.days}
    return bool(days) and all(any(day in one.span for one in hire.booked) for day in days)


def ask_notices(placed: Placed, moves: Sequence[Move]) -> Iterator[Notice]:
    """One line for each such call."""
    for ask in asks_of(placed, moves):
        days = " and ".join(day_words(placed.season.date_of(day)) for day in ask.days)
        visit = placed.visits.get(ask.visit_id)
        else_ = (
            "it has no place"
            if visit is None
            else f"it moves to {day_words(placed.season.date_of(visit.first))}"
        )
        says = f"{placed.titled(ask.visit_id)}: ask {ask.hire.name} for {days}; else {else_}."
        yield Notice("ask-hire", Level.WARNING, ask.visit_id, says[0].upper() + says[1:])
