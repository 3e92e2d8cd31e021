"""One function for each kind of rule: what it says of every day, for one task."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from scheduler.holding import DryMonths, Hire, RuleHead, dayrules
from scheduler.stand import MONTH_DAYS, SLOTS, Task, is_picked, ripe_slots
from scheduler.terms import Basis, DaySpan, Ruling, day_words, month_day_words
from scheduler.windows.facts import Facts, in_months
from scheduler.windows.frost_rules import (
    after_first_frost,
    after_last_frost,
    before_first_frost,
    before_last_frost,
    harden,
    weeks_after_frost,
)
from scheduler.windows.known_cuts import cut_this_season, days_after, days_until, first_cut_on
from scheduler.windows.ruling import Mask, ruling_by
from scheduler.windows.weather_rules import (
    around_sign,
    in_the_weeks_after,
    outside_dry,
    season_slots,
)

BEST_POINTS = 1.0  # an hour of work on the best days of its season


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
    if isinstance(rule, dayrules.CutSeasonRule) and rule.id not in task.cut_rules:
        return False
    selected = (
        (rule.tasks, (kind.id, kind.visit)),
        (rule.groups, task.groups),
        (rule.exposes, kind.exposes),
        (rule.plants, [row.plant for row in task.stock]),
    )
    return (kind.cuts or not rule.cuts_only) and all(
        not named or not {*named}.isdisjoint(there) for named, there in selected
    )


def _season(
    rule: dayrules.MonthsRule | dayrules.AvoidMonthsRule | dayrules.CutSeasonRule,
    _task: Task,
    facts: Facts,
) -> Iterator[Ruling]:
    """Open, or closed, in spans of months after the local winter solstice."""
    inside = in_months(rule.spans, facts)
    if isinstance(rule, dayrules.CutSeasonRule) and facts.holding.rules.is_on(
        dayrules.CARE_MONTHS
    ):
        inside |= in_months(rule.care, facts)
    ruling = ruling_by(rule, inside if isinstance(rule, dayrules.AvoidMonthsRule) else ~inside)
    if not isinstance(rule, dayrules.AvoidMonthsRule) and rule.best:
        best = in_months(rule.best, facts) & inside
        ruling = replace(ruling, points=np.where(best, BEST_POINTS, 0.0))
    yield ruling


def _daylight(rule: dayrules.DaylightRule, _task: Task, facts: Facts) -> Iterator[Ruling]:
    """Open on days with enough hours of Sun."""
    yield ruling_by(rule, facts.sky.day_length_h < rule.hours, hours=f"{rule.hours:g}")


def _not_past(rule: dayrules.NotPastRule, _task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed before today."""
    closed = np.arange(facts.season.n_days) < facts.season.day_of(facts.as_of)
    yield ruling_by(rule, closed, as_of=day_words(facts.as_of))


def flagged_days(task: Task, facts: Facts) -> Mask:
    """(n_days,) days that a rule would rather not see used, though it leaves the choice."""
    rules, flagged = facts.holding.rules, np.zeros(facts.season.n_days, dtype=bool)
    for rule in rules.rules.values():
        asks = isinstance(rule, dayrules.AvoidMonthsRule | dayrules.DrySpellRule) and not (
            isinstance(rule, dayrules.AvoidMonthsRule) and rule.standing
        )
        state = rules.switches[rule.switch].state if rule.switch else ""
        if asks and state == "ask" and speaks_of(rule, task):
            for ruling in says(rule, task, facts):
                flagged |= ruling.closed
    return flagged


def _waning_moon(rule: dayrules.MoonRule, task: Task, facts: Facts) -> Iterator[Ruling]:
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


def _hire_notice(rule: dayrules.HireNoticeRule, task: Task, facts: Facts) -> Iterator[Ruling]:
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
            yield ruling_by(rule, closed, hired=hire.name, lead_days=hire.lead_days)


def _hire_booked(rule: dayrules.HireBookedRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Points for the days that were booked for the visit; nothing is ever closed."""
    for hire in _hired(task, facts):
        agreed = _on_any(hire.booked_for(task.type.visit, facts.season), facts)
        if agreed.any():
            told = ruling_by(rule, np.zeros(agreed.shape, dtype=bool), hired=hire.name)
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


def _own_dates(rule: dayrules.OwnDatesRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """The grower's own dates for this task."""
    days = np.arange(facts.season.n_days)
    plan = facts.holding.plan.says
    for own in plan.own_date:
        if own.task not in (task.id, task.visit_id):
            continue
        first = facts.season.day_of(own.on or own.not_before or facts.season.first)
        until = own.on if own.task == task.id else None  # a visit begins on that day
        last = facts.season.day_of(until or own.not_after or facts.season.last)
        yield ruling_by(rule, (days < first) | (days > last), why=own.why)


def _closed_days(rule: dayrules.ClosedDaysRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Days that the grower has closed for this kind of work and plot."""
    for closed in facts.holding.plan.says.closed:
        of_type = not closed.types or bool({task.type.id, task.type.visit} & set(closed.types))
        if of_type and (not closed.plots or task.plot_id in closed.plots):
            yield ruling_by(rule, facts.season.mask(closed.span), why=closed.why)


def _after_harvest(rule: dayrules.AfterHarvestRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed from midwinter until the latest crop that the plan does not pick is usually in."""
    plants = facts.holding.rules.plants
    left = (row for row in task.stock if not is_picked(row, facts.holding))
    crops = {plants[row.plant].name: plants[row.plant].picked for row in left}
    picked = {name: crop.last for name, crop in crops.items() if crop is not None}
    if picked:
        latest = max(picked, key=lambda name: picked[name])
        closed = facts.sky.winter_months < picked[latest]
        yield ruling_by(rule, closed, latest=latest.lower())


def _ahead_of_dry(rule: dayrules.AheadOfDryRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed in the dry months and the weeks before them, unless the plot is watered."""
    dry = facts.holding.site.dry
    if dry and not (task.plot and task.plot.watered):
        lead = round(7 * rule.weeks)
        closed = ~outside_dry(dry, 0, facts.season)
        for day in np.flatnonzero(~closed).tolist():
            span = facts.season.date_of(day), facts.season.date_of(day) + timedelta(days=lead)
            closed[day] = any(_meets(one, *span) for one in dry)
        first = " and ".join(month_day_words(span.first) for span in dry)
        told = ruling_by(rule, closed, weeks=f"{rule.weeks:g}", first=first)
        yield replace(told, basis=Basis.PLANNED)


def _meets(dry: DryMonths, first: date, last: date) -> bool:
    """Whether dry months begin within some days."""
    return any(
        first <= date(year, *map(int, dry.first.split("-"))) <= last
        for year in (first.year, last.year)
    )


def _with_rains(rule: dayrules.WithRainsRule, _task: Task, facts: Facts) -> Iterator[Ruling]:
    """Open in the weeks after the dry months; by months where nobody tells when it is dry."""
    dry, weeks = facts.holding.site.dry, f"{rule.weeks:g}"
    if not dry:
        closed = ~in_months(rule.spans, facts)
        yield ruling_by(rule, closed, weeks=weeks, rains="the rains of the season")
        return
    days = round(7 * rule.weeks)
    since = [around_sign(span.last, "from", days, facts.season) for span in dry]
    rains = " or ".join(month_day_words(span.last) for span in dry)
    told = ruling_by(rule, ~np.logical_or.reduce(since), weeks=weeks, rains=f"about {rains}")
    yield replace(told, basis=Basis.PLANNED)


def _ripe(rule: dayrules.RipeRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Open in the months in which all kinds of a picking task are ripe, in its round of them."""
    plants = facts.holding.rules.plants
    months_later = (task.plot.ripe_later_days if task.plot else 0) / MONTH_DAYS
    at = ((facts.sky.winter_months - months_later) % 12 * 10).astype(int) % SLOTS
    closed, told = np.zeros(facts.season.n_days, dtype=bool), dict[str, str]()
    for row in task.stock:
        crop = plants[row.plant].picked
        if crop is not None:
            closed |= ~ripe_slots(crop, task.round, task.rounds)[at]
            told[plants[row.plant].name.lower()] = " to ".join(
                _solstice_words(month + months_later, facts) for month in (crop.first, crop.last)
            )
    which = f"round {task.round} of {task.rounds}, " if task.rounds > 1 else ""
    months = " and ".join(dict.fromkeys(told.values()))
    yield ruling_by(rule, closed, kinds=", ".join(told), round=which, months=months)


def _solstice_words(months: float, facts: Facts) -> str:
    """The day so many months after the winter solstice: ``5 Jun``."""
    solstice = date(2001, 6 if facts.holding.site.place.southern else 12, 21)
    return month_day_words((solstice + timedelta(days=months * MONTH_DAYS)).strftime("%m-%d"))


def _after_first_cut(
    rule: dayrules.AfterFirstCutRule, task: Task, facts: Facts
) -> Iterator[Ruling]:
    """Open so long after the known first cut; silent where the first is still to come."""
    first = first_cut_on(task, rule, facts)
    if first is not None:
        closed = ~days_after(first, rule, facts.season)
        yield ruling_by(rule, closed, weeks=rule.weeks, first=day_words(first))


def _cut_once(rule: dayrules.CutOnceRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed for so long after a known cut of all the stock."""
    cut = cut_this_season(task.stock, facts)
    if cut is not None and (closed := days_until(cut, rule.weeks, facts.season)).any():
        yield ruling_by(rule, closed, first=day_words(cut))


def _sign(rule: dayrules.SignRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed around what the plants show, by the grower's own dates."""
    for told in facts.holding.site.sign:
        groups = task.groups & set(told.groups) & set(rule.groups or told.groups)
        if told.sign == rule.sign and groups:
            closed = around_sign(told.on, rule.closes, rule.days, facts.season)
            names = ", ".join(sorted(groups)).replace("-", " ")
            yield ruling_by(rule, closed, groups=names, on=month_day_words(told.on))


def heat_stop_c(task: Task, facts: Facts) -> float | None:
    """The lowest heat stop of the plants a task cuts; None where none has one."""
    rules = facts.holding.rules
    stops = (rule.heat_stop_c for row in task.stock for rule in rules.cut_rules_of(row.plant))
    return min((stop for stop in stops if stop is not None), default=None)


def _heat_stop(rule: dayrules.HeatStopRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed where the record's maxima often pass the heat stop of the plants."""
    stop_c = heat_stop_c(task, facts)
    shares = None if stop_c is None else facts.weather.hotter(stop_c, rule.years)
    if shares is not None:
        closed = shares[season_slots(facts.season)] > rule.chance
        yield ruling_by(rule, closed, stop=f"{stop_c:g}", chance=f"{rule.chance:.0%}")


def _cold_stop(rule: dayrules.ColdStopRule, task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed where nights at the plot are often too cold for the wood."""
    offset_c = facts.frost[task.plot.id].offset_c if task.plot else 0.0
    shares = facts.weather.colder(rule.below_c - offset_c, rule.years)
    if shares is not None:
        closed = shares[season_slots(facts.season)] > rule.chance
        yield ruling_by(rule, closed, below=f"{rule.below_c:g}", chance=f"{rule.chance:.0%}")


def _dry_spell(rule: dayrules.DrySpellRule, _task: Task, facts: Facts) -> Iterator[Ruling]:
    """Closed where the weeks ahead are not dry, by the grower's word or the record's rain."""
    weeks, dry = f"{rule.weeks:g}", facts.holding.site.dry
    if dry:
        closed = outside_dry(dry, rule.weeks, facts.season)
        why = "your dry months are " + " and ".join(
            f"{month_day_words(span.first)} to {month_day_words(span.last)}" for span in dry
        )
        yield replace(ruling_by(rule, closed, weeks=weeks, why=why), basis=Basis.PLANNED)
        return
    shares = facts.weather.wet(rule.wet_mm, rule.years)
    if shares is not None:
        ahead = in_the_weeks_after(shares, rule.weeks)
        closed = ahead[season_slots(facts.season)] > rule.wet_share
        why = (
            f"by the record over {rule.wet_share:.0%} of such days have {rule.wet_mm:g} mm or more"
        )
        yield ruling_by(rule, closed, weeks=weeks, why=why)


_SAYS: Mapping[type[RuleHead], Callable[[Any, Task, Facts], Iterator[Ruling]]] = {
    dayrules.MonthsRule: _season,
    dayrules.RipeRule: _ripe,
    dayrules.AheadOfDryRule: _ahead_of_dry,
    dayrules.WithRainsRule: _with_rains,
    dayrules.AfterFirstFrostRule: after_first_frost,
    dayrules.AvoidMonthsRule: _season,
    dayrules.CutSeasonRule: _season,
    dayrules.BeforeLastFrostRule: before_last_frost,
    dayrules.DaylightRule: _daylight,
    dayrules.NotPastRule: _not_past,
    dayrules.MoonRule: _waning_moon,
    dayrules.HireNoticeRule: _hire_notice,
    dayrules.HireBookedRule: _hire_booked,
    dayrules.OwnDatesRule: _own_dates,
    dayrules.ClosedDaysRule: _closed_days,
    dayrules.AfterHarvestRule: _after_harvest,
    dayrules.AfterFirstCutRule: _after_first_cut,
    dayrules.CutOnceRule: _cut_once,
    dayrules.AfterLastFrostRule: after_last_frost,
    dayrules.HardenRule: harden,
    dayrules.BeforeFirstFrostRule: before_first_frost,
    dayrules.WeeksAfterFrostRule: weeks_after_frost,
    dayrules.SignRule: _sign,
    dayrules.HeatStopRule: _heat_stop,
    dayrules.ColdStopRule: _cold_stop,
    dayrules.DrySpellRule: _dry_spell,
}
