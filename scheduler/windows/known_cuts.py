"""What known cuts of stock say of the days after them."""

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import Stock, dayrules
from scheduler.stand import Task
from scheduler.terms import Season
from scheduler.windows.facts import Facts, in_months


def first_cut_on(task: Task, rule: dayrules.AfterFirstCutRule, facts: Facts) -> date | None:
    """The latest known first cut of the stock that counts for this plan; None without one."""
    cuts = [facts.cut_on(row) for row in task.stock]
    counting = [cut for cut in cuts if cut and counts(cut, task, rule, facts)]
    return max(counting, default=None)


def counts(
    cut_on: date | None, task: Task, rule: dayrules.AfterFirstCutRule, facts: Facts
) -> bool:
    """Whether the second cut's own season in the plan holds a day long enough after this one."""
    if cut_on is None:
        return False
    days = days_after(cut_on, rule, facts.season)
    for season in facts.holding.rules.rules.values():
        if isinstance(season, dayrules.MonthsRule) and task.type.id in season.tasks:
            days &= in_months(season.spans, facts)
    return bool(days.any())


def days_after(
    cut_on: date, rule: dayrules.AfterFirstCutRule, season: Season
) -> NDArray[np.bool_]:
    """(n_days,) the days of the plan that lie long enough, and not too long, after a cut."""
    days = np.arange(season.n_days) - season.day_of(cut_on)
    return (days >= 7 * rule.weeks) & (days <= 7 * rule.until_weeks)


def cut_this_season(stock: Sequence[Stock], facts: Facts) -> date | None:
    """The day since which all of this stock is cut; None where a cut of some is not known."""
    cuts = [facts.cut_on(row) for row in stock]
    known = [cut for cut in cuts if cut is not None]
    return min(known) if known and len(known) == len(cuts) else None


def days_until(cut_on: date, weeks: int, season: Season) -> NDArray[np.bool_]:
    """(n_days,) the days of the plan in so many weeks from a cut on."""
    since, until = season.day_of(cut_on), season.day_of(cut_on + timedelta(weeks=weeks))
    days = np.arange(season.n_days)
    return (days >= since) & (days <= until)
