"""How long the frost room takes: a record into all tables, and many plots of one station.

    python -m tests.bench.bench_frost

Times are the best of five; caches are emptied before each.
"""

import time
from collections.abc import Callable
from datetime import date
from functools import partial

import numpy as np

from scheduler.frost import FrostClimate, FrostRisk, climate_of
from scheduler.frost.chance_curves import answer_of, chance_within
from scheduler.frost.forecast import ahead_of
from scheduler.frost.risk import risk_of
from scheduler.frost.station_report import free_season, frost_nights, severity
from scheduler.terms import Season
from scheduler.weather import read_record
from tests.frost.records import made

THRESHOLDS_C = (2.2, 0.0, -2.2, -4.4, -6.7, -8.9)  # the six of the NCEI freeze tables
PLAN = Season.between(date(2026, 12, 1), date(2027, 11, 30))
N_PLOTS = 10_000
ROUNDS = 5


def record_lines(n_years: int) -> list[str]:
    """A daily record as the lines of a plain file."""
    record = made(1900, n_years)
    values = zip(record.season, record.tmin_c.tolist(), strict=True)
    return ["date,tmin_c", *(f"{day},{value}" for day, value in values)]


def all_tables(lines: list[str]) -> FrostClimate:
    """Read a record and compute every table of its climate."""
    record, _ = read_record("bench", lines)
    assert record is not None
    climate = climate_of(record)
    severity(climate)
    for threshold_c in THRESHOLDS_C:
        frost_nights(climate, threshold_c)
        free_season(climate.seasons(threshold_c))
        plot = risk(climate, threshold_c=threshold_c)
        plot.chance_within(56)
        ahead_of(plot, date(2027, 4, 1), observed=record)
    return climate


def risk(
    climate: FrostClimate,
    *,
    threshold_c: float = 0.0,
    offset_c: float = 0.0,
    spread_c: float = 0.0,
) -> FrostRisk:
    """The risk of one plot, with everything that a plan asks of it."""
    plot = risk_of(
        climate,
        threshold_c=threshold_c,
        offset_c=offset_c,
        offset_spread_c=spread_c,
        tolerance=0.1,
        season=PLAN,
        southern=False,
    )
    assert plot.open.size == plot.chance_on_or_after.size
    return plot


def many_plots(climate: FrostClimate, spread_c: float) -> None:
    """Plots of one station with offsets all over the range that a grower may give."""
    for offset_c in np.random.default_rng(1).uniform(-4, 2, N_PLOTS).tolist():
        risk(climate, offset_c=offset_c, spread_c=spread_c)


def best_s(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Best wall time of several rounds, with empty caches."""
    times = []
    for _ in range(rounds):
        answer_of.cache_clear()
        chance_within.cache_clear()
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def main() -> None:
    """Print all figures."""
    for n_years in (30, 60, 120):
        took = best_s(partial(all_tables, record_lines(n_years)))
        print(f"{n_years} years read and in all tables: {took:.3f} s")
    climate = all_tables(record_lines(31))
    for spread_c in (0.0, 1.3):
        took = best_s(partial(many_plots, climate, spread_c), 2)
        each_us = 1e6 * took / N_PLOTS
        print(f"{N_PLOTS} plots, spread {spread_c} C: {took:.2f} s, {each_us:.0f} us each")


if __name__ == "__main__":
    main()
