"""From the station to the plot: how much colder, or warmer, a plot is on frosty nights."""

import math
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.seasons import FrostClimate
from scheduler.holding import FrostData, Holding, Plot, SiteAdjustment
from scheduler.terms import N_SLOTS, Level, Notice
from scheduler.weather import Record

_MARGIN_DAYS = 15  # either side of the dates seen, so that a short overlap is not wasted
_LARGEST_OFFSET_C = 10.0  # as plots.toml allows by hand


@dataclass(frozen=True, slots=True)
class PlotOffset:
    """Plot minus station on nights of the frost season."""

    offset_c: float  # mean difference, degrees C; a hollow is negative
    basis: Literal["logger", "by hand", "elevation", "as the station"]  # how it was found
    # standard deviation of a night's difference, with the uncertainty of the mean, degrees C; to
    # be carried into every chance
    spread_c: float = 0.0
    n_nights: int = 0  # nights it rests on, from ``first`` to ``last``; 0 where none was measured
    first: date | None = None
    last: date | None = None


def offset_of(
    plot: Plot, holding: Holding, climate: FrostClimate | None
) -> tuple[PlotOffset, tuple[Notice, ...]]:
    """By hand, from a logger, guessed from height or none; then what the grower chose on top."""
    fitted, notices = _from_logger(plot, holding, climate)
    offset, data = fitted or PlotOffset(0.0, "as the station"), holding.frost.data
    station_m = holding.site.frost.station_elev_m
    if plot.frost_offset_c is not None:
        offset = PlotOffset(plot.frost_offset_c, "by hand")
        if fitted is not None and fitted.offset_c < offset.offset_c - fitted.spread_c:
            # the grower's word stands, but a logger that says colder is not passed over
            says = (
                f"frost_offset_c says {offset.offset_c:+g} °C, the logger {fitted.offset_c:+g} °C "
                f"over {fitted.n_nights} nights: colder. Leave frost_offset_c out to go by it."
            )
            notices += (Notice("frost-offset-warm", Level.WARNING, plot.id, says),)
    elif not (fitted or climate is None or station_m is None or plot.elev_m is None):
        offset, guessed = offset_from_elevation(station_m, plot.elev_m, data, plot.id)
        notices += (guessed,)
    for chosen in plot.adjustment:
        published = data.adjustment(chosen.id)
        if published is not None:  # the door has refused others
            offset, doubts = adjusted(offset, published, chosen.by_c, plot.id, chosen.height_m)
            notices += doubts
    return offset, notices


def _from_logger(
    plot: Plot, holding: Holding, climate: FrostClimate | None
) -> tuple[PlotOffset | None, tuple[Notice, ...]]:
    logger = holding.frost.loggers.get(plot.id)
    if logger is None or climate is None or holding.record is None:
        return None, ()
    data = holding.frost.data
    fitted, notices = offset_from_overlap(climate, holding.record, logger, data, plot.id)
    notices = (*logger.notices, *notices)
    if fitted is not None and abs(fitted.offset_c) > _LARGEST_OFFSET_C:
        says = (
            f"By its logger the plot is {fitted.offset_c:+.1f} °C against the station, more than "
            "plots differ: is the unit of either right? The logger is left out."
        )
        notices += (Notice("frost-logger-odd", Level.WARNING, plot.id, says),)
        fitted = None
    if fitted is None and plot.frost_offset_c is None:
        says = (
            "The logger gives no offset, so the plot is taken as the station; a hollow may be "
            "much colder. Say what you know as frost_offset_c in plots.toml."
        )
        notices += (Notice("frost-offset-unknown", Level.WARNING, plot.id, says),)
    return fitted, notices


def offset_from_overlap(
    climate: FrostClimate, station: Record, logger: Record, data: FrostData, about: str
) -> tuple[PlotOffset | None, tuple[Notice, ...]]:
    """Fit a plot's offset as the mean difference over frost-season nights.

    Regression on the station would shrink the spread of minima and so miss frosts, and the
    coldest nights alone regress to the mean; the mean difference over all nights of the
    frost season counts frosts best (measured on Canberra and its neighbours).

    The station's climate says which nights belong to that season. None where the overlap is
    too short, with a notice about the plot.
    """
    difference = station.season.laid_over(logger.season, logger.tmin_c) - station.tmin_c
    slots, _ = climate.cycle.slots_of(station.season)
    usable = ~np.isnan(difference) & _in_frost_season(climate)[slots]
    n_nights, least = int(usable.sum()), data.transfer.min_nights
    if n_nights < least:
        says = (
            f"Logger and station share {n_nights} nights of the frost season; "
            f"{least} are needed to fit an offset."
        )
        return None, (Notice("frost-overlap-short", Level.WARNING, about, says),)
    spread_c = float(difference[usable].std(ddof=1)) * math.sqrt(1 + 1 / n_nights)
    days = np.flatnonzero(usable)
    fitted = PlotOffset(
        round(float(difference[usable].mean()), 2),
        "logger",
        round(spread_c, 2),
        n_nights,
        station.season.date_of(days[0]),
        station.season.date_of(days[-1]),
    )
    return fitted, ()


def _in_frost_season(climate: FrostClimate) -> NDArray[np.bool_]:
    """(366,) True from the earliest first to the latest last frost at 0 degrees, and a margin.

    Where frosts are too rare to tell, the colder half of the year.
    """
    dates, quarter = climate.seasons(0.0), N_SLOTS // 4
    begin = min(dates.first.slot.min(initial=np.inf) - _MARGIN_DAYS, quarter)
    end = max(dates.last.slot.max(initial=-np.inf) + _MARGIN_DAYS, N_SLOTS - quarter)
    slots = np.arange(N_SLOTS)
    return np.asarray((slots >= begin) & (slots <= end))


def offset_from_elevation(
    station_elev_m: float, plot_elev_m: float, data: FrostData, about: str
) -> tuple[PlotOffset, Notice]:
    """The offset from height alone: a fallback, always flagged by a notice about the plot.

    Free air cools by 6.5 degrees a kilometre; minima do not, and on frosty nights valleys
    are often colder than the slopes above them. The figure of the data file (3 at most)
    is used, and only downhill gains are left out: a lower plot is not taken as warmer.
    """
    climb_km = (plot_elev_m - station_elev_m) / 1000
    offset_c = round(min(data.transfer.elevation_c_per_km * climb_km, 0.0), 2)
    says = (
        f"The offset of {offset_c:+.1f} degrees C comes from height alone, which says little "
        f"about frost: a hollow may be much colder. Measure with a logger."
    )
    guessed = PlotOffset(offset_c, "elevation")
    return guessed, Notice("frost-offset-guessed", Level.WARNING, about, says)


def adjusted(
    offset: PlotOffset,
    adjustment: SiteAdjustment,
    chosen_c: float,
    about: str,
    height_m: float | None = None,
) -> tuple[PlotOffset, tuple[Notice, ...]]:
    """An offset with a published site adjustment, of the size the grower chose.

    The choice is in degrees C, for the plot as a whole or, with a height above the basin floor,
    for each 100 m. Notices about the plot say where it lies outside the published range, or
    comes on top of what a logger has measured there.
    """
    notices = []
    if not adjustment.low_c <= chosen_c <= adjustment.high_c:
        says = (
            f"{adjustment.id}: {chosen_c:+g} degrees C lies outside the published range "
            f"{adjustment.low_c:g} to {adjustment.high_c:g} ({adjustment.source})."
        )
        notices.append(Notice("frost-adjustment-outside", Level.WARNING, about, says))
    if offset.basis == "logger":
        says = (
            f"{adjustment.id} is added to what the logger measured at the plot itself, which "
            "holds it already: take the adjustment out."
        )
        notices.append(Notice("frost-adjustment-twice", Level.WARNING, about, says))
    steps = 1.0 if height_m is None else height_m / 100
    after_c = round(offset.offset_c + chosen_c * steps, 2)
    return replace(offset, offset_c=after_c), tuple(notices)
