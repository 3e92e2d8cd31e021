"""Frost on one sheet: for each plot the chance of another by day, and the years behind it."""

import math
from collections.abc import Iterator
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.frost import FrostRisk, PlotFrost, report_of
from scheduler.pages.rendering import Page, Rows, month_starts, page
from scheduler.reasons import SeasonPlan
from scheduler.season import Outlook
from scheduler.terms import Season
from scheduler.words import phrases

STEP_DAYS = 3  # a point of the curve; the chance changes slowly


def frost_sheet(outlook: Outlook) -> Rows:
    """What the frost sheet shows."""
    season, known = outlook.season, tuple(outlook.plots.values())
    coldest, tested = _from_record(outlook)
    return {
        "site": outlook.holding.site.name,
        "as_of": outlook.as_of,
        "first": season.first,
        "last": season.last,
        "tolerance": outlook.holding.site.frost.tolerance,
        "rests_on": phrases.record_words(known[0].risk),
        "plots": tuple(_curve(plot, outlook) for plot in known),
        "months": month_starts(season),
        "coldest": coldest,
        "tested": tested,
    }


def _from_record(outlook: Outlook) -> tuple[tuple[Rows, ...], tuple[Rows, ...]]:
    """What the record alone tells, of a frost at 0 degrees C at the station.

    The coldest nights of half-months, degrees C, and the chances of its earlier seasons against
    its later ones; nothing where there is none, or it is too short to be split.
    """
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
        {
            "first": day,  # of the half-month, in the plan
            "usual_c": half.p50_c,
            "in_ten_c": half.p10_c,
            "lowest_c": half.lowest_c,
            "lowest_on": half.lowest_on,
        }
        for day, half in halves
        if half is not None
    )
    bins = next((test.bins for test in report.tested if test.side == "last"), ())
    tested = (
        {"stated": round(b.stated, 3), "came": round(b.observed, 3), "n_cases": b.n_cases}
        for b in bins
    )
    return coldest, tuple(tested)


def _curve(known: PlotFrost, outlook: Outlook) -> Rows:
    """One plot: its window, its chances from the first day of the season on, its frosts."""
    risk, day, season = known.risk, outlook.as_of, outlook.season
    chance = risk.chance_after(day)
    slots = risk.cycle.slots_of(season)[0][::STEP_DAYS]
    return {
        "plot": known.plot.name,
        "state": phrases.risk_words(risk, day),
        # of another frost from today to the next warmest day; None where not known
        "chance": None if math.isnan(chance) else round(chance, 4),
        "threshold_c": risk.threshold_c,
        "closes": known.window_end(day, season),
        "after": _rounded(risk.chance_on_or_after[: season.n_days : STEP_DAYS]),
        "before": _rounded(risk.before_by_slot[slots]),
        "last_frosts": _recorded(risk, "last"),
        "first_frosts": _recorded(risk, "first"),
        # of the forecast: day, minimum at the plot, its error
        "nights": tuple(
            (night.day, round(night.plot_c, 1), round(night.error_c, 1))
            for night in known.ahead.nights
        ),
    }


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
    dots = [list(_dots(plot, sheet)) for plot in sheet["plots"]]
    return page("frost", f"Frost risk at {sheet['site']}", "frost.html", sheet, dots=dots, **more)


def _dots(plot: Rows, sheet: Rows) -> Iterator[tuple[int, str]]:
    """The recorded frosts, each on the day of the plan that bears its month and day."""
    season = Season.between(sheet["first"], sheet["last"])
    places = {f"{day:%m-%d}": at for at, day in enumerate(season)}
    for side, kind in (("last_frosts", "dot-last"), ("first_frosts", "dot-first")):
        for day in plot[side]:
            if (at := places.get(f"{day:%m-%d}")) is not None:
                yield at, kind
