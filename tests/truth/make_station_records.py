"""Writes the invented station records of the demo sites.

No station has measured these values. The model, its numbers and the seed stand here, so
that anybody can make the same bytes again:

    tmin(d) = mean + swing * cos(2 pi (d - coldest) / 365.25) + s(d) * x(d)
    x(d)    = r * x(d - 1) + sqrt(1 - r^2) * e(d),    e(d) ~ N(0, 1)
    s(d)    = spread of the coldest day to spread of the warmest day, along the same cosine

A first-order autoregression about a yearly wave is the usual simple model of daily minima
(Wilks, Statistical Methods in the Atmospheric Sciences; from memory). Run from the top of
the project:

    python tests/truth/make_station_records.py
"""

import math
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np

FIRST, LAST = date(1995, 7, 1), date(2026, 10, 31)


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


MODELS = (
    Model("branasol", 6.4, -5.6, 20, 3.7, 2.4, 0.66, 20261125),
    Model("klipskadu", 9.6, -4.3, 200, 2.9, 2.3, 0.60, 20261126),
)

HEADER = """\
# INVENTED RECORD. No station has measured these values; they are drawn from a random model
# for the demo site {site}. Model and seed: tests/truth/make_station_records.py
# mean {mean_c} C, yearly swing {swing_c} C, coldest on day {coldest} of the year, spread
# {spread_cold_c} C then and {spread_warm_c} C half a year later, persistence {persistence},
# seed {seed}
date,tmin_c
"""


def record_text(model: Model) -> str:
    """The record as the text of a plain CSV file."""
    days = [FIRST + timedelta(days=n) for n in range((LAST - FIRST).days + 1)]
    noise = np.random.default_rng(model.seed).standard_normal(len(days))
    fresh = math.sqrt(1 - model.persistence**2)
    x, rows = 0.0, []
    for day, e in zip(days, noise.tolist(), strict=True):
        x = model.persistence * x + fresh * e
        wave = math.cos(2 * math.pi * (day.timetuple().tm_yday - model.coldest) / 365.25)
        middle = (model.spread_cold_c + model.spread_warm_c) / 2
        spread = middle + wave * (model.spread_cold_c - model.spread_warm_c) / 2
        rows.append(f"{day},{model.mean_c + model.swing_c * wave + spread * x:.1f}\n")
    return HEADER.format(**vars(model)) + "".join(rows)


if __name__ == "__main__":
    for model in MODELS:
        path = Path("sites") / model.site / "station.csv"
        path.write_text(record_text(model), encoding="utf-8")
        print("wrote", path)
