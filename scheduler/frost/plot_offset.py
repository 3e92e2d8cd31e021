"""How a plot differs from the station on a frosty night, and how that is known."""

from collections.abc import Iterator

from scheduler.frost.seasons import FrostClimate
from scheduler.frost.transfer import (
    PlotOffset,
    adjusted,
    offset_from_elevation,
    offset_from_overlap,
)
from scheduler.holding import Holding, Plot
from scheduler.terms import Level, Notice

_LARGEST_OFFSET_C = 10.0  # as plots.toml allows by hand


def offset_of(
    plot: Plot, holding: Holding, climate: FrostClimate | None
) -> tuple[PlotOffset, tuple[Notice, ...]]:
    """By hand, from a logger, guessed from height or none; then what the grower chose on top."""
    offset, notices = _before_choices(plot, holding, climate)
    for chosen in plot.adjustment:
        published = holding.frost.data.adjustment(chosen.id)
        if published is not None:  # the door has refused others
            offset, told = adjusted(offset, published, chosen.by_c, plot.id, chosen.height_m)
            notices = (*notices, *told)
    return offset, notices


def _before_choices(
    plot: Plot, holding: Holding, climate: FrostClimate | None
) -> tuple[PlotOffset, tuple[Notice, ...]]:
    fitted, notices = _from_logger(plot, holding, climate)
    if plot.frost_offset_c is not None:
        by_hand = PlotOffset(plot.frost_offset_c, 0.0, 0, None, None, "by hand")
        return by_hand, (*notices, *_against_logger(by_hand, fitted, plot))
    if fitted is not None:
        return fitted, notices
    station_m = holding.site.frost.station_elev_m
    if plot.elev_m is not None and station_m is not None and climate is not None:
        guessed, told = offset_from_elevation(station_m, plot.elev_m, holding.frost.data, plot.id)
        return guessed, (*notices, told)
    return PlotOffset(0.0, 0.0, 0, None, None, "as the station"), notices


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
        fitted, notices = (
            None,
            (*notices, Notice("frost-logger-odd", Level.WARNING, plot.id, says)),
        )
    if fitted is None and plot.frost_offset_c is None:
        notices = (*notices, _as_station(plot))
    return fitted, notices


def _as_station(plot: Plot) -> Notice:
    says = (
        "The logger gives no offset, so the plot is taken as the station; a hollow may be much "
        "colder. Say what you know as frost_offset_c in plots.toml."
    )
    return Notice("frost-offset-unknown", Level.WARNING, plot.id, says)


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
