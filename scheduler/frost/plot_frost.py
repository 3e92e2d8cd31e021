"""What a plot's frost risk rests on: how it differs from the station, and what stands open.

And whether frost can reach what a planned task lays open: the warning that must be right.

Decided: forecast and season so far are laid over the climate inside ``FrostRisk``, so that rules,
events and warnings look at one window. Held by
tests/season/test_plot_frost.py::test_a_cold_forecast_opens_the_window_that_the_rules_look_at.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from scheduler.files import fields
from scheduler.frost.forecast import (
    FrostOutlook,
    LeadError,
    ahead_of,
    latest_forecast,
    lead_errors,
    unlikely,
)
from scheduler.frost.kind_words import chance_words, kinds_words, tenderest_of
from scheduler.frost.risk import FrostRisk, risk_of
from scheduler.frost.seasons import FrostClimate
from scheduler.frost.tender import (
    STAGE_EXPOSED,
    Exposed,
    HardNight,
    hard_nights,
    hurt_at,
    standing_at,
    tenderest_first,
    tenderness,
)
from scheduler.frost.transfer import PlotOffset, offset_of
from scheduler.holding import FrostData, Holding, Plant, Plot, Stock
from scheduler.stand import Task, wants_cover, within_reach
from scheduler.terms import Level, Notice, Season, day_words
from scheduler.weather import ForecastNight

USUAL_THRESHOLD_C = 0.0  # where nothing is exposed and the grower says nothing: a frost
ALLEY = "alley-plants"
_TOLERANCES = (0.05, 0.10, 0.20, 0.50)
_OFFSET_STEPS_C = (-1.0, 1.0)


@dataclass(frozen=True)
class PlotFrost:
    """The frost risk of a plot, and what it rests on."""

    plot: Plot  # the plot
    offset: PlotOffset  # how it differs from the station
    # the grower's own damaging temperature, for the plot or the site
    own_threshold_c: float | None
    # what the plan's work lays open to frost there, the tenderest first
    exposed: tuple[Exposed, ...]
    ahead: FrostOutlook  # forecast, climate and the season so far, from the last thing known on
    risk: FrostRisk  # the same laid over the plan's days: what the rules look at
    hard_nights: tuple[HardNight, ...]  # forecast nights that tender stock wants covering for
    notices: tuple[Notice, ...]  # what is doubtful in all this

    def window_end(self, as_of: date, season: Season) -> date | None:
        """Last day of the window that is open or opens next, where it ends within a season."""
        ends = [w.last for w in self.risk.windows if as_of <= w.last < season.last]
        return ends[0] if ends else None

    def frost_seen(self, as_of: date) -> bool | None:
        """Whether this season's first frost has been seen; None where the record ends before."""
        until, cycle = self.ahead.seen_until, self.risk.cycle
        if until is None or cycle.start_year_of(until) != cycle.start_year_of(as_of):
            return None
        return self.ahead.frost_seen

    @property
    def rivals(self) -> tuple[Exposed, ...]:
        """The stock whose absence would change the threshold; none where the grower set it."""
        return self.exposed if self.own_threshold_c is None else ()

    @property
    def tenderest(self) -> tuple[Exposed, ...]:
        """The kinds that set the threshold; none where the grower did."""
        return tuple(kind for kind in self.rivals if kind.hurt_at_c == self.risk.threshold_c)


@dataclass(frozen=True)
class FrostKnown:
    """What all plots of a holding share."""

    holding: Holding  # the site's files
    as_of: date  # today
    season: Season  # days that are asked about
    climate: FrostClimate | None  # of the station; None without a record
    forecast: tuple[ForecastNight, ...]  # the latest one, from tomorrow's morning on
    errors: tuple[LeadError, ...]  # of forecasts, by lead

    @classmethod
    def of(
        cls, holding: Holding, as_of: date, season: Season, climate: FrostClimate | None
    ) -> "FrostKnown":
        """The latest forecast of a holding, and how far its forecasts err."""
        nights = holding.frost.forecast
        coming = latest_forecast(nights, as_of)
        # a night that cannot be is in another unit, which hides frosts
        forecast = () if any(unlikely(night, climate) for night in coming) else coming
        errors = lead_errors(nights, holding.record, as_of, holding.frost.data)
        return cls(holding, as_of, season, climate, forecast, errors)

    @property
    def seen_on(self) -> date:
        """The day from whose evening the outlook is told: the last on which all is known.

        Without a forecast nothing is known after the last night of the record, so the
        outlook does not change from day to day for want of news.
        """
        if self.forecast or self.holding.record is None:
            return self.as_of
        return min(self.as_of, self.holding.record.season.last)


def forecast_notices(known: FrostKnown) -> Iterator[Notice]:
    """Why a forecast that is there was not used."""
    holding, file = known.holding, known.holding.site.frost.forecast or "the forecast"
    coming = latest_forecast(holding.frost.forecast, known.as_of)
    if holding.frost.forecast and not coming:
        says = f"There is no forecast for tonight or later in {file}: climate alone counts."
        yield Notice("forecast-old", Level.NOTE, "forecast", says)
    for night in [night for night in coming if unlikely(night, known.climate)][:1]:
        says = (
            f"The forecast is left out: {night.tmin_c:g} °C for {day_words(night.date)} is far "
            "from all that the record has at that time of the year. Degrees C are wanted."
        )
        yield Notice("forecast-unlikely", Level.WARNING, "forecast", says)


def plot_frost(plot: Plot, tasks: Sequence[Task], known: FrostKnown) -> PlotFrost:
    """The frost risk of one plot, given the tasks of the plan."""
    holding, policy = known.holding, known.holding.site.frost
    offset, notices = offset_of(plot, known.holding, known.climate)
    exposed = _exposed(plot, tasks, holding)
    own_c = policy.threshold_c if plot.threshold_c is None else plot.threshold_c
    stock_c = exposed[0].hurt_at_c if exposed else USUAL_THRESHOLD_C
    risk = risk_of(
        known.climate,
        threshold_c=stock_c if own_c is None else own_c,
        offset_c=offset.offset_c,
        offset_spread_c=offset.spread_c,
        tolerance=policy.tolerance,
        season=known.season,
        own_last=plot.own_last or policy.own_last,
        own_first=plot.own_first or policy.own_first,
        own_doubt_days=policy.own_doubt_days,
        southern=holding.site.place.southern,
    )
    ahead = ahead_of(
        risk, known.seen_on, forecast=known.forecast, errors=known.errors, observed=holding.record
    )
    told = ahead.nights or ahead.frost_seen is not None
    if own_c is not None and exposed and own_c < stock_c:
        says = (
            f"Your own threshold of {own_c:g} °C is colder than what hurts the stock laid open "
            f"here: {kinds_words(exposed[:1], holding)} at {stock_c:g} °C."
        )
        notices += (Notice("frost-threshold-cold", Level.WARNING, plot.id, says),)
    return PlotFrost(
        plot=plot,
        offset=offset,
        own_threshold_c=own_c,
        exposed=exposed,
        ahead=ahead,
        risk=ahead.joined if told else risk,
        hard_nights=hard_nights(ahead, _standing(plot, ahead, tasks, holding)),
        notices=notices,
    )


def _exposed(plot: Plot, tasks: Sequence[Task], holding: Holding) -> tuple[Exposed, ...]:
    """What the plan's work exposes in a plot: each kind at its tenderest, the tenderest first."""
    return tenderest_first(
        kind
        for task in tasks
        if task.plot_id == plot.id
        for kind in exposed_at(task, plot, holding)
    )


def exposed_at(task: Task, plot: Plot, holding: Holding) -> list[Exposed]:
    """What one task of a plot exposes there, in each state that a frost may find it in.

    The tenderest first.
    """
    data = holding.frost.data
    exposed: list[Exposed] = []
    for exposure in task.type.exposes:
        kinds = dict.fromkeys(row.plant for row in _rows_exposed(exposure, task, plot, holding))
        stage = STAGE_EXPOSED[exposure]
        exposed += [hurt_at(plant_at(kind, plot, holding), stage, data) for kind in kinds]
        exposed += _young(exposure, plot, data)
    return sorted(exposed, key=tenderness)


def plant_at(kind: str, plot: Plot, holding: Holding) -> Plant:
    """A kind as tender as it is in a plot: young plants stand less cold than grown ones."""
    rules, plant = holding.rules, holding.rules.plants[kind]
    age = holding.plan.season.first.year - plot.planted
    if age > rules.figure("young-years") or plant.rest_c is None:
        return plant
    young_c = plant.rest_c + rules.figure("young-tenderer")
    young_c = young_c if plant.young_c is None else plant.young_c
    return replace(plant, rest_c=max(young_c, plant.rest_c))


def _rows_exposed(exposure: str, task: Task, plot: Plot, holding: Holding) -> list[Stock]:
    """What is cut, for new growth; what stands lower, for canopy; the tree lines, for mulch."""
    rows = [row for row in holding.stock if row.plot == plot.id]
    if exposure == "new-growth":
        return list(task.stock)
    if exposure == "canopy":
        highest = min(
            (fields.STRATA.index(row.stratum) for row in task.stock), default=len(fields.STRATA)
        )
        return [row for row in rows if fields.STRATA.index(row.stratum) > highest]
    return [row for row in rows if row.line] if exposure == "mulch" else []


def _young(exposure: str, plot: Plot, data: FrostData) -> Iterator[Exposed]:
    """Alley plants are counted, not named: they are taken as tender as seedlings usually are."""
    if exposure == "planting" and plot.alley_plants:
        hurt_c = data.seedling.never_below_c
        yield Exposed(ALLEY, "seedling", hurt_c, "just planted", data.seedling.source)


def _standing(
    plot: Plot, ahead: FrostOutlook, tasks: Sequence[Task], holding: Holding
) -> tuple[Exposed, ...]:
    """What wants covering, is in bloom, was cut or planted lately: as the forecast finds it."""
    if not ahead.nights:
        return ()
    bloom, night, data = holding.site.frost.bloom, ahead.nights[0].day, holding.frost.data
    in_bloom = [r for r in holding.stock if r.plot == plot.id and r.plant in bloom]
    cut: list[Stock] = []
    young: list[Exposed] = []
    for task, on in _done_lately(plot, night, tasks, holding):
        if "new-growth" in task.type.exposes:
            cut += [replace(row, last_cut=on) for row in within_reach(task.stock, holding.rules)]
        for exposure in task.type.exposes:
            young += _young(exposure, plot, data)
    standing = standing_at(
        (*wants_cover(plot, holding), *in_bloom, *cut),
        holding.rules.plants,
        data,
        day=night,
        cycle=ahead.risk.cycle,
        bloom=bloom,
    )
    return (*dict.fromkeys(young), *standing)


def _done_lately(
    plot: Plot, night: date, tasks: Sequence[Task], holding: Holding
) -> Iterator[tuple[Task, date]]:
    """Work in a plot since which what it laid open has not hardened, and its day."""
    tender = timedelta(days=holding.frost.data.growth.tender_days())
    for task in tasks:
        for entry in holding.log:
            mine = (entry.task, entry.plan, task.plot_id) == (task.id, holding.plan.id, plot.id)
            if mine and timedelta(0) <= night - entry.date < tender:
                yield task, entry.date


def changes_of(
    risk: FrostRisk, stock: Iterable[Exposed] = ()
) -> Iterator[tuple[str, float, FrostRisk]]:
    """What would change the answer of a climate risk: its kind, its value, and the risk then.

    Other usual tolerances, a plot 1 degree colder and warmer (its ``offset``), and the plot
    without its tenderest ``stock``, where the threshold is that of the next; nothing where no
    record is behind the risk.
    """
    if risk.climate is None:
        return
    below = [kind.hurt_at_c for kind in stock if kind.hurt_at_c < risk.threshold_c]
    for what, value in (
        *(("tolerance", value) for value in _TOLERANCES if value != risk.tolerance),
        *(("offset", round(risk.offset_c + step, 2)) for step in _OFFSET_STEPS_C),
        *(("stock", value) for value in sorted(below, reverse=True)[:1]),
    ):
        other = risk_of(
            risk.climate,
            threshold_c=value if what == "stock" else risk.threshold_c,
            offset_c=value if what == "offset" else risk.offset_c,
            offset_spread_c=risk.offset_spread_c,
            tolerance=value if what == "tolerance" else risk.tolerance,
            season=risk.season,
            southern=False,  # a record has its own warmest day
        )
        yield what, value, other


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
