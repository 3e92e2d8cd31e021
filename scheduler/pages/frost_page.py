"""Frost on one sheet: for each plot the chance of another by day, and the years behind it."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.frost import FrostRisk, PlotFrost, report_of
from scheduler.pages.rendering import Page, month_starts, page
from scheduler.reasons import SeasonPlan
from scheduler.season import Outlook
from scheduler.terms import Season
from scheduler.words import phrases

STEP_DAYS = 3  # a point of the curve; the chance changes slowly


@dataclass(frozen=True, slots=True)
class PlotCurve:
    """One plot."""

    plot: str  # its name
    state: str  # whether the window is open, and until when
    # of another frost from today to the next warmest day; None where not known
    chance: float | None
    threshold_c: float  # what is a frost there, degrees C
    closes: date | None  # last day of the window that is open or opens next; None without one
    # chance of another frost, every ``STEP_DAYS`` days from the first of the season
    after: tuple[float, ...]
    before: tuple[float, ...]  # chance that the first frost has come by then
    # day of the season's last frost at the plot, for each season of the record
    last_frosts: tuple[date, ...]
    first_frosts: tuple[date, ...]  # likewise of the first
    # forecast nights: day, minimum at the plot, its error
    nights: tuple[tuple[date, float, float], ...]


@dataclass(frozen=True, slots=True)
class ColdestNight:
    """The coldest night of a half-month at the station, degrees C."""

    first: date  # of the half-month, in the plan
    usual_c: float  # colder in half of the years
    in_ten_c: float  # colder in one year of ten
    lowest_c: float  # the coldest of the record
    lowest_on: date  # its day


@dataclass(frozen=True, slots=True)
class StatedChance:
    """How often another frost came after days for which a chance of it was stated."""

    stated: float
    came: float
    n_cases: int


@dataclass(frozen=True, slots=True)
class FrostSheet:
    """Everything the frost sheet shows."""

    site: str  # name of the holding
    as_of: date  # today
    first: date  # first day of the curves
    last: date  # last day of the curves
    tolerance: float  # chance above which the window counts as open
    rests_on: str  # the record, in words
    plots: tuple[PlotCurve, ...]  # the curves
    months: tuple[date, ...]  # first day of each month
    coldest: tuple[ColdestNight, ...]  # half-months of the plan; none without a record
    # the chances of the earlier seasons of the record against its later ones; empty where it is
    # too short to be split
    tested: tuple[StatedChance, ...]


def frost_sheet(outlook: Outlook) -> FrostSheet:
    """The rows of the frost sheet."""
    season, known = outlook.season, tuple(outlook.plots.values())
    coldest, tested = _from_record(outlook)
    return FrostSheet(
        site=outlook.holding.site.name,
        as_of=outlook.as_of,
        first=season.first,
        last=season.last,
        tolerance=outlook.holding.site.frost.tolerance,
        rests_on=phrases.record_words(known[0].risk),
        plots=tuple(_curve(plot, outlook) for plot in known),
        months=month_starts(season),
        coldest=coldest,
        tested=tested,
    )


def _from_record(outlook: Outlook) -> tuple[tuple[ColdestNight, ...], tuple[StatedChance, ...]]:
    """What the record alone tells, of a frost at 0 degrees C at the station."""
    record, site = outlook.holding.record, outlook.holding.site
    if record is None:
        return (), ()
    report = report_of(
        record,
        threshold_c=0.0,
        period_seasons=site.frost.period_seasons,
        southern=site.place.southern,
    )
    of_half = {(half.month, half.half): half for half in report.severity}
    firsts = [day for day in outlook.season if day.day in (1, 16)]
    halves = ((day, of_half.get((day.month, 1 if day.day == 1 else 2))) for day in firsts)
    coldest = tuple(
        ColdestNight(day, half.p50_c, half.p10_c, half.lowest_c, half.lowest_on)
        for day, half in halves
        if half is not None
    )
    bins = next((test.bins for test in report.tested if test.side == "last"), ())
    tested = (StatedChance(round(b.stated, 3), round(b.observed, 3), b.n_cases) for b in bins)
    return coldest, tuple(tested)


def _curve(known: PlotFrost, outlook: Outlook) -> PlotCurve:
    risk, day, season = known.risk, outlook.as_of, outlook.season
    chance = risk.chance_after(day)
    slots = risk.cycle.slots_of(season)[0][::STEP_DAYS]
    return PlotCurve(
        plot=known.plot.name,
        state=phrases.risk_words(risk, day),
        chance=None if math.isnan(chance) else round(chance, 4),
        threshold_c=risk.threshold_c,
        closes=known.window_end(day, season),
        after=_rounded(risk.chance_on_or_after[: season.n_days : STEP_DAYS]),
        before=_rounded(risk.before_by_slot[slots]),
        last_frosts=_recorded(risk, "last"),
        first_frosts=_recorded(risk, "first"),
        nights=tuple(
            (night.day, round(night.plot_c, 1), round(night.error_c, 1))
            for night in known.ahead.nights
        ),
    )


def _recorded(risk: FrostRisk, side: Literal["last", "first"]) -> tuple[date, ...]:
    """The dates of the record at the plot's own damaging temperature, ascending."""
    if risk.climate is None:
        return ()
    seasons = risk.climate.seasons(risk.threshold_c - risk.offset_c)
    return tuple(day for day in getattr(seasons, side).dates if day is not None)


def _rounded(chances: NDArray[np.float64]) -> tuple[float, ...]:
    return () if np.isnan(chances).any() else tuple(round(float(c), 4) for c in chances)


def frost_page(plan: SeasonPlan, **more: object) -> Page:
    """The frost sheet as a page."""
    sheet = frost_sheet(plan.placed.outlook)
    dots = [list(_dots(plot, sheet)) for plot in sheet.plots]
    return page("frost", f"Frost risk at {sheet.site}", "frost.html", sheet, dots=dots, **more)


def _dots(plot: PlotCurve, sheet: FrostSheet) -> Iterator[tuple[int, str]]:
    """The recorded frosts, each on the day of the plan that bears its month and day."""
    places = {f"{day:%m-%d}": at for at, day in enumerate(Season.between(sheet.first, sheet.last))}
    for days, kind in ((plot.last_frosts, "dot-last"), (plot.first_frosts, "dot-first")):
        for day in days:
            if (at := places.get(f"{day:%m-%d}")) is not None:
                yield at, kind
