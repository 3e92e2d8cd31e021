"""From the station to the plot: how much colder, or warmer, a plot is on frosty nights."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.seasons import FrostClimate
from scheduler.holding import FrostData, SiteAdjustment
from scheduler.terms import N_SLOTS, Level, Notice
from scheduler.weather import Record

_MARGIN_DAYS = 15  # either side of the dates seen, so that a short overlap is not wasted


@dataclass(frozen=True, slots=True)
class PlotOffset:
    """Plot minus station on nights of the frost season."""

    offset_c: float  # mean difference, degrees C; a hollow is negative
    # standard deviation of a night's difference, with the uncertainty of the mean, degrees C; to
    # be carried into every chance
    spread_c: float
    n_nights: int  # nights it rests on, from ``first`` to ``last``; 0 where nothing was measured
    first: date | None
    last: date | None
    basis: Literal["logger", "by hand", "elevation", "as the station"]  # how it was found


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
        round(spread_c, 2),
        n_nights,
        station.season.date_of(days[0]),
        station.season.date_of(days[-1]),
        "logger",
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
    offset = PlotOffset(offset_c, 0.0, 0, None, None, "elevation")
    return offset, Notice("frost-offset-guessed", Level.WARNING, about, says)


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
    steps = 1.0 if height_m is None else height_m / 100
    after = replace(offset, offset_c=round(offset.offset_c + chosen_c * steps, 2))
    return after, tuple(_doubts(offset, adjustment, chosen_c, about))


def _doubts(
    offset: PlotOffset, adjustment: SiteAdjustment, chosen_c: float, about: str
) -> Iterator[Notice]:
    if not adjustment.low_c <= chosen_c <= adjustment.high_c:
        says = (
            f"{adjustment.id}: {chosen_c:+g} degrees C lies outside the published range "
            f"{adjustment.low_c:g} to {adjustment.high_c:g} ({adjustment.source})."
        )
        yield Notice("frost-adjustment-outside", Level.WARNING, about, says)
    if offset.basis == "logger":
        says = (
            f"{adjustment.id} is added to what the logger measured at the plot itself, which "
            "holds it already: take the adjustment out."
        )
        yield Notice("frost-adjustment-twice", Level.WARNING, about, says)
