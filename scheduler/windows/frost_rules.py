"""Rules that go by the frost window of a plot."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from scheduler.frost import FrostRisk
from scheduler.holding import Plot, RuleHead, dayrules
from scheduler.stand import Task
from scheduler.terms import Basis, DaySpan, Ruling
from scheduler.windows.facts import Facts
from scheduler.windows.rule_words import opening_words, release_day, release_words, until_words
from scheduler.windows.ruling import Mask, ruling_by
from scheduler.windows.weather_rules import long_closed


def after_first_frost(
    rule: dayrules.AfterFirstFrostRule, task: Task, facts: Facts
) -> Iterator[Ruling]:
    """Open in the weeks after each frost window opens."""
    if task.plot is not None:
        risk, closed = facts.frost[task.plot.id], np.ones(facts.season.n_days, dtype=bool)
        for window in risk.windows:
            if window.first > risk.season.first:
                first, last = (
                    window.first + timedelta(days=round(7 * weeks))
                    for weeks in (rule.from_weeks, rule.weeks)
                )
                closed &= ~facts.season.mask(DaySpan(first, last))
        yield _frost_ruling(rule, closed, task.plot, facts, rule.weeks)


def after_last_frost(
    rule: dayrules.AfterLastFrostRule, task: Task, facts: Facts
) -> Iterator[Ruling]:
    """Closed while the plot's frost window is open."""
    if task.plot is not None:
        risk = facts.frost[task.plot.id]
        yield _frost_ruling(rule, risk.open[: facts.season.n_days].copy(), task.plot, facts)


def weeks_after_frost(
    rule: dayrules.WeeksAfterFrostRule, task: Task, facts: Facts
) -> Iterator[Ruling]:
    """Closed once the frost window has been closed for those weeks."""
    if task.plot is not None and (risk := facts.frost[task.plot.id]).ever_open:
        closed = long_closed(risk, facts.season, round(7 * rule.weeks))
        yield _frost_ruling(rule, closed, task.plot, facts, rule.weeks)


def harden(rule: dayrules.HardenRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed while the weeks that new growth stays tender hold too likely a frost."""
    if task.plot is not None:
        risk = facts.frost[task.plot.id]
        # the day of the cut and all of the weeks; while the window is open another rule speaks
        growth = facts.holding.frost.data.growth
        within = risk.open_within(growth.tender_days(rule.weeks)) & ~risk.open
        closed = within[: facts.season.n_days].copy()
        yield _frost_ruling(rule, closed, task.plot, facts, rule.weeks or growth.tender_weeks)


def before_first_frost(
    rule: dayrules.BeforeFirstFrostRule, task: Task, facts: Facts
) -> Iterator[Ruling]:
    """Open in those weeks only, or late where the rule allows it and they have begun."""
    if task.plot is not None:
        closed = ~_weeks_before_frost(rule, facts.frost[task.plot.id], facts)
        yield _frost_ruling(rule, closed, task.plot, facts, rule.weeks)


def _weeks_before_frost(
    rule: dayrules.BeforeFirstFrostRule, risk: FrostRisk, facts: Facts
) -> Mask:
    """True in the weeks before each frost window that is seen to open, and while it is late."""
    mask = np.zeros(facts.season.n_days, dtype=bool)
    for window in risk.windows:
        if window.first > risk.season.first:
            first = window.first - timedelta(days=round(rule.weeks * 7))
            # ahead of those weeks nobody plans to be late
            # and covers that would soon come off again are not worth putting on
            latest = window.last - timedelta(days=round(rule.weeks * 7))
            late = rule.late and first <= facts.as_of <= latest
            last = latest if late else window.first - timedelta(days=1)
            mask |= facts.season.mask(DaySpan(first, last))
    return mask


def _frost_ruling(
    rule: RuleHead, closed: Mask, plot: Plot, facts: Facts, weeks: float = 0.0
) -> Ruling:
    risk = facts.frost[plot.id]
    ruling = ruling_by(
        rule,
        closed,
        plot=plot.name,
        weeks=f"{weeks:g}",
        until=until_words(risk, plot),
        closes=release_words(risk, facts.as_of),
        opens=opening_words(risk, facts.as_of),
    )
    # the grower's own dates are no measurement, whatever the rule hopes for
    return ruling if risk.basis == "record" else replace(ruling, basis=Basis.PLANNED)


def before_last_frost(
    rule: dayrules.BeforeLastFrostRule, task: Task, facts: Facts
) -> Iterator[Ruling]:
    """Open in weeks before a frost window closes: the plot's, or the first plot's to close."""
    plot = task.plot or min(
        facts.holding.plots,
        key=lambda plot: release_day(facts.frost[plot.id], facts.as_of) or date.max,
    )
    risk, closed = facts.frost[plot.id], np.ones(facts.season.n_days, dtype=bool)
    for window in risk.windows:
        if window.last < risk.season.last:
            first = window.last - timedelta(days=round(rule.weeks * 7) - 1)
            last = window.last - timedelta(days=round(rule.until_weeks * 7))
            closed &= ~facts.season.mask(DaySpan(first, last))
    ruling = ruling_by(rule, closed, plot=plot.name, closes=release_words(risk, facts.as_of))
    yield ruling if risk.basis == "record" else replace(ruling, basis=Basis.PLANNED)
