"""Weather from open services: stations near a place and their records, and forecasts."""

from scheduler.fetched.asking import Asker, FetchError
from scheduler.fetched.near_stations import Spot, stations_near, stations_table
from scheduler.fetched.night_forecast import update_forecast
from scheduler.fetched.station_values import FetchedRecord, keep_record, record_of
