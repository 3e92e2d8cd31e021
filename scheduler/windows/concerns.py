"""What pulls against a task's days without closing them: the grower decides, not the tool."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from scheduler.holding import dayrules
from scheduler.terms import DaySpan, spans_of
from scheduler.windows.facts import Facts, in_months
from scheduler.windows.rules import says, speaks_of
from scheduler.windows.ruling import Mask
from scheduler.windows.task_windows import TaskWindow


@dataclass(frozen=True)
class Concern:
    """Open days of a task that another rule would rather not see used.

    Args:
        rule_id: the rule that pulls against the others.
        switch: the switch by which the grower decides; empty where it is decided.
        words: what the rule says.
        source: where the rule comes from.
        on: (n_days,) the open days it speaks of.
        spans: the same days in runs.
        free: open days that are clear of it, in runs; empty where no day satisfies both.
        standing: whether it asks for a look on every such day rather than for a choice.
    """

    rule_id: str
    switch: str
    words: str
    source: str
    on: Mask
    spans: tuple[DaySpan, ...]
    free: tuple[DaySpan, ...]
    standing: bool = False

    @property
    def conflict(self) -> bool:
        """Whether no day satisfies this rule and the others as well."""
        return not self.free and not self.standing


def concerns_of(window: TaskWindow, facts: Facts) -> tuple[Concern, ...]:
    """What is to be weighed on the open days of a task, in the order of the rule book.

    Rules whose switch says ``ask`` are set against the open days; months that want care
    are named where the grower has opened them.
    """
    return tuple(
        concern for concern in (*_asked(window, facts), *_with_care(window, facts))
        if concern.on.any()
    )  # fmt: skip


def _asked(window: TaskWindow, facts: Facts) -> Iterator[Concern]:
    rules = facts.holding.rules
    for rule in rules.rules.values():
        if not isinstance(rule, dayrules.AvoidMonthsRule | dayrules.DrySpellRule):
            continue
        asked = rule.switch and rules.switches[rule.switch].state == "ask"
        if asked and speaks_of(rule, window.task):
            for ruling in says(rule, window.task, facts):
                yield _concern(rule, rule.switch, ruling.words, ruling.closed, window)


def _with_care(window: TaskWindow, facts: Facts) -> Iterator[Concern]:
    rules = facts.holding.rules
    if not rules.is_on(dayrules.CARE_MONTHS):
        return
    for rule in rules.rules.values():
        if isinstance(rule, dayrules.CutSeasonRule) and speaks_of(rule, window.task):
            for care in rule.care:
                wanting = in_months((care,), facts) & ~in_months(rule.spans, facts)
                yield _concern(rule, "", f"with care: {care.words}", wanting, window)


def _concern(
    rule: dayrules.AvoidMonthsRule | dayrules.DrySpellRule | dayrules.CutSeasonRule,
    switch: str,
    words: str,
    on: Mask,
    window: TaskWindow,
) -> Concern:
    is_open = window.open
    return Concern(
        rule_id=rule.id,
        switch=switch,
        words=words,
        source=rule.source,
        on=np.asarray(on & is_open),
        spans=spans_of(window.season, on & is_open),
        free=spans_of(window.season, ~on & is_open),
        standing=isinstance(rule, dayrules.AvoidMonthsRule) and rule.standing,
    )
