"""What a plot's frost risk rests on: how it differs from the station, and what stands open."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from scheduler.frost import (
    Exposed,
    FrostClimate,
    FrostOutlook,
    FrostRisk,
    HardNight,
    LeadError,
    PlotOffset,
    adjusted,
    exposed_by,
    hard_nights,
    latest_forecast,
    lead_errors,
    offset_from_elevation,
    offset_from_overlap,
    outlook_of,
    risk_of,
    standing_at,
)
from scheduler.holding import ForecastNight, Holding, Plot, Stock
from scheduler.holding.fields import STRATA
from scheduler.holding.frost_data import FrostData
from scheduler.stand import Task, wants_cover
from scheduler.terms import Level, Notice, Season

USUAL_THRESHOLD_C = 0.0  # where nothing is exposed and the grower says nothing: a frost
ALLEY = "alley-plants"


@dataclass(frozen=True)
class PlotFrost:
    """The frost risk of a plot, and what it rests on.

    Args:
        plot: the plot.
        offset: how it differs from the station.
        own_threshold_c: the grower's own damaging temperature, for the plot or the site.
        exposed: what the plan's work lays open to frost there, the tenderest first.
        ahead: forecast, climate and the season so far, from the last thing known on.
        risk: the same laid over the plan's days: what the rules look at.
        hard_nights: forecast nights that tender stock wants covering for.
        notices: what is doubtful in all this.
    """

    plot: Plot
    offset: PlotOffset
    own_threshold_c: float | None
    exposed: tuple[Exposed, ...]
    ahead: FrostOutlook
    risk: FrostRisk
    hard_nights: tuple[HardNight, ...]
    notices: tuple[Notice, ...]

    @property
    def climate_risk(self) -> FrostRisk:
        """The risk by climate alone."""
        return self.ahead.risk

    def until(self, chance: float, as_of: date) -> date | None:
        """Last day, today or later, on which another frost is likelier than ``chance``."""
        day = self.ahead.until(chance)
        return day if day is not None and day >= as_of else None

    @property
    def grower_says(self) -> bool:
        """Whether the grower has given a damaging temperature, for the plot or the site."""
        return self.own_threshold_c is not None

    @property
    def tenderest(self) -> tuple[Exposed, ...]:
        """The kinds that set the threshold; none where the grower did."""
        if self.grower_says:
            return ()
        return tuple(one for one in self.exposed if one.hurt_at_c == self.risk.threshold_c)


@dataclass(frozen=True)
class FrostKnown:
    """What all plots of a holding share.

    Args:
        holding: the site's files.
        as_of: today.
        season: days that are asked about.
        climate: of the station; None without a record.
        forecast: the latest one, from tomorrow's morning on.
        errors: of forecasts, by lead.
    """

    holding: Holding
    as_of: date
    season: Season
    climate: FrostClimate | None
    forecast: tuple[ForecastNight, ...]
    errors: tuple[LeadError, ...]

    @classmethod
    def of(
        cls, holding: Holding, as_of: date, season: Season, climate: FrostClimate | None
    ) -> "FrostKnown":
        """The latest forecast of a holding, and how far its forecasts err."""
        nights, data = holding.frost.forecast, holding.frost.data
        return cls(
            holding,
            as_of,
            season,
            climate,
            latest_forecast(nights, as_of),
            lead_errors(nights, holding.record, as_of, data),
        )

    @property
    def seen_on(self) -> date:
        """The day from whose evening the outlook is told: the last on which all is known.

        Without a forecast nothing is known after the last night of the record, so the
        outlook does not change from day to day for want of news.
        """
        if self.forecast or self.holding.record is None:
            return self.as_of
        return min(self.as_of, self.holding.record.season.last)


def plot_frost(plot: Plot, tasks: Sequence[Task], known: FrostKnown) -> PlotFrost:
    """The frost risk of one plot.

    Args:
        plot: the plot.
        tasks: of the plan.
        known: what all plots share.
    """
    holding, policy = known.holding, known.holding.site.frost
    offset, notices = _offset(plot, known)
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
        southern=holding.site.place.southern,
    )
    ahead = outlook_of(
        risk,
        known.seen_on,
        forecast=known.forecast,
        errors=known.errors,
        observed=holding.record,
    )
    told = ahead.nights or ahead.frost_seen is not None
    return PlotFrost(
        plot=plot,
        offset=offset,
        own_threshold_c=own_c,
        exposed=exposed,
        ahead=ahead,
        risk=ahead.joined if told else risk,
        hard_nights=hard_nights(ahead, _standing(plot, ahead, holding)),
        notices=notices,
    )


def _exposed(plot: Plot, tasks: Sequence[Task], holding: Holding) -> tuple[Exposed, ...]:
    """What the plan's work exposes in a plot: each kind at its tenderest, the tenderest first."""
    found: dict[str, Exposed] = {}
    for task in tasks:
        if task.plot_id == plot.id:
            for one in exposed_at(task, plot, holding):
                known = found.get(one.plant)
                if known is None or one.hurt_at_c > known.hurt_at_c:
                    found[one.plant] = one
    return tuple(sorted(found.values(), key=_tenderness))


def exposed_at(task: Task, plot: Plot, holding: Holding) -> list[Exposed]:
    """What one task exposes in a plot, in each state that a frost may find it in.

    Args:
        task: of that plot.
        plot: the plot.
        holding: the site's files.

    Returns:
        Kinds with what hurts them, the tenderest first.
    """
    data, plants = holding.frost.data, holding.rules.plants
    found: list[Exposed] = []
    for exposure in task.type.exposes:
        rows = _rows_exposed(exposure, task, plot, holding)
        found += exposed_by(exposure, rows, plants, data)
        found += _young(exposure, plot, data)
    return sorted(found, key=_tenderness)


def _tenderness(one: Exposed) -> tuple[float, str]:
    return -one.hurt_at_c, one.plant


def _rows_exposed(exposure: str, task: Task, plot: Plot, holding: Holding) -> list[Stock]:
    """What is cut, for new growth; what stands lower, for canopy; the tree lines, for mulch."""
    rows = [row for row in holding.stock if row.plot == plot.id]
    if exposure == "new-growth":
        return list(task.stock)
    if exposure == "canopy":
        highest = min((STRATA.index(row.stratum) for row in task.stock), default=len(STRATA))
        return [row for row in rows if STRATA.index(row.stratum) > highest]
    return [row for row in rows if row.line] if exposure == "mulch" else []


def _young(exposure: str, plot: Plot, data: FrostData) -> Iterator[Exposed]:
    """Alley plants are counted, not named: they are taken as tender as seedlings usually are."""
    if exposure == "planting" and plot.alley_plants:
        hurt_c = data.seedling.never_below_c
        yield Exposed(ALLEY, "seedling", hurt_c, "just planted", data.seedling.source)


def _standing(plot: Plot, ahead: FrostOutlook, holding: Holding) -> tuple[Exposed, ...]:
    """What wants covering or is in bloom, in its state on the first night of the forecast."""
    if not ahead.nights:
        return ()
    bloom = holding.site.frost.bloom
    in_bloom = (r for r in holding.stock if r.plot == plot.id and r.plant in bloom)
    return standing_at(
        (*wants_cover(plot, holding), *in_bloom),
        holding.rules.plants,
        holding.frost.data,
        day=ahead.nights[0].day,
        cycle=ahead.risk.cycle,
        bloom=bloom,
    )


def _offset(plot: Plot, known: FrostKnown) -> tuple[PlotOffset, tuple[Notice, ...]]:
    """By hand, from a logger, guessed from height or none; then what the grower chose on top."""
    offset, notices = _before_choices(plot, known)
    for chosen in plot.adjustment:
        published = known.holding.frost.data.adjustment(chosen.id)
        if published is not None:  # the door has refused others
            steps = 1.0 if chosen.height_m is None else chosen.height_m / 100
            offset, told = adjusted(offset, published, chosen.by_c * steps, plot.id)
            notices = (*notices, *told)
    return offset, notices


def _before_choices(plot: Plot, known: FrostKnown) -> tuple[PlotOffset, tuple[Notice, ...]]:
    fitted, notices = _from_logger(plot, known)
    if plot.frost_offset_c is not None:
        by_hand = PlotOffset(plot.frost_offset_c, 0.0, 0, None, None, "by hand")
        return by_hand, (*notices, *_against_logger(by_hand, fitted, plot))
    if fitted is not None:
        return fitted, notices
    station_m = known.holding.site.frost.station_elev_m
    if plot.elev_m is not None and station_m is not None and known.climate is not None:
        guessed, told = offset_from_elevation(
            station_m, plot.elev_m, known.holding.frost.data, plot.id
        )
        return guessed, (*notices, told)
    return PlotOffset(0.0, 0.0, 0, None, None, "as the station"), notices


def _from_logger(plot: Plot, known: FrostKnown) -> tuple[PlotOffset | None, tuple[Notice, ...]]:
    holding = known.holding
    logger = holding.frost.loggers.get(plot.id)
    if logger is None or known.climate is None or holding.record is None:
        return None, ()
    data = holding.frost.data
    fitted, notices = offset_from_overlap(known.climate, holding.record, logger, data, plot.id)
    return fitted, (*logger.notices, *notices)


def _against_logger(
    by_hand: PlotOffset, fitted: PlotOffset | None, plot: Plot
) -> Iterator[Notice]:
    """The grower's word stands, but a logger that says colder is not passed over."""
    if fitted is not None and fitted.offset_c < by_hand.offset_c - fitted.spread_c:
        says = (
            f"frost_offset_c says {by_hand.offset_c:+g} °C, the logger {fitted.offset_c:+g} °C "
            f"over {fitted.n_nights} nights: colder. Leave frost_offset_c out to go by it."
        )
        yield Notice("frost-offset-warm", Level.WARNING, plot.id, says)
