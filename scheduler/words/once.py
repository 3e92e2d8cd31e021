"""Answers that cost time, computed once for each plan."""

from collections.abc import Callable
from functools import wraps
from typing import TypeVar
from weakref import WeakKeyDictionary

from scheduler.season import Placed

_Answer = TypeVar("_Answer")


def once(ask: Callable[[Placed, str], _Answer]) -> Callable[[Placed, str], _Answer]:
    """Keep the answers about a plan as long as the plan itself; several feeds show the same.

    Args:
        ask: takes a plan and the id of a visit or task.
    """
    by_plan: WeakKeyDictionary[Placed, dict[str, _Answer]] = WeakKeyDictionary()

    @wraps(ask)
    def kept(plan: Placed, about: str) -> _Answer:
        answers = by_plan.setdefault(plan, {})
        if about not in answers:
            answers[about] = ask(plan, about)
        return answers[about]

    return kept
