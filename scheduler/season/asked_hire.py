"""What to ask a firm for, where its notice is what keeps a visit from sooner days. Pure."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.holding import Hire
from scheduler.roster.order import followers, tied, with_followers
from scheduler.roster.placements import Block, Packer
from scheduler.roster.report import keeps_all
from scheduler.roster.why import Standing
from scheduler.season.moves import Move
from scheduler.season.placed import Placed
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

    All other work stands where it is.
    """
    late = {m.visit_id for m in moves if m.now is None or m.now > m.was}
    late |= {visit_id for visit_id in placed.roster.left_out if placed.logged_days(visit_id)}
    standing = Standing(placed.problem, placed.roster) if late else None
    for visit_id in sorted(late & placed.problem.visit_by_id.keys()):
        block = standing and _sooner(placed, visit_id, standing)
        if block:
            yield from _asks(placed, block)


def _sooner(placed: Placed, visit_id: str, standing: Standing) -> Block | None:
    """The soonest block of a visit that no notice keeps; None where it is no sooner."""
    visit, now = placed.problem.visit_by_id[visit_id], placed.visits.get(visit_id)
    steps = []
    for step in visit.steps:
        closed = np.zeros(placed.season.n_days, dtype=bool)
        for ruling in placed.windows[step.id].rulings:
            closed |= ruling.closed & (ruling.rule_id != NOTICE_RULE)
        steps.append(replace(step, open=~closed))
    if all((one.open == two.open).all() for one, two in zip(steps, visit.steps, strict=True)):
        return None
    others = [v for v in placed.problem.visits if v.id != visit_id]
    problem = replace(placed.problem, visits=(*others, replace(visit, steps=tuple(steps))))
    freed = problem.visit_by_id[visit_id]
    # what must come after it, or is other work in its plot, moves along with it
    along = with_followers({visit_id}, followers(tied(problem, problem.visit_by_id)))
    along |= {v.id for v in others if v.steps[0].plot == visit.steps[0].plot}
    moving = [standing.ledger.take(v) for v in sorted(along & standing.ledger.placed.keys())]
    try:
        for block in Packer(problem, standing.crew).blocks(freed):
            if now is not None and block.last >= now.last:
                return None
            there = standing.ledger.placed
            if keeps_all(problem, there, block) and standing.ledger.fits(block):
                return block
    finally:
        for block in moving:
            standing.ledger.put(block)
    return None


def _asks(placed: Placed, block: Block) -> Iterator[Ask]:
    for hire in placed.holding.crew.hire:
        days = {
            day
            for step, part in zip(block.visit.steps, block.parts, strict=True)
            if step.uses.get(hire.id)
            for day in part.days
            if any(r.rule_id == NOTICE_RULE for r in placed.windows[step.id].closing(day))
        }
        if days:
            yield Ask(block.visit.id, hire, tuple(sorted(days)), block.first)


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
