"""Records that many tests look at: open data, and seasons made up for one purpose."""

import csv
import math
from collections.abc import Iterable
from datetime import date, timedelta
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from scheduler.frost import FrostRisk, climate_of
from scheduler.frost.forecast import FrostOutlook, _before, _season_so_far
from scheduler.frost.risk import risk_of
from scheduler.terms import N_SLOTS, Season, frozen
from scheduler.weather import Record, read_record

TABLES = Path(__file__).parents[2] / "../shared/reference/data/frost"
YEAR = Season(date(2027, 1, 1), 365)


def table_lines(name: str) -> list[str]:
    """Lines of a reference table; the test is skipped where it is not at hand."""
    path = TABLES / name
    if not path.exists():
        pytest.skip(f"the reference table {name} is not at hand")
    return path.read_text(encoding="utf-8").splitlines()


@lru_cache(maxsize=1)
def _milwaukee() -> Record:
    name = "us_milwaukee_USW00014839_tmin_1980_2020.csv"
    record, faults = read_record(name, table_lines(name))
    assert record is not None, faults
    return record


def milwaukee(last: date | None = None) -> Record:
    """Daily minima of Milwaukee, 1 July 1980 to 2020 (GHCN-Daily USW00014839)."""
    record = _milwaukee()
    if last is None:
        return record
    season = Season.between(record.season.first, last)
    return Record("milwaukee", season, frozen(record.tmin_c[: season.n_days].copy()))


@lru_cache(maxsize=1)
def seattle() -> Record:
    """Daily minima of Seattle, 2012 to 2015, as the package vega_datasets carries them."""
    spec = find_spec("vega_datasets")
    if spec is None or spec.origin is None:
        pytest.skip("vega_datasets is not installed")
    path = Path(spec.origin).parent / "_data" / "seattle-weather.csv"
    with path.open(newline="", encoding="utf-8") as lines:
        values = {
            date.fromisoformat(row["date"].replace("/", "-")): float(row["temp_min"])
            for row in csv.DictReader(lines)
        }
    return Record.of("seattle", values)


def made(
    first_year: int = 1990,
    n_years: int = 12,
    *,
    seed: int = 0,
    southern: bool = False,
    mean_c: float = 6.0,
    swing_c: float = 9.0,
    noise_c: float = 3.0,
) -> Record:
    """Minima of whole calendar years: a wave with its warmest day near 24 July (or January).

    Noise is a first-order autoregressive series with a correlation of 0.6 from night to
    night, as daily minima roughly have.
    """
    season = Season.between(date(first_year, 1, 1), date(first_year + n_years - 1, 12, 31))
    rng = np.random.default_rng(seed)
    day = np.arange(season.n_days) + season.first.timetuple().tm_yday
    warmest = 24 if southern else 205
    wave = mean_c + swing_c * np.cos(2 * math.pi * (day - warmest) / 365.25)
    noise = rng.normal(0, noise_c * math.sqrt(1 - 0.6**2), season.n_days)
    for at in range(1, season.n_days):
        noise[at] += 0.6 * noise[at - 1]
    return Record("made", season, frozen(np.round(wave + noise, 1)))


def with_frosts(days: Iterable[date], first: date, last: date, frost_c: float = -1.0) -> Record:
    """A record that never falls to 0 but on the given days; warmest on 24 July."""
    season = Season.between(first, last)
    day = np.array([when.timetuple().tm_yday for when in season], dtype=np.float64)
    tmin_c = np.round(12 + 8 * np.cos(2 * math.pi * (day - 205) / 365.25), 1)
    tmin_c[[season.day_of(when) for when in days]] = frost_c
    return Record("made", season, frozen(tmin_c))


def shifted(record: Record, days: int) -> Record:
    """The same values, so many days later."""
    first = record.season.first + timedelta(days=days)
    return Record(record.name, Season(first, record.season.n_days), record.tmin_c)


def warmer(record: Record, by_c: float) -> Record:
    """The same record, warmer by so much every night."""
    return Record(record.name, record.season, frozen(record.tmin_c + by_c))


def of_years(record: Record, first: int, last: int) -> Record:
    """The calendar years from first to last of a record."""
    season = Season.between(date(first, 1, 1), date(last, 12, 31))
    start = record.season.day_of(season.first)
    return Record(record.name, season, record.tmin_c[start : start + season.n_days])


def without(record: Record, gone: NDArray[np.bool_]) -> Record:
    """The same record without some of its days."""
    return Record(record.name, record.season, frozen(np.where(gone, np.nan, record.tmin_c)))


def ask(  # one keyword for each thing a test may vary
    record: Record,
    *,
    threshold_c: float = 0.0,
    offset_c: float = 0.0,
    spread_c: float = 0.0,
    tolerance: float = 0.1,
    season: Season = YEAR,
    southern: bool = False,
    period_seasons: int = 30,
) -> FrostRisk:
    """The risk straight from a record."""
    return risk_of(
        climate_of(record, period_seasons=period_seasons, southern=southern),
        threshold_c=threshold_c,
        offset_c=offset_c,
        offset_spread_c=spread_c,
        tolerance=tolerance,
        season=season,
        southern=southern,
    )


def come_by(outlook: FrostOutlook, observed: Record | None = None) -> NDArray[np.float64]:
    """(366,) chance that the first frost since the warmest day has come, from tomorrow on."""
    risk, ahead = outlook.risk, outlook.joined.ahead
    assert ahead is not None
    as_of = ahead.season.first
    slots, years = risk.cycle.slots_of(Season(as_of + timedelta(days=1), N_SLOTS))
    none_yet, seen_until = _season_so_far(risk, as_of, observed)
    chances = np.array([night.chance for night in outlook.nights])
    return _before(risk, slots, years == years[0], chances, none_yet, seen_until)
