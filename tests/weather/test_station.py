"""Station records: reading, filling, and what is left out with a word."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.files import Fault
from scheduler.terms import Level
from scheduler.weather import Record, read_record
from tests.sites import ROOT


def _read(*lines: str, unit: str | None = None) -> Record:
    record, faults = read_record("station.csv", lines, unit=unit)
    assert record is not None, [str(fault) for fault in faults]
    return record


def _faults(*lines: str, unit: str | None = None) -> list[Fault]:
    record, faults = read_record("station.csv", lines, unit=unit)
    assert record is None
    assert faults
    return faults


def _codes(record: Record) -> dict[str, Level]:
    return {notice.code: notice.level for notice in record.notices}


def _days(n: int, value: str = "5.0") -> list[str]:
    return [f"2026-{1 + n // 28:02d}-{1 + n % 28:02d},{value}" for n in range(n)]


def test_plain_values_are_laid_out_by_day_whatever_their_order() -> None:
    record = _read("date,tmin_c", "2027-01-03,-1.5", "2027-01-01,2")
    assert record.season.first == date(2027, 1, 1)
    assert record.tmin_c.tolist()[::2] == [2.0, -1.5]
    assert np.isnan(record.tmin_c[1])
    assert record.notices == ()
    assert not record.tmin_c.flags.writeable


@given(st.dictionaries(st.dates(date(2000, 1, 1), date(2003, 12, 31)), st.integers(-400, 300)))
def test_what_is_written_is_read_back(values: dict[date, int]) -> None:
    lines = ["date,tmin_c", *(f"{day},{tenths / 10}" for day, tenths in values.items())]
    record, faults = read_record("r.csv", lines)
    if not values:
        assert record is None
        assert faults
        return
    assert record is not None
    for day, tenths in values.items():
        assert record.tmin_c[record.season.day_of(day)] == tenths / 10
    assert int((~np.isnan(record.tmin_c)).sum()) == len(values)


def test_comments_blank_lines_and_a_byte_order_mark_are_passed_over() -> None:
    record = _read("\ufeff# my station", "", "date,tmin_c", "# winter", "2027-01-01,2\r\n")
    assert record.tmin_c.tolist() == [2.0]


@pytest.mark.parametrize("missing", ["", "NA", "NaN", "-9999"])
def test_missing_values_are_no_values(missing: str) -> None:
    record = _read("date,tmin_c", "2027-01-01,2", f"2027-01-02,{missing}", "2027-01-03,3")
    assert np.isnan(record.tmin_c[1])


def test_semicolons_and_decimal_commas_are_read() -> None:
    assert _read("date;tmin_c", "2027-01-01;-2,5").tmin_c.tolist() == [-2.5]


def test_fahrenheit_is_named_in_the_heading() -> None:
    assert _read("date,tmin_f", "2027-01-01,32", "2027-01-02,28").tmin_c.tolist() == [0.0, -2.22]


def test_a_unit_that_the_heading_contradicts_is_a_fault() -> None:
    (fault,) = _faults("# unit: F", "date,tmin_c", "2027-01-01,32")
    assert fault.field == "unit"
    (fault,) = _faults("date,tmin_c", "2027-01-01,32", unit="F")
    assert fault.field == "unit"


def test_a_unit_that_is_none_is_a_fault() -> None:
    (fault,) = _faults("# unit: K", "date,tmin_c", "2027-01-01,280")
    assert "C, F, 0.1 C" in fault.allowed


def test_the_same_value_twice_is_a_note_and_a_different_one_a_warning() -> None:
    record = _read("date,tmin_c", "2027-01-01,2", "2027-01-01,2", "2027-01-02,1")
    assert _codes(record) == {"station-duplicate": Level.NOTE}
    for lines in (("2027-01-01,2", "2027-01-01,-1"), ("2027-01-01,-1", "2027-01-01,2")):
        record = _read("date,tmin_c", *lines)
        assert _codes(record) == {"station-duplicate-differs": Level.WARNING}
        assert record.tmin_c.tolist() == [-1.0]  # the colder is the safe one
        assert "2027-01-01" in record.notices[0].says


def test_a_value_never_read_on_earth_is_left_out_and_told() -> None:
    record = _read("date,tmin_c", *_days(100), "2027-01-01,85.2", "2027-01-02,-120")
    assert _codes(record) == {"station-out-of-range": Level.WARNING}
    assert "2 days (2027-01-01, 2027-01-02)" in record.notices[0].says
    assert record.season.last == date(2026, 4, 16)


def test_many_values_out_of_range_mean_a_wrong_unit() -> None:
    (fault,) = _faults("date,tmin_c", *_days(10), *(f"2027-01-{d:02d},60" for d in range(1, 10)))
    assert "9 of 19" in fault.found
    assert "unit" in fault.allowed


def test_a_minimum_above_the_maximum_is_left_out_and_told() -> None:
    rows = [f"{day},9" for day in _days(100, "3")]
    record = _read(
        "date,tmin_c,tmax_c", *rows, "2027-01-01,9,4", "2027-01-02,4,4", "2027-01-03,2,"
    )
    assert _codes(record) == {"station-min-above-max": Level.WARNING}
    assert np.isnan(record.tmin_c[record.season.day_of(date(2027, 1, 1))])
    assert record.tmin_c[record.season.day_of(date(2027, 1, 2))] == 4


def test_swapped_columns_are_a_fault() -> None:
    (fault,) = _faults("date,tmin_c,tmax_c", *(f"{day},1" for day in _days(20)))
    assert "swapped" in fault.allowed


@pytest.mark.parametrize(
    ("row", "field"),
    [
        ("2027-02-30,1", "date"),
        ("tomorrow,1", "date"),
        ("2027-01-01,cold", "tmin_c"),
        ("2027-01-01,inf", "tmin_c"),
    ],
)
def test_what_cannot_be_understood_is_a_fault_with_its_row(row: str, field: str) -> None:
    (fault,) = _faults("date,tmin_c", "2027-01-05,1", row)
    assert (fault.table, fault.field) == ("row 3", field)


def test_many_faults_of_a_kind_are_shortened() -> None:
    faults = _faults("date,tmin_c", *_days(20, "x"))
    assert len(faults) == 6
    assert "15 more" in faults[-1].found


@pytest.mark.parametrize(
    "lines", [(), ("# only words",), ("date,tmin_c",), ("date,tmin_c", "2027-01-01,")]
)
def test_a_file_without_values_is_a_fault(lines: tuple[str, ...]) -> None:
    (fault,) = _faults(*lines)
    assert fault.found in ("no rows", "no values")


def test_a_layout_that_is_none_of_those_known_is_a_fault() -> None:
    (fault,) = _faults("day,min", "2027-01-01,2")
    assert "date,tmin_c" in fault.allowed


def test_gaps_are_filled_from_the_less_trusted_station_and_only_gaps() -> None:
    one = _read("date,tmin_c", "2027-01-01,1", "2027-01-03,3")
    other = _read("date,tmin_c", "2027-01-01,1.5", "2027-01-02,9", "2027-01-04,4")
    filled = one.filled_from(other)
    assert filled.tmin_c.tolist() == [1, 9, 3, 4]
    assert filled.name == "station.csv, station.csv"
    (notice,) = filled.notices
    assert (notice.code, notice.level) == ("station-filled", Level.NOTE)
    assert "2 days" in notice.says
    assert "+0.5" in notice.says


def test_filling_from_a_warmer_station_is_a_warning() -> None:
    one = _read("date,tmin_c", *(f"2027-01-{d:02d},0" for d in range(1, 10)))
    other = _read("date,tmin_c", *(f"2027-01-{d:02d},2" for d in range(1, 12)))
    assert one.filled_from(other).notices[0].level is Level.WARNING


def test_filling_from_a_station_without_a_common_day_is_a_warning() -> None:
    one = _read("date,tmin_c", "2027-01-01,0")
    other = _read("date,tmin_c", "2027-01-05,0")
    filled = one.filled_from(other)
    assert filled.notices[0].level is Level.WARNING
    assert filled.season.n_days == 5


TABLE = (ROOT / "sites" / "branasol" / "station.csv").read_text("utf-8").splitlines()[:400]


@given(st.data())
def test_a_stray_quote_takes_no_day_with_it(data: st.DataObject) -> None:
    """What stood behind it went into its cell, years of it."""
    text = "\n".join(TABLE)
    at = data.draw(st.integers(0, len(text)))
    record, faults = read_record("station.csv", (text[:at] + '"' + text[at:]).split("\n"))
    sound, _ = read_record("station.csv", TABLE)
    assert sound is not None
    if record is None:
        assert faults
        return
    assert np.array_equal(record.tmin_c, sound.tmin_c, equal_nan=True)
    assert (record.rain_mm is None) is (sound.rain_mm is None)


@pytest.mark.parametrize(
    "row", ['"2027-01-02,1', '2027-01-02,"1', '2027-01-02,"1"2', '"2027-01-02']
)
def test_a_quote_astray_is_a_fault_of_its_line(row: str) -> None:
    lines = ["date,tmin_c", "2027-01-01,2", row, "2027-01-03,3", '2027-01-04,"4"']
    (fault,) = _faults(*lines)
    assert fault.table == "row 3"
    assert "is not closed" in fault.found
    assert _faults(*lines, '2027-01-05,"1')[1].table == "row 6", "all at once"


def test_a_row_of_one_quoted_cell_is_no_day_without_a_value() -> None:
    (fault,) = _faults("date,tmin_c", "2027-01-01,2", '"2027-01-02,3"')
    assert (fault.table, fault.field) == ("row 3", "date")


def test_a_comment_that_a_spreadsheet_has_saved_still_names_the_unit() -> None:
    lines = ('"# unit: F",,', '"STATION","DATE","TMIN"', '"X1","2014-01-01","28"')
    assert _read(*lines).tmin_c.tolist() == [-2.22]


@pytest.mark.parametrize(
    "day", ["0001-01-01", "1849-12-31", "2101-01-01", "2106-05-01", "9999-12-31"]
)
@pytest.mark.parametrize("value", ["3", ""])
def test_a_year_in_which_nothing_was_measured_is_a_fault(day: str, value: str) -> None:
    """A record from then on would have millions of days."""
    (fault,) = _faults("date,tmin_c", "2027-01-01,2", f"{day},{value}")
    assert (fault.table, fault.field, fault.found) == ("row 3", "date", f"'{day}'")
    assert "1850-01-01 to 2100-12-31" in fault.allowed


def test_a_cell_that_is_too_long_is_a_fault_of_its_line() -> None:
    (fault,) = _faults("date,tmin_c", "2027-01-01,2", f"2027-01-02,{'1' * 131_073}")
    assert fault.table == "row 3"
    assert "131072 characters" in fault.found


@pytest.mark.parametrize("value", ["9" * 5000, "1e400"])
def test_a_number_beyond_all_bounds_is_a_fault(value: str) -> None:
    (fault,) = _faults("date,tmin_c", "2027-01-01,2", f"2027-01-02,{value}")
    assert (fault.table, fault.field) == ("row 3", "tmin_c")
    assert len(str(fault)) < 200
