"""Which cautions of a piece of work hold on a day: they go by the day, not by the window."""

from scheduler.holding import Caution, Holding, dayrules
from scheduler.stand import Task, cautions_of
from scheduler.windows.facts import Facts, in_months
from scheduler.windows.weather_rules import season_slots

OFTEN = 0.1  # share of the record's days from which heat or cold is worth a word
LEAST_YEARS = 5.0
WARM_MONTHS = (4.0, 9.5)  # after the winter solstice: late April to early October in the north


def cautions_on(task: Task, day: int, facts: Facts) -> tuple[Caution, ...]:
    """The cautions of a task that hold on a day of the season.

    Nests and fire go by the months of their rules, heat and cold by the record of such days;
    without a record of them, cold is told on every day, heat in the warm half of the year.

    Args:
        task: the work.
        day: day number.
        facts: what the rules look at.
    """
    told = cautions_of(task.type, task.stock, task.plot, facts.holding.rules)
    return tuple(caution for caution in told if _holds(caution, task, day, facts))


def _holds(caution: Caution, task: Task, day: int, facts: Facts) -> bool:
    if caution.on_days_of is not None:
        return _in_months_of(caution.on_days_of, day, facts.holding, facts)
    if caution.above_c is not None:
        shares = facts.weather.hotter(caution.above_c, LEAST_YEARS)
        if shares is None:
            return WARM_MONTHS[0] <= float(facts.sky.winter_months[day]) < WARM_MONTHS[1]
    elif caution.below_c is not None:
        offset_c = facts.frost[task.plot.id].offset_c if task.plot else 0.0
        shares = facts.weather.colder(caution.below_c - offset_c, LEAST_YEARS)
    else:
        return True
    return shares is None or bool(shares[season_slots(facts.season)][day] > OFTEN)


def _in_months_of(rule_id: str, day: int, holding: Holding, facts: Facts) -> bool:
    rule = holding.rules.rules[rule_id]
    return not isinstance(rule, dayrules.AvoidMonthsRule) or bool(
        in_months(rule.spans, facts)[day]
    )
