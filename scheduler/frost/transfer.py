"""From the station to the plot: how much colder, or warmer, a plot is on frosty nights."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.seasons import FrostClimate
from scheduler.holding import FrostData, SiteAdjustment
from scheduler.terms import N_SLOTS, Level, Notice, Season
from scheduler.weather import Record

_MARGIN_DAYS = 15  # either side of the dates seen, so that a short overlap is not wasted


@dataclass(frozen=True, slots=True)
class PlotOffset:
    """Plot minus station on nights of the frost season.

    Args:
        offset_c: mean difference, degrees C; a hollow is negative.
        spread_c: standard deviation of a night's difference, with the uncertainty of the
            mean, degrees C; to be carried into every chance.
        n_nights: nights it rests on; 0 where nothing was measured.
        first: first of them.
        last: last of them.
        basis: how it was found.
    """

    offset_c: float
    spread_c: float
    n_nights: int
    first: date | None
    last: date | None
    basis: Literal["logger", "by hand", "elevation", "as the station"]


def offset_from_overlap(
    climate: FrostClimate, station: Record, logger: Record, data: FrostData, about: str
) -> tuple[PlotOffset | None, tuple[Notice, ...]]:
    """Fit a plot's offset as the mean difference over frost-season nights.

    Regression on the station would shrink the spread of minima and so miss frosts, and the
    coldest nights alone regress to the mean; the mean difference over all nights of the
    frost season counts frosts best (measured on Canberra and its neighbours).

    Args:
        climate: of the station; says which nights belong to the frost season.
        station: its record.
        logger: the plot's nightly minima.
        data: fewest nights.
        about: id of the plot, for the notices.

    Returns:
        The offset, or None where the overlap is too short; and notices.
    """
    season = (
        Season.between(
            max(station.season.first, logger.season.first),
            min(station.season.last, logger.season.last),
        )
        if _overlap(station, logger)
        else None
    )
    if season is None:
        return None, (_too_short(0, data, about),)
    difference = _part(logger, season) - _part(station, season)
    slots, _ = climate.cycle.slots_of(season)
    usable = ~np.isnan(difference) & _in_frost_season(climate)[slots]
    n_nights = int(usable.sum())
    if n_nights < data.transfer.min_nights:
        return None, (_too_short(n_nights, data, about),)
    spread_c = float(difference[usable].std(ddof=1)) * math.sqrt(1 + 1 / n_nights)
    days = np.flatnonzero(usable)
    fitted = PlotOffset(
        round(float(difference[usable].mean()), 2),
        round(spread_c, 2),
        n_nights,
        season.date_of(days[0]),
        season.date_of(days[-1]),
        "logger",
    )
    return fitted, ()


def _overlap(station: Record, logger: Record) -> bool:
    return (
        station.season.first <= logger.season.last and logger.season.first <= station.season.last
    )


def _part(record: Record, season: Season) -> NDArray[np.float64]:
    start = record.season.day_of(season.first)
    return record.tmin_c[start : start + season.n_days]


def _in_frost_season(climate: FrostClimate) -> NDArray[np.bool_]:
    """(366,) True from the earliest first to the latest last frost at 0 degrees, and a margin.

    Where frosts are too rare to tell, the colder half of the year.
    """
    dates = climate.seasons(0.0)
    first = dates.first.slot[np.isfinite(dates.first.slot)]
    last = dates.last.slot[np.isfinite(dates.last.slot)]
    quarter = N_SLOTS // 4
    begin = min([quarter, *(first - _MARGIN_DAYS).astype(int).tolist()])
    end = max([N_SLOTS - quarter, *(last + _MARGIN_DAYS).astype(int).tolist()])
    slots = np.arange(N_SLOTS)
    inside: NDArray[np.bool_] = (slots >= begin) & (slots <= end)
    return inside


def _too_short(n_nights: int, data: FrostData, about: str) -> Notice:
    says = (
        f"Logger and station share {n_nights} nights of the frost season; "
        f"{data.transfer.min_nights} are needed to fit an offset."
    )
    return Notice("frost-overlap-short", Level.WARNING, about, says)


def offset_from_elevation(
    station_elev_m: float, plot_elev_m: float, data: FrostData, about: str
) -> tuple[PlotOffset, Notice]:
    """The offset from height alone: a fallback, always flagged.

    Free air cools by 6.5 degrees a kilometre; minima do not, and on frosty nights valleys
    are often colder than the slopes above them. The figure of the data file (3 at most)
    is used, and only downhill gains are left out: a lower plot is not taken as warmer.

    Args:
        station_elev_m: height of the station, m.
        plot_elev_m: height of the plot, m.
        data: degrees per kilometre.
        about: id of the plot, for the notice.

    Returns:
        The offset, and the notice that it is a guess.
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

    Args:
        offset: before.
        adjustment: published range; none is applied unless chosen.
        chosen_c: degrees C, for the plot as a whole or for each 100 m as the range says.
        about: id of the plot, for the notice.
        height_m: above the basin floor, for ranges told by 100 m.

    Returns:
        The new offset; notices where the choice lies outside the published range, or comes
        on top of what a logger has measured at the plot itself.
    """
    steps = 1.0 if height_m is None else height_m / 100
    after = PlotOffset(
        round(offset.offset_c + chosen_c * steps, 2),
        offset.spread_c,
        offset.n_nights,
        offset.first,
        offset.last,
        offset.basis,
    )
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
