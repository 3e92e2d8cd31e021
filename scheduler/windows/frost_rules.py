"""Rules that go by the frost window of a plot, and the words for when it closes and opens.

Decided: new growth waits for a low chance of a damaging night in its tender weeks. Refused: weeks
counted back from the day the window opens. Held by
tests/frost/test_growth.py::test_growth_may_meet_a_frost_where_the_day_of_the_cut_is_closed.
"""

from datetime import date, timedelta

import numpy as np

from scheduler.frost import FrostRisk
from scheduler.holding import Plot, dayrules
from scheduler.stand import Task
from scheduler.terms import Basis, DaySpan, Ruling, day_words
from scheduler.windows.facts import Facts, Mask, in_spans
from scheduler.windows.task_windows import Rulings, ruling_by, says_for


@says_for("after-first-frost")
def _after_first_frost(rule: dayrules.AfterFirstFrostRule, task: Task, facts: Facts) -> Rulings:
    if task.plot is not None:
        risk = facts.frost[task.plot.id]
        weeks_after = (
            DaySpan(window.first + _weeks(rule.from_weeks), window.first + _weeks(rule.weeks))
            for window in risk.windows
            if window.first > risk.season.first
        )
        closed = ~in_spans(weeks_after, facts.season)
        yield _frost_ruling(rule, closed, task.plot, facts, rule.weeks)


@says_for("after-last-frost")
def _after_last_frost(rule: dayrules.RuleHead, task: Task, facts: Facts) -> Rulings:
    if task.plot is not None:
        is_open = facts.frost[task.plot.id].open[: facts.season.n_days]
        yield _frost_ruling(rule, is_open.copy(), task.plot, facts)


@says_for("weeks-after-last-frost")
def _weeks_after_frost(rule: dayrules.WeeksRule, task: Task, facts: Facts) -> Rulings:
    if task.plot is not None and (risk := facts.frost[task.plot.id]).ever_open:
        n_days = _weeks(rule.weeks).days
        before = (facts.season.date_of(day) for day in range(-n_days, 0))
        is_open = [*map(risk.is_open, before), *risk.open[: facts.season.n_days]]
        runs = np.lib.stride_tricks.sliding_window_view(np.array(is_open, dtype=bool), n_days + 1)
        closed = np.asarray(~runs.any(axis=1))
        yield _frost_ruling(rule, closed, task.plot, facts, rule.weeks)


@says_for("harden-before-frost")
def _harden(rule: dayrules.HardenRule, task: Task, facts: Facts) -> Rulings:
    if task.plot is not None:
        risk = facts.frost[task.plot.id]
        # the day of the cut and all of the weeks; while the window is open another rule speaks
        growth = facts.holding.frost.data.growth
        within = risk.open_within(growth.tender_days(rule.weeks)) & ~risk.open
        closed = within[: facts.season.n_days].copy()
        yield _frost_ruling(rule, closed, task.plot, facts, rule.weeks or growth.tender_weeks)


@says_for("before-first-frost")
def _before_first_frost(rule: dayrules.BeforeFirstFrostRule, task: Task, facts: Facts) -> Rulings:
    """Open in the weeks before each frost window that is seen to open.

    Late where the rule allows it and those weeks have begun.
    """
    if task.plot is not None:
        risk, spans = facts.frost[task.plot.id], []
        for window in risk.windows:
            if window.first > risk.season.first:
                first = window.first - _weeks(rule.weeks)
                # ahead of those weeks nobody plans to be late
                # and covers that would soon come off again are not worth putting on
                latest = window.last - _weeks(rule.weeks)
                late = rule.late and first <= facts.as_of <= latest
                spans.append(DaySpan(first, latest if late else window.first - timedelta(days=1)))
        closed = ~in_spans(spans, facts.season)
        yield _frost_ruling(rule, closed, task.plot, facts, rule.weeks)


@says_for("before-last-frost")
def _before_last_frost(rule: dayrules.BeforeLastFrostRule, task: Task, facts: Facts) -> Rulings:
    plot = task.plot or min(
        facts.holding.plots,
        key=lambda plot: release_day(facts.frost[plot.id], facts.as_of) or date.max,
    )
    risk = facts.frost[plot.id]
    weeks_before = (
        DaySpan(
            window.last - _weeks(rule.weeks) + timedelta(days=1),
            window.last - _weeks(rule.until_weeks),
        )
        for window in risk.windows
        if window.last < risk.season.last
    )
    yield _frost_ruling(rule, ~in_spans(weeks_before, facts.season), plot, facts, rule.weeks)


def _weeks(weeks: float) -> timedelta:
    return timedelta(days=round(7 * weeks))


def _frost_ruling(
    rule: dayrules.RuleHead, closed: Mask, plot: Plot, facts: Facts, weeks: float = 0.0
) -> Ruling:
    risk = facts.frost[plot.id]
    unknown = "there is no station record and no own date" if risk.basis == "unknown" else ""
    return ruling_by(
        rule,
        closed,
        # the grower's own dates are no measurement, whatever the rule hopes for
        basis=None if risk.basis == "record" else Basis.PLANNED,
        plot=plot.name,
        weeks=f"{weeks:g}",
        until=_until_words(risk, plot),
        closes=unknown or _release_words(risk, facts.as_of),
        opens=unknown or _opening_words(risk, facts.as_of),
    )


def _until_words(risk: FrostRisk, plot: Plot) -> str:
    """What has to come first, by what is known of frost."""
    if risk.basis == "record":
        return f"the chance of another frost in {plot.name} is at most {100 * risk.tolerance:g} %"
    if risk.basis == "own dates":
        doubt = f"{risk.doubt_days} days after " if risk.doubt_days else ""
        return f"{doubt}your own date of the last frost in {plot.name} is past"
    return f"frost dates are known for {plot.name}"


def _release_words(risk: FrostRisk, as_of: date) -> str:
    """When the window closes next, in words."""
    release = release_day(risk, as_of)
    if release is None:
        return "it never closes here" if risk.ever_open else "the window never opens here"
    return f"from {day_words(release)} on"


def _opening_words(risk: FrostRisk, as_of: date) -> str:
    """When the window opens next, after the spell that may be open now, in words."""
    closes = risk.closes_after(as_of)
    opens = risk.opens_on(closes + timedelta(days=1) if closes else as_of)
    if opens is None or not risk.ever_closed:
        return "no frost in sight"
    return f"likely from {day_words(opens)} on"


def release_day(risk: FrostRisk, as_of: date) -> date | None:
    """First day after the frost window that is open now or opens next; None if there is none."""
    opens = risk.opens_on(as_of)
    closes = None if opens is None else risk.closes_after(opens)
    return None if closes is None else closes + timedelta(days=1)
