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

    @property
    def days_early(self) -> int | None:
        """How many days before the end of the window; None where it is closed or unending."""
        return None if self.closes is None else (self.closes - self.day).days + 1


def reach_of(
    task: Task, days: tuple[int, ...], season: Season, known: PlotFrost, holding: Holding
) -> FrostReach | None:
    """The first of a task's days on which frost can reach what it exposes.

    Args:
        task: in the plot.
        days: its planned days, by number.
        season: the days of the plan.
        known: the plot's frost.
        holding: the site's files.

    Returns:
        What stands; None where the task exposes nothing, or frost is over and far.
    """
    if not task.type.exposes:
        return None
    plants = tuple(exposed_at(task, known.plot, holding))
    risk = known.risk
    for at in days:
        if risk.open[at]:
            day = season.date_of(at)
            chance = float(risk.chance_on_or_after[at])
            return FrostReach(day, chance, risk.closes_after(day), None, plants)
    return _growth_reach(plants, days, season, known, holding)


def _growth_reach(
    plants: tuple[Exposed, ...],
    days: tuple[int, ...],
    season: Season,
    known: PlotFrost,
    holding: Holding,
) -> FrostReach | None:
    """Work outside the window whose new growth would still be soft when frost comes."""
    growing = tuple(one for one in plants if one.stage == "growth")
    weeks = holding.frost.data.growth.tender_weeks
    n_days = holding.frost.data.growth.tender_days()
    last = max(days)
    if not growing or not known.risk.open_within(n_days)[last]:
        return None
    chance = float(known.risk.chance_within(n_days)[last])
    return FrostReach(season.date_of(last), chance, None, weeks, growing)


def reach_words(reach: FrostReach, title: str, holding: Holding) -> str:
    """The warning, in the grower's words: by how many days, what chance, which plants."""
    planned = f"{title} lays open on {day_words(reach.day)} what frost can reach"
    if reach.weeks is not None:
        how = f", and its new growth stays tender for {reach.weeks:g} weeks"
        chance = chance_words(reach.chance, ": the chance of a frost in those weeks is {}")
    else:
        how = f", {_early_words(reach)}"
        chance = chance_words(reach.chance, ": the chance of another frost from that day on is {}")
    kinds = kinds_words(tenderest_of(reach.plants), holding)
    return f"{planned}{how}{chance}. Frost can hurt {kinds}."


def _early_words(reach: FrostReach) -> str:
    if reach.closes is None or reach.days_early is None:
        return "while the frost window there never closes"
    days = "day" if reach.days_early == 1 else "days"
    return (
        f"{reach.days_early} {days} before the frost window there is over (it stays open until "
        f"{day_words(reach.closes)})"
    )
