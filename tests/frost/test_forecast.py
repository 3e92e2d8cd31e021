"""Forecast files, and the errors learned from them."""

from datetime import date, timedelta
from statistics import NormalDist

import numpy as np
import pytest

from scheduler.frost.forecast import latest_forecast, lead_errors
from scheduler.holding.frost_data import package_frost_data
from scheduler.terms import Season
from scheduler.weather import ForecastNight, Record, read_forecast

DATA = package_frost_data()
FILE = """# nightly minima at the station
issued,date,tmin_c
2027-04-19,2027-04-20,1.5
2027-04-20,2027-04-21,3
2027-04-20,2027-04-22,-0.5
2027-04-20,2027-04-24,2
"""


def test_a_forecast_file_is_read_in_order() -> None:
    nights, faults = read_forecast("forecast.csv", FILE.splitlines())
    assert faults == []
    assert nights is not None
    assert [night.tmin_c for night in nights] == [1.5, 3, -0.5, 2]
    assert [night.lead for night in nights] == [1, 1, 2, 4]


def test_each_coming_night_goes_by_the_latest_forecast_that_speaks_of_it() -> None:
    nights, _ = read_forecast("forecast.csv", FILE.splitlines())
    assert nights is not None
    run = latest_forecast(nights, date(2027, 4, 20))
    assert [night.date.day for night in run] == [21, 22, 23, 24]
    assert latest_forecast(nights, date(2027, 4, 19))[0].tmin_c == 1.5
    # a day later the forecast still speaks of the next mornings, two and four nights ahead
    assert [n.lead for n in latest_forecast(nights, date(2027, 4, 21))] == [2, 3, 4]
    assert latest_forecast(nights, date(2027, 4, 25)) == ()
    assert latest_forecast(nights, date(2027, 4, 1)) == ()


def test_a_night_that_nobody_forecast_takes_the_colder_of_its_neighbours() -> None:
    """So that a frost behind a gap is not lost."""
    nights, _ = read_forecast("forecast.csv", FILE.splitlines())
    assert nights is not None
    run = latest_forecast(nights, date(2027, 4, 20))
    assert [night.tmin_c for night in run] == [3, -0.5, -0.5, 2]
    only = [ForecastNight(issued=date(2027, 4, 20), date=date(2027, 4, 23), tmin_c=-9.0)]
    assert [n.tmin_c for n in latest_forecast(only, date(2027, 4, 20))] == [-9, -9, -9]


def test_a_shorter_newer_forecast_does_not_hide_the_frosts_of_the_one_before() -> None:
    old = [
        ForecastNight(issued=date(2027, 4, 19), date=date(2027, 4, day), tmin_c=-9.0)
        for day in (21, 22)
    ]
    new = ForecastNight(issued=date(2027, 4, 20), date=date(2027, 4, 21), tmin_c=9.0)
    run = latest_forecast([new, *old], date(2027, 4, 20))
    assert [night.tmin_c for night in run] == [9.0, -9.0]


@pytest.mark.parametrize(
    ("row", "allowed"),
    [
        ("2027-04-20,2027-02-30,1", "a date such as"),
        ("2027-04-20,2027-04-21,cold", "a number"),
        ("2027-04-20,2027-04-21,", "a value in this column"),
        ("2027-04-20,2027-04-21,nan", "a number"),
        ("2027-04-20,2027-04-21,99", "at most 40"),
        ("2027-04-20,2027-04-20,1", "a day after"),
    ],
)
def test_a_faulty_row_is_told_with_its_number(row: str, allowed: str) -> None:
    nights, (fault,) = read_forecast("f.csv", ["issued,date,tmin_c", row])
    assert nights is None
    assert fault.rows == (2,)
    assert allowed in fault.allowed


def test_a_spreadsheet_with_decimal_commas_is_read() -> None:
    lines = ["issued;date;tmin_c", "2027-04-19;2027-04-20;-1,5"]
    nights, _ = read_forecast("f.csv", lines)
    assert nights is not None
    assert nights[0].tmin_c == -1.5


def test_a_night_given_twice_is_a_fault() -> None:
    lines = [*FILE.splitlines(), "2027-04-20,2027-04-21,4"]
    _, (fault,) = read_forecast("f.csv", lines)
    assert "2 times" in fault.found


@pytest.mark.parametrize("lines", [[], ["# nothing"], ["issued,date,minimum"]])
def test_a_file_without_the_columns_is_a_fault(lines: list[str]) -> None:
    nights, (fault,) = read_forecast("f.csv", lines)
    assert nights is None
    assert "issued, date, tmin_c" in fault.allowed


def test_a_file_without_one_of_the_columns_is_a_fault() -> None:
    nights, (fault,) = read_forecast("f.csv", ["date,tmin_c", "2027-04-20,1"])
    assert nights is None
    assert fault.field == "issued"


def test_the_default_errors_begin_with_the_one_that_has_a_source() -> None:
    # Met Office accuracy page: first-night minima within 2 degrees 86.5 % of the time
    errors = lead_errors((), None, date(2027, 4, 20), DATA)
    assert [error.error_c for error in errors] == [1.35, 1.5, 1.7, 1.9, 2.2, 2.5, 2.8]
    share = NormalDist(0, 1.34).cdf(2) - NormalDist(0, 1.34).cdf(-2)
    assert share == pytest.approx(0.865, abs=0.002)


def _history(
    n: int, lead: int, bias_c: float, spread_c: float
) -> tuple[list[ForecastNight], Record]:
    rng = np.random.default_rng(4)
    first = date(2026, 1, 1)
    outcome = rng.normal(3, 4, n + lead + 1)
    nights = []
    for at in range(n):
        issued = first + timedelta(days=at)
        day = issued + timedelta(days=lead)
        said = outcome[at + lead] - bias_c - rng.normal(0, spread_c)
        nights.append(ForecastNight(issued=issued, date=day, tmin_c=float(said)))
    return nights, Record("station", Season(first, outcome.size), outcome)


@pytest.mark.parametrize(("n", "learned"), [(29, False), (30, True)])
def test_thirty_outcomes_at_a_lead_teach_its_error(n: int, *, learned: bool) -> None:
    nights, record = _history(n, 2, -1.5, 0.8)
    errors = lead_errors(nights, record, date(2027, 1, 1), DATA)
    assert errors[1].n_pairs == (n if learned else 0)
    if learned:
        assert errors[1].bias_c == pytest.approx(-1.5, abs=0.4)
        assert errors[1].error_c == pytest.approx(0.8, abs=0.25)
    assert errors[0].n_pairs == 0
    assert errors[0].error_c == 1.35


def test_outcomes_after_today_are_not_looked_at() -> None:
    nights, record = _history(60, 1, -1.5, 0.8)
    early = lead_errors(nights, record, date(2026, 1, 20), DATA)
    assert early[0].n_pairs == 0


def test_forecasts_that_were_always_right_are_not_taken_as_certain() -> None:
    nights, record = _history(40, 1, 0.0, 0.0)
    assert lead_errors(nights, record, date(2027, 1, 1), DATA)[0].error_c >= 0.1
