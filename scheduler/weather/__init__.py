"""The record of a place: its formats, loggers, gaps and quality; forecasts and evenings."""

from scheduler.weather.evening_readings import Evening
from scheduler.weather.forecasts import ForecastNight
from scheduler.weather.station import Record, read_record

__all__ = ["Evening", "ForecastNight", "Record", "read_record"]
