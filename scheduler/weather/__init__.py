"""The record of a place: its formats, loggers, gaps and quality; forecasts and evenings."""

from scheduler.weather.cycle import Cycle, default_cycle, warmest_day_cycle
from scheduler.weather.fill import cold_guess_c
from scheduler.weather.night_files import (
    NIGHT_HEADER,
    Evening,
    ForecastNight,
    read_evenings,
    read_forecast,
    with_nights,
)
from scheduler.weather.quality import quality_notices
from scheduler.weather.station import CLEARLY_TENTHS, COLDEST_C, Record, read_record
