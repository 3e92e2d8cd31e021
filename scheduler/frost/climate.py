"""From a station record to its frost climate."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.seasons import MAX_MISSING_DAYS, NO_NIGHT, FrostClimate
from scheduler.frost.summaries import FEW_SEASONS
from scheduler.terms import N_SLOTS, Level, Notice, Season, frozen
from scheduler.weather import Record, cold_guess_c, quality_notices, warmest_day_cycle

PERIOD_SEASONS = 30
INDICATIVE_SEASONS = 10


def climate_of(
    record: Record, *, period_seasons: int = PERIOD_SEASONS, southern: bool = False
) -> FrostClimate:
    """Cut a record into cold seasons at its own climatological warmest day.

    The latest ``period_seasons`` count, at least 1. The hemisphere matters where the record is
    too short to tell its own warmest day. The notices are those of the reading and of the
    quality checks.
    """
    cycle = warmest_day_cycle(record.season, record.tmin_c, southern=southern)
    first, last = (cycle.start_year_of(day) for day in (record.season.first, record.season.last))
    whole = Season.between(cycle.date_of(first, 0), cycle.date_of(last, N_SLOTS - 1))
    slots, years = cycle.slots_of(whole)

    def table(values_c: NDArray[np.float64]) -> NDArray[np.int32]:
        """(n_rows, 366) hundredths of the values, ``NO_NIGHT`` where there are none."""
        cells = np.full((last - first + 1, N_SLOTS), NO_NIGHT, dtype=np.int32)
        known = ~np.isnan(values_c)
        hundredths = np.round(values_c[known] * 100).astype(np.int32)
        cells[years[known] - first, slots[known]] = hundredths
        return frozen(cells)

    tmin_c = whole.laid_over(record.season, record.tmin_c)
    held = whole.laid_over(record.season, np.zeros(record.season.n_days))
    recorded = table(tmin_c)
    climate = FrostClimate(
        record.name,
        cycle,
        frozen(np.arange(first, last + 1)),
        recorded,
        table(cold_guess_c(slots, tmin_c)),
        frozen((recorded == NO_NIGHT) & (table(np.zeros(whole.n_days)) != NO_NIGHT)),
        frozen(table(held) != NO_NIGHT),
        period_seasons,
    )
    notices = (*record.notices, *quality_notices(record), *_season_notices(climate))
    return replace(climate, notices=notices)


def _season_notices(climate: FrostClimate) -> Iterator[Notice]:
    dates = climate.seasons(0.0)
    n = dates.n_seasons
    if n == 0:
        says = "No season is known well enough to tell frost dates from."
        yield Notice("station-no-season", Level.WARNING, climate.name, says)
    elif n < INDICATIVE_SEASONS:
        says = f"Only {n} seasons of record: dates and chances are indicative."
        yield Notice("station-few-seasons", Level.WARNING, climate.name, says)
    elif n < FEW_SEASONS:
        says = f"{n} seasons of record: dates are rough."
        yield Notice("station-few-seasons", Level.NOTE, climate.name, says)
    if dates.left_out:
        says = (
            f"Left out, since more than {MAX_MISSING_DAYS} days are missing where frosts "
            f"fall: {', '.join(dates.left_out)}."
        )
        yield Notice("station-seasons-left-out", Level.NOTE, climate.name, says)
