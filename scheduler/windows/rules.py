"""One function for each kind of rule: what it says of every day, for one task."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduler.frost import FrostRisk
from scheduler.holding import Hire, Plot
from scheduler.holding.dayrules import (
    CARE_MONTHS,
    AfterFirstCutRule,
    AfterHarvestRule,
    AfterLastFrostRule,
    AvoidMonthsRule,
    BeforeFirstFrostRule,
    BeforeLastFrostRule,
    ClosedDaysRule,
    ColdStopRule,
    CutOnceRule,
    CutSeasonRule,
    DaylightRule,
    DrySpellRule,
    HardenRule,
    HeatStopRule,
    HireBookedRule,
    HireNoticeRule,
    MonthsRule,
    MoonRule,
    NotPastRule,
    OwnDatesRule,
    RuleHead,
    SignRule,
    WeeksAfterFrostRule,
)
from scheduler.stand import Task
from scheduler.terms import Basis, DaySpan, Ruling, day_words, month_day_words
from scheduler.windows.facts import Facts, in_months
from scheduler.windows.frost_words import opening_words, release_day, release_words, until_words
from scheduler.windows.known_cuts import (
    cut_this_season,
    days_after,
    days_until,
    first_cut_on,
)
from scheduler.windows.weather import (
    around_sign,
    in_the_weeks_after,
    long_closed,
    outside_dry,
    season_slots,
)

Mask = NDArray[np.bool_]


def rulings_on(task: Task, facts: Facts) -> tuple[Ruling, ...]:
    """What every rule of the book that speaks of a task says of every day."""
    return tuple(
        ruling
        for rule in facts.holding.rules.rules.values()
        if speaks_of(rule, task) and facts.holding.rules.is_on(rule.switch)
        for ruling in says(rule, task, facts)
    )


def says(rule: RuleHead, task: Task, facts: Facts) -> Iterator[Ruling]:
    """What one rule says of every day for a task; nothing where it knows nothing of it."""
    return _SAYS[type(rule)](rule, task, facts)


def speaks_of(rule: RuleHead, task: Task) -> bool:
    """Whether a rule is about a task; whether its switch is on is asked elsewhere."""
    kind = task.type
    return (
        (not rule.tasks or kind.id in rule.tasks or kind.visit in rule.tasks)
        and (not rule.groups or not task.groups.isdisjoint(rule.groups))
        and (not rule.exposes or not set(kind.exposes).isdisjoint(rule.exposes))
        and (kind.cuts or not rule.cuts_only)
        and (not rule.plants or any(row.plant in rule.plants for row in task.stock))
    )


def _ruling(rule: RuleHead, closed: Mask, **filled_in: Any) -> Ruling:  # noqa: ANN401  # any value can be printed
    return Ruling(
        rule_id=rule.id,
        basis=rule.basis,
        words=rule.words.format(**filled_in),
        source=rule.source,
        closed=closed,
        points=np.zeros(closed.shape),
    )


def _season(
    rule: MonthsRule | AvoidMonthsRule | CutSeasonRule, _task: Task, facts: Facts
) -> Iterator[Ruling]:
    """Open, or closed, in spans of months after the local winter solstice."""
    inside = in_months(rule.spans, facts)
    if isinstance(rule, CutSeasonRule) and facts.holding.rules.is_on(CARE_MONTHS):
        inside |= in_months(rule.care, facts)
    yield _ruling(rule, inside if isinstance(rule, AvoidMonthsRule) else ~inside)


def _daylight(rule: DaylightRule, _task: Task, facts: Facts) -> Iterator[Ruling]:
    """Open on days with enough hours of Sun."""
    yield _ruling(rule, facts.sky.day_length_h < rule.hours, hours=f"{rule.hours:g}")


def _not_past(rule: NotPastRule, _task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed before today."""
    closed = np.arange(facts.season.n_days) < facts.season.day_of(facts.as_of)
    yield _ruling(rule, closed, as_of=day_words(facts.as_of))


def flagged_days(task: Task, facts: Facts) -> Mask:
    """(n_days,) days that a rule would rather not see used, though it leaves the choice."""
    rules, flagged = facts.holding.rules, np.zeros(facts.season.n_days, dtype=bool)
    for rule in rules.rules.values():
        asks = isinstance(rule, AvoidMonthsRule | DrySpellRule) and not (
            isinstance(rule, AvoidMonthsRule) and rule.standing
        )
        state = rules.switches[rule.switch].state if rule.switch else ""
        if asks and state == "ask" and speaks_of(rule, task):
            for ruling in says(rule, task, facts):
                flagged |= ruling.closed
    return flagged


def _waning_moon(rule: MoonRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Points for waning days where the site follows the practice; nothing is ever closed.

    Days that another rule would rather not see used give none, so that no work moves there.
    """
    if facts.holding.site.moon.practice:
        flagged = flagged_days(task, facts)
        yield Ruling(
            rule_id=rule.id,
            basis=Basis.PRACTICE,
            words=rule.words,
            source=rule.source,
            closed=np.zeros(facts.season.n_days, dtype=bool),
            points=np.where(facts.sky.waxing | flagged, 0.0, rule.points),
        )


def _hire_notice(rule: HireNoticeRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed until hired kit and people can be there, counted from today, unless booked.

    Where the log says that a visit is booked but crew.toml does not say for which days, no
    notice is needed for any: the days that were published are among them.
    """
    plan_id, log = facts.holding.plan.id, facts.holding.log
    logged = {entry.task for entry in log if entry.plan == plan_id and entry.percent == 100}
    for hire in _hired(task, facts):
        visit = task.type.visit
        if hire.booking_of(visit) in logged and not hire.booked_for(visit, facts.season):
            continue
        if hire.lead_days:
            first = facts.season.day_of(facts.as_of + timedelta(days=hire.lead_days))
            agreed = _on_any((one.span for one in hire.booked), facts)
            closed = (np.arange(facts.season.n_days) < first) & ~agreed
            yield _ruling(rule, closed, hired=hire.name, lead_days=hire.lead_days)


def _hire_booked(rule: HireBookedRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Points for the days that were booked for the visit; nothing is ever closed."""
    for hire in _hired(task, facts):
        agreed = _on_any(hire.booked_for(task.type.visit, facts.season), facts)
        if agreed.any():
            told = _ruling(rule, np.zeros(agreed.shape, dtype=bool), hired=hire.name)
            yield replace(told, points=np.where(agreed, rule.points, 0.0))


def _hired(task: Task, facts: Facts) -> Iterator[Hire]:
    """What of the crew's hire a task needs."""
    return (hire for hire in facts.holding.crew.hire if hire.id in task.hired)


def _on_any(spans: Iterable[DaySpan], facts: Facts) -> Mask:
    """True on the days of the season that lie in any of the spans; shape (n_days,)."""
    answer = np.zeros(facts.season.n_days, dtype=bool)
    for span in spans:
        answer |= facts.season.mask(span)
    return answer


def _own_dates(rule: OwnDatesRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """The grower's own dates for this task."""
    days = np.arange(facts.season.n_days)
    plan = facts.holding.plan.says
    for own in plan.own_date:
        if own.task not in (task.id, task.visit_id):
            continue
        first = facts.season.day_of(own.on or own.not_before or facts.season.first)
        until = own.on if own.task == task.id else None  # a visit begins on that day
        last = facts.season.day_of(until or own.not_after or facts.season.last)
        yield _ruling(rule, (days < first) | (days > last), why=own.why)


def _closed_days(rule: ClosedDaysRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Days that the grower has closed for this kind of work and plot."""
    for closed in facts.holding.plan.says.closed:
        of_type = not closed.types or bool({task.type.id, task.type.visit} & set(closed.types))
        if of_type and (not closed.plots or task.plot_id in closed.plots):
            yield _ruling(rule, facts.season.mask(closed.span), why=closed.why)


def _after_harvest(rule: AfterHarvestRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed from midwinter until the latest crop of the stock is usually picked."""
    plants = facts.holding.rules.plants
    crops = {plants[row.plant].name: plants[row.plant].picked for row in task.stock}
    picked = {name: crop.last for name, crop in crops.items() if crop is not None}
    if picked:
        latest = max(picked, key=lambda name: picked[name])
        closed = facts.sky.winter_months < picked[latest]
        yield _ruling(rule, closed, latest=latest.lower())


def _after_first_cut(rule: AfterFirstCutRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Open so long after the known first cut; silent where the first is still to come."""
    first = first_cut_on(task, rule, facts)
    if first is not None:
        closed = ~days_after(first, rule, facts.season)
        yield _ruling(rule, closed, weeks=rule.weeks, first=day_words(first))


def _cut_once(rule: CutOnceRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed for so long after a known cut of all the stock."""
    cut = cut_this_season(task.stock, facts)
    if cut is not None and (closed := days_until(cut, rule.weeks, facts.season)).any():
        yield _ruling(rule, closed, first=day_words(cut))


def _after_last_frost(rule: AfterLastFrostRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed while the plot's frost window is open."""
    if task.plot is not None:
        risk = facts.frost[task.plot.id]
        yield _frost_ruling(rule, risk.open[: facts.season.n_days].copy(), task.plot, facts)


def _weeks_after_frost(rule: WeeksAfterFrostRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed once the frost window has been closed for those weeks."""
    if task.plot is not None and (risk := facts.frost[task.plot.id]).ever_open:
        closed = long_closed(risk, facts.season, round(7 * rule.weeks))
        yield _frost_ruling(rule, closed, task.plot, facts, rule.weeks)


def _harden(rule: HardenRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed while the weeks that new growth stays tender hold too likely a frost."""
    if task.plot is not None:
        risk = facts.frost[task.plot.id]
        # the day of the cut and all of the weeks; while the window is open another rule speaks
        growth = facts.holding.frost.data.growth
        within = risk.open_within(growth.tender_days(rule.weeks)) & ~risk.open
        closed = within[: facts.season.n_days].copy()
        yield _frost_ruling(rule, closed, task.plot, facts, rule.weeks or growth.tender_weeks)


def _before_first_frost(rule: BeforeFirstFrostRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Open in those weeks only, or late where the rule allows it and they have begun."""
    if task.plot is not None:
        closed = ~_weeks_before_frost(rule, facts.frost[task.plot.id], facts)
        yield _frost_ruling(rule, closed, task.plot, facts, rule.weeks)


def _weeks_before_frost(rule: BeforeFirstFrostRule, risk: FrostRisk, facts: Facts) -> Mask:
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
    ruling = _ruling(
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


def _before_last_frost(rule: BeforeLastFrostRule, task: Task, facts: Facts) -> Iterator[Ruling]:
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
    ruling = _ruling(rule, closed, plot=plot.name, closes=release_words(risk, facts.as_of))
    yield ruling if risk.basis == "record" else replace(ruling, basis=Basis.PLANNED)


def _sign(rule: SignRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed around what the plants show, by the grower's own dates."""
    for told in facts.holding.site.sign:
        groups = task.groups & set(told.groups) & set(rule.groups or told.groups)
        if told.sign == rule.sign and groups:
            closed = around_sign(told.on, rule.closes, rule.days, facts.season)
            names = ", ".join(sorted(groups)).replace("-", " ")
            yield _ruling(rule, closed, groups=names, on=month_day_words(told.on))


def heat_stop_c(task: Task, facts: Facts) -> float | None:
    """The lowest heat stop of the plants a task cuts; None where none has one."""
    rules = facts.holding.rules
    stops = (rule.heat_stop_c for row in task.stock for rule in rules.cut_rules_of(row.plant))
    return min((stop for stop in stops if stop is not None), default=None)


def _heat_stop(rule: HeatStopRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed where the record's maxima often pass the heat stop of the plants."""
    stop_c = heat_stop_c(task, facts)
    shares = None if stop_c is None else facts.weather.hotter(stop_c, rule.years)
    if shares is not None:
        closed = shares[season_slots(facts.season)] > rule.chance
        yield _ruling(rule, closed, stop=f"{stop_c:g}", chance=f"{rule.chance:.0%}")


def _cold_stop(rule: ColdStopRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed where nights at the plot are often too cold for the wood."""
    offset_c = facts.frost[task.plot.id].offset_c if task.plot else 0.0
    shares = facts.weather.colder(rule.below_c - offset_c, rule.years)
    if shares is not None:
        closed = shares[season_slots(facts.season)] > rule.chance
        yield _ruling(rule, closed, below=f"{rule.below_c:g}", chance=f"{rule.chance:.0%}")


def _dry_spell(rule: DrySpellRule, _task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed where the weeks ahead are not dry, by the grower's word or the record's rain."""
    weeks, dry = f"{rule.weeks:g}", facts.holding.site.dry
    if dry:
        closed = outside_dry(dry, rule.weeks, facts.season)
        why = "your dry months are " + " and ".join(
            f"{month_day_words(span.first)} to {month_day_words(span.last)}" for span in dry
        )
        yield replace(_ruling(rule, closed, weeks=weeks, why=why), basis=Basis.PLANNED)
        return
    shares = facts.weather.wet(rule.wet_mm, rule.years)
    if shares is not None:
        ahead = in_the_weeks_after(shares, rule.weeks)
        closed = ahead[season_slots(facts.season)] > rule.wet_share
        why = (
            f"by the record over {rule.wet_share:.0%} of such days have {rule.wet_mm:g} mm or more"
        )
        yield _ruling(rule, closed, weeks=weeks, why=why)


_SAYS: Mapping[type[RuleHead], Callable[[Any, Task, Facts], Iterator[Ruling]]] = {
    MonthsRule: _season,
    AvoidMonthsRule: _season,
    CutSeasonRule: _season,
    BeforeLastFrostRule: _before_last_frost,
    DaylightRule: _daylight,
    NotPastRule: _not_past,
    MoonRule: _waning_moon,
    HireNoticeRule: _hire_notice,
    HireBookedRule: _hire_booked,
    OwnDatesRule: _own_dates,
    ClosedDaysRule: _closed_days,
    AfterHarvestRule: _after_harvest,
    AfterFirstCutRule: _after_first_cut,
    CutOnceRule: _cut_once,
    AfterLastFrostRule: _after_last_frost,
    HardenRule: _harden,
    BeforeFirstFrostRule: _before_first_frost,
    WeeksAfterFrostRule: _weeks_after_frost,
    SignRule: _sign,
    HeatStopRule: _heat_stop,
    ColdStopRule: _cold_stop,
    DrySpellRule: _dry_spell,
}
