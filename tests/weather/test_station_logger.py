"""A data logger's readings become nightly minima from noon to noon."""

from datetime import date, datetime, timedelta

import numpy as np
import pytest

from scheduler.files import Fault
from scheduler.weather import Record, read_record

NOON = datetime(2027, 3, 1, 12)  # noqa: DTZ001  # local time of a logger without a zone


def _lines(
    n_nights: int = 3,
    step_min: int = 30,
    heading: str = "timestamp,temp_c",
    *,
    cold_at: datetime | None = None,
) -> list[str]:
    n = n_nights * 24 * 60 // step_min
    times = [NOON + timedelta(minutes=step_min * at) for at in range(n)]
    return [heading, *(f"{when},{-2.5 if when == cold_at else 6.0}" for when in times)]


def _read(lines: list[str], zone: str | None = None) -> Record:
    record, faults = read_record("logger.csv", lines, zone=zone)
    assert record is not None, [str(fault) for fault in faults]
    return record


def _fault(lines: list[str], unit: str | None = None) -> Fault:
    record, faults = read_record("logger.csv", lines, unit=unit)
    assert record is None
    return faults[0]


@pytest.mark.parametrize("step_min", [5, 10, 15, 30, 60])
def test_the_minimum_belongs_to_the_morning_of_its_night(step_min: int) -> None:
    cold = NOON + timedelta(hours=35)  # an evening belongs to the next day
    record = _read(_lines(step_min=step_min, cold_at=cold))
    assert record.season.first == date(2027, 3, 2)
    assert record.tmin_c.tolist() == [6.0, -2.5, 6.0]


@pytest.mark.parametrize(("hour", "day"), [(11, 0), (12, 1)])
def test_noon_opens_the_next_night(hour: int, day: int) -> None:
    cold = NOON + timedelta(hours=12 + hour)
    assert int(np.argmin(_read(_lines(cold_at=cold)).tmin_c)) == day


@pytest.mark.parametrize(("n_gone", "kept"), [(4, True), (5, False)])
def test_a_night_with_less_than_nine_tenths_of_its_readings_is_left_out(
    n_gone: int, *, kept: bool
) -> None:
    lines = _lines(5)  # 48 readings a night
    start = 1 + 2 * 48 + 20
    record = _read(lines[:start] + lines[start + n_gone :])
    middle = record.tmin_c[record.season.day_of(date(2027, 3, 4))]
    assert np.isnan(middle) != kept
    assert [n.code for n in record.notices] == ([] if kept else ["logger-nights-short"])


def test_a_time_given_twice_counts_once() -> None:
    lines = _lines(5)
    start = 1 + 2 * 48 + 20
    broken = lines[:start] + lines[start + 5 :]
    record = _read(broken + broken[1:])
    assert np.isnan(record.tmin_c[record.season.day_of(date(2027, 3, 4))])


@pytest.mark.parametrize(
    "heading", ["Date Time,Temp °C", "time,Temperature (C)", "timestamp,t_c", "Zeit/time;temp_c"]
)
def test_headings_of_many_makers_are_known(heading: str) -> None:
    lines = _lines(heading=heading)
    if ";" in heading:
        lines = [line.replace(",", ";") for line in lines]
    assert _read(lines).season.n_days == 3


def test_date_and_time_in_columns_of_their_own_are_joined() -> None:
    lines = [line.replace(" ", ",", 1) for line in _lines(heading="")]
    assert _read(["Date,Time,Temp (°C)", *lines[1:]]).season.n_days == 3


def test_a_preamble_and_other_columns_are_passed_over() -> None:
    lines = [line.replace(",", ",55,") for line in _lines(heading="timestamp,rh_pct,temp_c")]
    lines[0] = "timestamp,rh_pct,temp_c"
    assert _read(["Logger of the hollow", "", *lines]).tmin_c.tolist() == [6.0, 6.0, 6.0]


def test_fahrenheit_is_named_in_heading_or_file() -> None:
    assert _read(_lines(heading="timestamp,temp_f")).tmin_c[0] == -14.44
    assert _read(["# unit: F", *_lines(heading="timestamp,temperature")]).tmin_c[0] == -14.44


def test_a_unit_that_nobody_names_is_a_fault() -> None:
    assert "temp_c" in _fault(_lines(heading="timestamp,temperature")).allowed
    assert "one unit" in _fault(["# unit: F", *_lines()]).allowed


@pytest.mark.parametrize("step_min", [1, 120])
def test_readings_come_every_five_to_sixty_minutes(step_min: int) -> None:
    assert "5 to 60 minutes" in _fault(_lines(step_min=step_min)).allowed


@pytest.mark.parametrize(
    "when",
    [
        "03/01/2027 12:00",
        "noon",
        "2027-03-01T12:00:00+00:00",
        "0001-01-01 12:00",
        "2106-03-01 12:00",
        "9999-12-31 23:59",
    ],
)
def test_times_that_cannot_be_told_apart_are_faults(when: str) -> None:
    assert _fault([*_lines(), f"{when},5"]).field == "time"


@pytest.mark.parametrize("value", ["warm", "150", "inf"])
def test_values_that_are_no_temperatures_are_faults(value: str) -> None:
    assert _fault([*_lines(), f"2027-03-04 12:30,{value}"]).field == "temp_c"


def test_times_with_an_offset_are_those_of_the_place() -> None:
    # 10:00 UTC of 2 March is 21:00 in Sydney, an evening that belongs to the 3rd
    lines = _lines(4, heading="timestamp,temp_c", cold_at=NOON + timedelta(hours=22))
    stamped = [line.replace(",", "+00:00,") for line in lines[1:]]
    record = _read([lines[0], *stamped], zone="Australia/Sydney")
    assert record.season.date_of(int(np.nanargmin(record.tmin_c))) == date(2027, 3, 3)
    assert _read(lines).season.date_of(0) == date(2027, 3, 2)
    assert int(np.argmin(_read(lines).tmin_c)) == 0


def test_a_log_shorter_than_a_night_is_a_fault() -> None:
    assert "no night" in _fault(_lines(1)[:20]).found
    assert "no readings" in _fault(_lines(1)[:2]).found


@pytest.mark.parametrize("when", ["0001-01-01T00:00+14:00", "9999-12-31T23:59-12:00"])
def test_an_offset_at_the_end_of_the_calendar_is_a_fault(when: str) -> None:
    record, faults = read_record("logger.csv", [*_lines(), f"{when},5"], zone="Etc/GMT+12")
    assert record is None
    assert faults[0].field == "time"


def test_a_quote_astray_is_a_fault_of_its_line() -> None:
    lines = _lines()
    lines[70] = lines[70].replace(",", ',"')
    assert _fault(lines).table == "row 71"
