"""Whether frost can reach what a planned task lays open: the warning that must be right."""

from dataclasses import dataclass
from datetime import date

from scheduler.frost.kind_words import chance_words, kinds_words, tenderest_of
from scheduler.frost.plot_frost import PlotFrost, exposed_at
from scheduler.frost.tender import Exposed
from scheduler.holding import Holding
from scheduler.stand import Task
from scheduler.terms import Season, day_words


@dataclass(frozen=True)
class FrostReach:
    """Frost within reach of a planned task."""

    day: date  # first planned day on which it is so
    # of another frost from then on, while the window is open; of a damaging night in the weeks
    # that new growth stays tender, once it is closed; NaN where no record says
    chance: float
    closes: date | None  # last day of the open window; None where it never closes, or is closed
    weeks: float | None  # how long new growth stays tender; None while the window itself is open
    plants: tuple[Exposed, ...]  # what would be hurt, the tenderest first


def reach_of(
    task: Task, days: tuple[int, ...], season: Season, known: PlotFrost, holding: Holding
) -> FrostReach | None:
    """The first of a task's planned days, by number, on which frost can reach what it exposes.

    Outside the window its last day, where new growth would still be soft when frost comes. None
    where the task exposes nothing, or frost is over and far.
    """
    if not task.type.exposes:
        return None
    plants, risk = tuple(exposed_at(task, known.plot, holding)), known.risk
    for at in days:
        if risk.open[at]:
            day = season.date_of(at)
            chance = float(risk.chance_on_or_after[at])
            return FrostReach(day, chance, risk.closes_after(day), None, plants)
    growing = tuple(kind for kind in plants if kind.stage == "growth")
    growth, last = holding.frost.data.growth, max(days)
    n_days = growth.tender_days()
    if not growing or not risk.open_within(n_days)[last]:
        return None
    chance = float(risk.chance_within(n_days)[last])
    return FrostReach(season.date_of(last), chance, None, growth.tender_weeks, growing)


def reach_words(reach: FrostReach, title: str, holding: Holding) -> str:
    """The warning, in the grower's words: by how many days, what chance, which plants."""
    chance = chance_words(reach.chance, ": the chance of another frost from that day on is {}")
    if reach.weeks is not None:
        when = f"and its new growth stays tender for {reach.weeks:g} weeks"
        chance = chance_words(reach.chance, ": the chance of a frost in those weeks is {}")
    elif reach.closes is None:
        when = "while the frost window there never closes"
    else:
        n_days = (reach.closes - reach.day).days + 1
        days = "day" if n_days == 1 else "days"
        when = (
            f"{n_days} {days} before the frost window there is over (it stays open until "
            f"{day_words(reach.closes)})"
        )
    kinds = kinds_words(tenderest_of(reach.plants), holding)
    return (
        f"{title} lays open on {day_words(reach.day)} what frost can reach, {when}{chance}. "
        f"Frost can hurt {kinds}."
    )
