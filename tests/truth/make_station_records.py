"""Writes the invented station records of the demo sites.

No station has measured these values. The model, its numbers and the seed stand here, so
that anybody can make the same bytes again:

    tmin(d) = mean + swing * cos(2 pi (d - coldest) / 365.25) + s(d) * x(d)
    x(d)    = r * x(d - 1) + sqrt(1 - r^2) * e(d),    e(d) ~ N(0, 1)
    s(d)    = spread of the coldest day to spread of the warmest day, along the same cosine

A first-order autoregression about a yearly wave is the usual simple model of daily minima
(Wilks, Statistical Methods in the Atmospheric Sciences; from memory).

Where a site has rain, wet days follow one another in a chain of two states, and a wet day's
amount is exponential; chances and mean amount go along a yearly wave of their own:

    P(wet | dry before), P(wet | wet before), mean(d): from their value on the wettest day of
    the year to that half a year later, along the cosine
    rain(d) = 0.1 mm + Exponential(mean(d)) on a wet day, else 0

After Richardson 1981, Stochastic simulation of daily precipitation, temperature, and solar
radiation, Water Resources Research 17:182-190 (from memory). Rain has a generator and a seed of
its own, so that the minima are the same bytes with and without it; that wet nights are warmer
is left out. Run from the top of the project:

    python tests/truth/make_station_records.py
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np

FIRST, LAST = date(1995, 7, 1), date(2026, 10, 31)


@dataclass(frozen=True)
class Rain:
    """One invented rain: pairs of the wettest day of the year and of half a year later.

    Args:
        wettest: day of the year.
        after_dry: chance of a wet day after a dry one.
        after_wet: chance of a wet day after a wet one.
        mean_mm: mean amount of a wet day, above the least that is told.
        seed: of a generator that draws nothing else.
    """

    wettest: int
    after_dry: tuple[float, float]
    after_wet: tuple[float, float]
    mean_mm: tuple[float, float]
    seed: int


@dataclass(frozen=True)
class Model:
    """One invented climate: temperatures in degrees C, ``coldest`` as day of the year."""

    site: str
    mean_c: float
    swing_c: float
    coldest: int
    spread_cold_c: float
    spread_warm_c: float
    persistence: float
    seed: int
    rain: Rain | None = None


# wet winters and drier, but not rainless, summers, as behind an Atlantic coast
VALLEY_RAIN = Rain(10, (0.26, 0.09), (0.72, 0.48), (8.0, 5.0), 20261128)

MODELS = (
    Model("branasol", 6.4, -5.6, 20, 3.7, 2.4, 0.66, 20261125, VALLEY_RAIN),
    Model("klipskadu", 9.6, -4.3, 200, 2.9, 2.3, 0.60, 20261126),
)

HEADER = """\
# INVENTED RECORD. No station has measured these values; they are drawn from a random model
# for the demo site {site}. Model and seed: tests/truth/make_station_records.py
# mean {mean_c} C, yearly swing {swing_c} C, coldest on day {coldest} of the year, spread
# {spread_cold_c} C then and {spread_warm_c} C half a year later, persistence {persistence},
# seed {seed}
"""
RAIN_HEADER = """\
# rain: chance of a wet day after a dry one {after_dry[0]} and {after_dry[1]}, after a wet one
# {after_wet[0]} and {after_wet[1]}, mean of a wet day {mean_mm[0]} and {mean_mm[1]} mm, on day
# {wettest} of the year and half a year later, seed {seed}
"""


def record_text(model: Model) -> str:
    """The record as the text of a plain CSV file."""
    days = [FIRST + timedelta(days=n) for n in range((LAST - FIRST).days + 1)]
    columns = [[str(day) for day in days], minima_c(model, days)]
    head, names = HEADER.format(**vars(model)), "date,tmin_c"
    if model.rain is not None:
        columns.append(rain_mm(model.rain, days))
        head, names = head + RAIN_HEADER.format(**vars(model.rain)), f"{names},rain_mm"
    return f"{head}{names}\n" + "".join(f"{','.join(row)}\n" for row in zip(*columns, strict=True))


def wave_on(day: date, top: int) -> float:
    """1 on the top day of the year, -1 half a year later."""
    return math.cos(2 * math.pi * (day.timetuple().tm_yday - top) / 365.25)


def minima_c(model: Model, days: Sequence[date]) -> list[str]:
    """A minimum for each day, as it is written."""
    noise = np.random.default_rng(model.seed).standard_normal(len(days))
    fresh = math.sqrt(1 - model.persistence**2)
    x, told = 0.0, []
    for day, e in zip(days, noise.tolist(), strict=True):
        x = model.persistence * x + fresh * e
        wave = wave_on(day, model.coldest)
        middle = (model.spread_cold_c + model.spread_warm_c) / 2
        spread = middle + wave * (model.spread_cold_c - model.spread_warm_c) / 2
        told.append(f"{model.mean_c + model.swing_c * wave + spread * x:.1f}")
    return told


def rain_mm(rain: Rain, days: Sequence[date]) -> list[str]:
    """An amount of rain for each day, as it is written."""
    rng = np.random.default_rng(rain.seed)
    chances, amounts = rng.random(len(days)), rng.standard_exponential(len(days))
    wet, told = False, []
    for day, u, amount in zip(days, chances.tolist(), amounts.tolist(), strict=True):
        share = (1 + wave_on(day, rain.wettest)) / 2
        most, least = rain.after_wet if wet else rain.after_dry
        wet = u < least + share * (most - least)
        top_mm, low_mm = rain.mean_mm
        mean_mm = low_mm + share * (top_mm - low_mm)
        told.append(f"{0.1 + mean_mm * amount if wet else 0:.1f}")
    return told


if __name__ == "__main__":
    for model in MODELS:
        path = Path("sites") / model.site / "station.csv"
        path.write_text(record_text(model), encoding="utf-8")
        print("wrote", path)
