"""One function for each kind of rule: what it says of every day, for one task."""

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from scheduler.holding import Hire, dayrules
from scheduler.stand import MONTH_DAYS, Task, is_picked
from scheduler.terms import Basis, DaySpan, Ruling, day_words, month_day_words
from scheduler.windows.facts import Facts, around_sign, in_months, in_spans, outside_dry
from scheduler.windows.task_windows import SAYS, Rulings, ruling_by, says_for, speaks_of

BEST_POINTS = 1.0  # an hour of work on the best days of its season
YEAR_TENTHS = 120  # of a month, in the year of the Sun


@says_for("months", "cut-season")
def _season(
    rule: dayrules.MonthsRule | dayrules.CutSeasonRule, _task: Task, facts: Facts
) -> Rulings:
    inside, rules = in_months(rule.spans, facts), facts.holding.rules
    if isinstance(rule, dayrules.CutSeasonRule) and rules.is_on(dayrules.CARE_MONTHS):
        inside |= in_months(rule.care, facts)
    best = in_months(rule.best, facts) & inside
    yield ruling_by(rule, ~inside, points=np.where(best, BEST_POINTS, 0.0))


@says_for("avoid-months")
def _avoid(rule: dayrules.AvoidMonthsRule, _task: Task, facts: Facts) -> Rulings:
    yield ruling_by(rule, in_months(rule.spans, facts))


@says_for("daylight")
def _daylight(rule: dayrules.DaylightRule, _task: Task, facts: Facts) -> Rulings:
    yield ruling_by(rule, facts.sky.sun.hours_up < rule.hours, hours=f"{rule.hours:g}")


@says_for("not-past")
def _not_past(rule: dayrules.RuleHead, _task: Task, facts: Facts) -> Rulings:
    closed = np.arange(facts.season.n_days) < facts.season.day_of(facts.as_of)
    yield ruling_by(rule, closed, as_of=day_words(facts.as_of))


def asked_rulings(
    task: Task, facts: Facts
) -> Iterator[tuple[dayrules.AvoidMonthsRule | dayrules.DrySpellRule, Ruling]]:
    """What the rules say that would rather not see days used, but leave the choice."""
    rules = facts.holding.rules
    for rule in rules.rules.values():
        if isinstance(rule, dayrules.AvoidMonthsRule | dayrules.DrySpellRule):
            asks = rule.switch and rules.switches[rule.switch].state == "ask"
            if asks and speaks_of(rule, task):
                yield from ((rule, ruling) for ruling in SAYS[rule.kind](rule, task, facts))


@says_for("waning-moon")
def _waning_moon(rule: dayrules.PointsRule, task: Task, facts: Facts) -> Rulings:
    """Points for waning days where the site follows the practice; nothing is ever closed.

    Days that another rule would rather not see used give none, so that no work moves there.
    """
    if facts.holding.site.moon.practice:
        worthless = facts.sky.waxing.copy()
        for asking, ruling in asked_rulings(task, facts):
            if not (isinstance(asking, dayrules.AvoidMonthsRule) and asking.standing):
                worthless |= ruling.closed
        closed = np.zeros(facts.season.n_days, dtype=bool)
        points = np.where(worthless, 0.0, rule.points)
        yield ruling_by(rule, closed, points, Basis.PRACTICE)


@says_for("hire-notice")
def _hire_notice(rule: dayrules.RuleHead, task: Task, facts: Facts) -> Rulings:
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
            agreed = in_spans((booked.span for booked in hire.booked), facts.season)
            closed = (np.arange(facts.season.n_days) < first) & ~agreed
            yield ruling_by(rule, closed, hired=hire.name, lead_days=hire.lead_days)


@says_for("hire-booked")
def _hire_booked(rule: dayrules.PointsRule, task: Task, facts: Facts) -> Rulings:
    """Points for the days that were booked for the visit; nothing is ever closed."""
    for hire in _hired(task, facts):
        agreed = in_spans(hire.booked_for(task.type.visit, facts.season), facts.season)
        if agreed.any():
            points = np.where(agreed, rule.points, 0.0)
            yield ruling_by(rule, np.zeros(agreed.shape, dtype=bool), points, hired=hire.name)


def _hired(task: Task, facts: Facts) -> Iterator[Hire]:
    """What of the crew's hire a task needs."""
    return (hire for hire in facts.holding.crew.hire if hire.id in task.hired)


@says_for("own-dates")
def _own_dates(rule: dayrules.RuleHead, task: Task, facts: Facts) -> Rulings:
    days = np.arange(facts.season.n_days)
    for own in facts.holding.plan.says.own_date:
        if own.task not in (task.id, task.visit_id):
            continue
        first = facts.season.day_of(own.on or own.not_before or facts.season.first)
        until = own.on if own.task == task.id else None  # a visit begins on that day
        last = facts.season.day_of(until or own.not_after or facts.season.last)
        yield ruling_by(rule, (days < first) | (days > last), why=own.why)


@says_for("closed-days")
def _closed_days(rule: dayrules.RuleHead, task: Task, facts: Facts) -> Rulings:
    for closed in facts.holding.plan.says.closed:
        of_type = not closed.types or bool({task.type.id, task.type.visit} & set(closed.types))
        if of_type and (not closed.plots or task.plot_id in closed.plots):
            yield ruling_by(rule, facts.season.mask(closed.span), why=closed.why)


@says_for("after-harvest")
def _after_harvest(rule: dayrules.RuleHead, task: Task, facts: Facts) -> Rulings:
    """Closed from midwinter until the latest crop that the plan does not pick is usually in."""
    plants = facts.holding.rules.plants
    crops = [
        (crop.last, plants[row.plant].name)
        for row in task.stock
        if (crop := plants[row.plant].picked) is not None and not is_picked(row, facts.holding)
    ]
    if crops:
        last, name = max(crops, key=lambda crop: crop[0])
        yield ruling_by(rule, facts.sky.winter_months < last, latest=name.lower())


@says_for("ahead-of-dry")
def _ahead_of_dry(rule: dayrules.WeeksRule, task: Task, facts: Facts) -> Rulings:
    dry, season = facts.holding.site.dry, facts.season
    if dry and not (task.plot and task.plot.watered):
        lead = timedelta(days=round(7 * rule.weeks))
        begins = (
            date(year, *map(int, span.first.split("-")))
            for span in dry
            for year in range(season.first.year, season.last.year + 2)
        )
        closed = ~outside_dry(dry, 0, season)
        closed |= in_spans((DaySpan(day - lead, day) for day in begins), season)
        first = " and ".join(month_day_words(span.first) for span in dry)
        yield ruling_by(rule, closed, basis=Basis.PLANNED, weeks=f"{rule.weeks:g}", first=first)


@says_for("with-rains")
def _with_rains(rule: dayrules.WithRainsRule, _task: Task, facts: Facts) -> Rulings:
    """Open in the weeks after the dry months; by months where nobody tells when it is dry."""
    dry, basis, rains = facts.holding.site.dry, None, "the rains of the season"
    inside = in_months(rule.spans, facts)
    if dry:
        days = round(7 * rule.weeks)
        since = [around_sign(span.last, "from", days, facts.season) for span in dry]
        inside, basis = np.logical_or.reduce(since), Basis.PLANNED
        rains = f"about {' or '.join(month_day_words(span.last) for span in dry)}"
    yield ruling_by(rule, ~inside, basis=basis, weeks=f"{rule.weeks:g}", rains=rains)


@says_for("ripe")
def _ripe(rule: dayrules.RuleHead, task: Task, facts: Facts) -> Rulings:
    plants = facts.holding.rules.plants
    months_later = (task.plot.ripe_later_days if task.plot else 0) / MONTH_DAYS
    tenths = ((facts.sky.winter_months - months_later) % 12 * 10).astype(int)
    closed, months = np.zeros(facts.season.n_days, dtype=bool), dict[str, str]()
    for row in task.stock:
        crop = plants[row.plant].picked
        if crop is not None:
            first, last = round(10 * crop.first), round(10 * crop.last)
            span = (last - first) % YEAR_TENTHS or YEAR_TENTHS
            begin = first + span * (task.round - 1) // task.rounds
            end = max(first + span * task.round // task.rounds, begin + 1)
            closed |= (tenths - begin) % YEAR_TENTHS >= end - begin
            months[plants[row.plant].name.lower()] = " to ".join(
                _solstice_words(month + months_later, facts) for month in (crop.first, crop.last)
            )
    yield ruling_by(
        rule,
        closed,
        kinds=", ".join(months),
        round=f"round {task.round} of {task.rounds}, " if task.rounds > 1 else "",
        months=" and ".join(dict.fromkeys(months.values())),
    )


def _solstice_words(months: float, facts: Facts) -> str:
    """The day so many months after the winter solstice: ``5 Jun``."""
    solstice = date(2001, 6 if facts.holding.site.place.southern else 12, 21)
    return month_day_words((solstice + timedelta(days=months * MONTH_DAYS)).strftime("%m-%d"))


@says_for("sign")
def _sign(rule: dayrules.SignRule, task: Task, facts: Facts) -> Rulings:
    for sign in facts.holding.site.phenology:
        groups = task.groups & set(sign.groups) & set(rule.groups or sign.groups)
        if sign.sign == rule.sign and groups:
            closed = around_sign(sign.on, rule.closes, rule.days, facts.season)
            names = ", ".join(sorted(groups)).replace("-", " ")
            yield ruling_by(rule, closed, groups=names, on=month_day_words(sign.on))


def heat_stop_c(task: Task, facts: Facts) -> float | None:
    """The lowest heat stop of the plants a task cuts; None where none has one."""
    rules = facts.holding.rules
    stops = (rule.heat_stop_c for row in task.stock for rule in rules.cut_rules_of(row.plant))
    return min((stop for stop in stops if stop is not None), default=None)


@says_for("heat-stop")
def _heat_stop(rule: dayrules.HeatStopRule, task: Task, facts: Facts) -> Rulings:
    stop_c = heat_stop_c(task, facts)
    shares = None if stop_c is None else facts.shares("tmax_c", stop_c, rule.years)
    if shares is not None:
        stop, chance = f"{stop_c:g}", f"{rule.chance:.0%}"
        yield ruling_by(rule, shares > rule.chance, stop=stop, chance=chance)


@says_for("cold-stop")
def _cold_stop(rule: dayrules.ColdStopRule, task: Task, facts: Facts) -> Rulings:
    offset_c = facts.frost[task.plot.id].offset_c if task.plot else 0.0
    shares = facts.shares("tmin_c", rule.below_c - offset_c, rule.years)
    if shares is not None:
        below, chance = f"{rule.below_c:g}", f"{rule.chance:.0%}"
        yield ruling_by(rule, shares > rule.chance, below=below, chance=chance)


@says_for("dry-spell")
def _dry_spell(rule: dayrules.DrySpellRule, _task: Task, facts: Facts) -> Rulings:
    """Closed where the weeks ahead are not dry, by the grower's word or the record's rain."""
    weeks, dry = f"{rule.weeks:g}", facts.holding.site.dry
    if dry:
        closed = outside_dry(dry, rule.weeks, facts.season)
        why = "your dry months are " + " and ".join(
            f"{month_day_words(span.first)} to {month_day_words(span.last)}" for span in dry
        )
        yield ruling_by(rule, closed, basis=Basis.PLANNED, weeks=weeks, why=why)
        return
    shares = facts.shares("rain_mm", rule.wet_mm, rule.years, rule.weeks)
    if shares is not None:
        why = (
            f"by the record over {rule.wet_share:.0%} of such days have {rule.wet_mm:g} mm or more"
        )
        yield ruling_by(rule, shares > rule.wet_share, weeks=weeks, why=why)
