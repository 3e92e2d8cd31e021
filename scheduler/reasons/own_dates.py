"""Own dates that stand against a rule: the grower decides, and is told."""

from collections.abc import Iterator

from scheduler.holding import dayrules
from scheduler.season import Placed
from scheduler.stand import Task
from scheduler.terms import Level, Notice, Ruling, day_words


def own_date_notices(placed: Placed) -> Iterator[Notice]:
    """A warning for each rule that an own date breaks; frost has warnings of its own."""
    for task in placed.tasks.values():
        against = _not_yet_told(task, placed)
        window = placed.windows[task.id]
        if against and window.fixed_first is not None and task.id in placed.stints:
            day = day_words(placed.season.date_of(window.fixed_first))
            says = (
                f"{task.title} in {placed.place_of(task)} stands on your own date, {day}, "
                f"against: {'; '.join(ruling.words for ruling in against)}."
            )
            yield Notice("own-date-against-rule", Level.WARNING, task.id, says)


def _not_yet_told(task: Task, placed: Placed) -> list[Ruling]:
    against = placed.windows[task.id].against
    if placed.frost_reach(task) is None:
        return list(against)
    rules = placed.holding.rules.rules
    frosty = dayrules.AfterLastFrostRule | dayrules.HardenRule
    return [ruling for ruling in against if not isinstance(rules.get(ruling.rule_id), frosty)]
