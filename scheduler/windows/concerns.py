"""What to weigh and to mind on a task's days without closing them."""

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.holding import Caution, dayrules
from scheduler.stand import Task, cautions_of
from scheduler.terms import DaySpan, spans_of
from scheduler.windows.facts import Facts, Mask, in_months
from scheduler.windows.rules import asked_rulings
from scheduler.windows.task_windows import TaskWindow, speaks_of

OFTEN = 0.1  # share of the record's days from which heat or cold is worth a word
LEAST_YEARS = 5.0
WARM_MONTHS = (4.0, 9.5)  # after the winter solstice: late April to early October in the north


@dataclass(frozen=True)
class Concern:
    """Open days of a task that another rule would rather not see used."""

    rule_id: str
    switch: str  # the switch by which the grower decides; empty where it is decided
    words: str
    source: str
    on: Mask  # (n_days,) the open days it speaks of
    spans: tuple[DaySpan, ...]  # the same days in runs
    # open days that are clear of it, in runs; empty where no day satisfies both
    free: tuple[DaySpan, ...]
    standing: bool = False  # whether it asks for a look on every such day rather than for a choice

    @property
    def conflict(self) -> bool:
        """Whether no day satisfies this rule and the others as well."""
        return not self.free and not self.standing


def concerns_of(window: TaskWindow, facts: Facts) -> tuple[Concern, ...]:
    """What is to be weighed on the open days of a task, in the order of the rule book.

    Rules whose switch says ``ask`` are set against the open days; months that want care
    are named where the grower has opened them.
    """
    is_open = window.open
    asked = (
        (rule, rule.switch, ruling.words, ruling.closed)
        for rule, ruling in asked_rulings(window.task, facts)
    )
    return tuple(
        Concern(
            rule_id=rule.id,
            switch=switch,
            words=words,
            source=rule.source,
            on=on & is_open,
            spans=spans_of(window.season, on & is_open),
            free=spans_of(window.season, ~on & is_open),
            standing=isinstance(rule, dayrules.AvoidMonthsRule) and rule.standing,
        )
        for rule, switch, words, on in (*asked, *_with_care(window, facts))
        if (on & is_open).any()
    )


def _with_care(
    window: TaskWindow, facts: Facts
) -> Iterator[tuple[dayrules.RuleHead, str, str, Mask]]:
    if not facts.holding.rules.is_on(dayrules.CARE_MONTHS):
        return
    for rule in facts.holding.rules.rules.values():
        if isinstance(rule, dayrules.CutSeasonRule) and speaks_of(rule, window.task):
            for care in rule.care:
                wanting = in_months((care,), facts) & ~in_months(rule.spans, facts)
                yield rule, "", f"with care: {care.words}", wanting


def cautions_on(task: Task, day: int, facts: Facts) -> tuple[Caution, ...]:
    """The cautions of a task that hold on a day of the season.

    Nests and fire go by the months of their rules, heat and cold by the record of such days;
    without a record of them, cold is told on every day, heat in the warm half of the year.
    """
    cautions = cautions_of(task.type, task.stock, task.plot, facts.holding.rules)
    return tuple(caution for caution in cautions if _holds(caution, task, day, facts))


def _holds(caution: Caution, task: Task, day: int, facts: Facts) -> bool:
    if caution.on_days_of is not None:
        rule = facts.holding.rules.rules[caution.on_days_of]
        return not isinstance(rule, dayrules.AvoidMonthsRule) or bool(
            in_months(rule.spans, facts)[day]
        )
    if caution.above_c is not None:
        shares = facts.shares("tmax_c", caution.above_c, LEAST_YEARS)
        if shares is None:
            return WARM_MONTHS[0] <= float(facts.sky.winter_months[day]) < WARM_MONTHS[1]
    elif caution.below_c is not None:
        offset_c = facts.frost[task.plot.id].offset_c if task.plot else 0.0
        shares = facts.shares("tmin_c", caution.below_c - offset_c, LEAST_YEARS)
    else:
        return True
    return shares is None or bool(shares[day] > OFTEN)
