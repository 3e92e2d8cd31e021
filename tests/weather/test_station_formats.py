"""Every layout of a daily file, on rows made up in the published layout and on open data."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from scheduler.terms import Level
from scheduler.weather import Record, read_record
from scheduler.weather.station_formats import unit_named_in

TABLES = Path(__file__).parents[2] / "../shared/reference/data/frost"
FIXTURE = "fixture_USW00014839_2014"


def _read(lines: list[str], unit: str | None = None) -> Record:
    record, faults = read_record("station", lines, unit=unit)
    assert record is not None, [str(fault) for fault in faults]
    return record


def _table(name: str) -> list[str]:
    path = TABLES / name
    if not path.exists():
        pytest.skip(f"the reference table {name} is not at hand")
    return path.read_text(encoding="utf-8").splitlines()


def _values(record: Record) -> dict[str, float]:
    return {
        f"{day}": value
        for day, value in zip(record.season, record.tmin_c.tolist(), strict=True)
        if not np.isnan(value)
    }


@pytest.mark.parametrize("ending", [".dly", "_access.csv", "_by_station.csv"])
def test_three_codings_of_a_year_of_milwaukee_give_the_values_of_the_record(ending: str) -> None:
    # GHCN-Daily USW00014839, 2014, against the same record in degrees C
    found = _read(_table(FIXTURE + ending))
    whole = _read(_table("us_milwaukee_USW00014839_tmin_1980_2020.csv"))
    start = whole.season.day_of(date(2014, 1, 1))
    assert found.season.first == date(2014, 1, 1)
    assert found.season.n_days == 365
    assert np.array_equal(found.tmin_c, whole.tmin_c[start : start + 365])


def _dly(element: str, values: list[tuple[int, str]], month: str = "201401") -> str:
    # GHCN-Daily readme: value in 5 columns, then measurement, quality and source flag
    cells = [f"{value:5d}{flags}" for value, flags in values]
    cells += ["-9999   "] * (31 - len(values))
    return f"XX000000001{month}{element}" + "".join(cells)


def test_dly_values_with_a_quality_flag_are_left_out() -> None:
    line = _dly("TMIN", [(-149, "  W"), (-160, " IW"), (25, "H  ")])
    assert len(line) == 269
    record = _read([_dly("PRCP", [(5, "   ")]), line])
    assert _values(record) == {"2014-01-01": -14.9, "2014-01-03": 2.5}
    (notice,) = record.notices
    assert notice.code == "station-flagged"
    assert notice.says.startswith("1 values failed")


@pytest.mark.parametrize("flag", list("DGIKLMNORSTWXZ"))
def test_every_quality_flag_of_ghcn_daily_leaves_the_value_out(flag: str) -> None:
    lines = [f"XX1,20140101,TMIN,10,,{flag},W,", "XX1,20140102,TMIN,20,,,W,"]
    assert _values(_read(lines)) == {"2014-01-02": 2.0}


def test_dly_minima_above_the_maximum_of_the_day_are_left_out() -> None:
    days = [(n, "   ") for n in range(10, 38)]
    lines = [_dly("TMIN", days), _dly("TMAX", [(11, "   "), (5, " X "), *[(90, "   ")] * 26])]
    lines += [_dly("TMIN", days, "201402"), _dly("TMAX", [(3, "   "), *days[1:]], "201402")]
    record = _read(lines)
    assert record.tmin_c[1] == 1.1  # its maximum was flagged and says nothing
    assert np.isnan(record.tmin_c[31])
    assert [notice.code for notice in record.notices] == ["station-min-above-max"]


def test_by_station_rows_take_the_minimum_and_leave_the_other_elements() -> None:
    lines = [
        "XX000000001,20140101,TMAX,50,,,W,2400",
        "XX000000001,20140101,TMIN,-149,,,W,2400",
        "XX000000001,20140101,PRCP,3,,,W",
        "XX000000001,20140102,TMIN,-9999,,,W,2400",
        "XX000000001,20140103,TMIN,5,,,W,",
    ]
    assert _values(_read(lines)) == {"2014-01-01": -14.9, "2014-01-03": 0.5}


ACCESS = '"STATION","DATE","NAME","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"'


def test_access_files_carry_the_flag_in_their_attributes() -> None:
    lines = [
        ACCESS,
        '"X1","2014-01-01","A, B","   50",",,W","  -22",",,W,2400"',
        '"X1","2014-01-02","A, B","   50",",,W","  -30",",S,W,2400"',
        '"X1","2014-07-01","A, B","  250",",,W","  180",",,W,2400"',
    ]
    record = _read(lines)
    assert _values(record) == {"2014-01-01": -2.2, "2014-07-01": 18.0}
    assert any(notice.says.startswith("1 values failed") for notice in record.notices)


def test_access_files_that_may_be_degrees_of_another_unit_are_not_guessed() -> None:
    # exports in whole degrees F look like tenths: 28 F would be read as 2.8 C
    lines = [
        ACCESS,
        '"X1","2014-01-01","A","50","","28",""',
        '"X1","2014-07-01","A","80","","66",""',
    ]
    record, (fault,) = read_record("station.csv", lines)
    assert record is None
    assert "# unit: 0.1 C" in fault.allowed
    assert _values(_read(["# unit: F", *lines]))["2014-01-01"] == -2.22
    assert _values(_read(lines, unit="0.1 C"))["2014-01-01"] == 2.8


def test_access_files_with_decimals_want_their_unit_named() -> None:
    lines = [ACCESS, '"X1","2014-01-01","A","5.0","","-2.2",""']
    record, (fault,) = read_record("station.csv", lines)
    assert record is None
    assert "# unit: C" in fault.allowed
    assert _values(_read(lines, unit="C")) == {"2014-01-01": -2.2}


def test_eca_d_text_with_its_preamble() -> None:
    # ECA&D: quality 0 valid, 1 suspect, 9 missing; tenths of a degree C
    lines = [
        "EUROPEAN CLIMATE ASSESSMENT & DATASET (ECA&D), file created on 01-01-2020",
        "THESE DATA CAN BE USED FREELY, PROVIDED THAT THE SOURCE IS ACKNOWLEDGED",
        "",
        "FILE FORMAT (MISSING VALUE CODE IS -9999):",
        "01-06 STAID: Station identifier",
        "30-34 Q_TN : quality code for TN (0='valid'; 1='suspect'; 9='missing')",
        "",
        "STAID, SOUID,    DATE,   TN, Q_TN",
        "     1, 10001,20140101,  -22,    0",
        "     1, 10001,20140102,  -80,    1",
        "     1, 10001,20140103,-9999,    9",
        "     1, 10001,20140104,   15,    0",
    ]
    record = _read(lines)
    assert _values(record) == {"2014-01-01": -2.2, "2014-01-04": 1.5}
    assert any(notice.says.startswith("1 values failed") for notice in record.notices)


def test_the_german_daily_file_takes_the_minimum_at_2_m() -> None:
    # order of the last columns UPM, TXK, TNK, TGK, eor as in the R package rdwd
    lines = [
        "STATIONS_ID;MESS_DATUM;QN_3;  FX;QN_4; RSK; TMK; UPM; TXK; TNK; TGK;eor",
        "       1234;20140101;   10; 9.9;    3; 0.0; 1.0;80.0; 4.2;-1.8;-4.9;eor",
        "       1234;20140102;   10; 9.9;    3; 0.0; 1.0;80.0; 4.2;-999;-4.9;eor",
        "       1234;20140103;   10; 9.9;    3; 0.0; 1.0;80.0;-999; 0.0;-4.9;eor",
    ]
    assert _values(_read(lines)) == {"2014-01-01": -1.8, "2014-01-03": 0.0}


def test_the_australian_daily_file() -> None:
    lines = [
        "Product code,Bureau of Meteorology station number,Year,Month,Day,"
        "Minimum temperature (Degree C),Days of accumulation of minimum temperature,Quality",
        "IDCJAC0011,070351,2010,05,12,-0.4,1,Y",
        "IDCJAC0011,070351,2010,05,13,,,",
        "IDCJAC0011,070351,2010,05,14,3.1,2,N",
    ]
    assert _values(_read(lines)) == {"2010-05-12": -0.4, "2010-05-14": 3.1}


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("tmin_c", "C"),
        ("Temp, °C", "C"),
        ("Temperature (°F)", "F"),
        ("Temperature [C]", "C"),
        ("minimum temperature (degree c)", "C"),
        ("Temp (Degrees Fahrenheit)", "F"),
        ("temperature", None),
        ("T", None),
        ("canopy", None),
    ],
)
def test_a_heading_names_its_unit_or_none(heading: str, unit: str | None) -> None:
    assert unit_named_in(heading) == unit


def _rain(record: Record) -> dict[str, float]:
    assert record.rain_mm is not None
    return {
        f"{day}": round(value, 2)
        for day, value in zip(record.season, record.rain_mm.tolist(), strict=True)
        if not np.isnan(value)
    }


def test_the_german_daily_file_has_its_rain_in_mm() -> None:
    """RSK, the height of precipitation of a day in mm, missing -999: description that goes with
    the archive of daily climate data, from memory; names as in the R package rdwd."""
    lines = [
        "STATIONS_ID;MESS_DATUM;QN_3;  FX;  FM;QN_4; RSK;RSKF; TMK; UPM; TXK; TNK; TGK;eor",
        "       1234;20140101;   10; 9.9; 2.0;   3;12.4;   6; 1.0;80.0; 4.2;-1.8;-4.9;eor",
        "       1234;20140102;   10; 9.9; 2.0;   3;-999;-999; 1.0;80.0; 4.2;-2.8;-4.9;eor",
        "       1234;20140103;   10; 9.9; 2.0;   3; 0.0;   0; 1.0;80.0; 4.2; 0.0;-4.9;eor",
    ]  # fmt: skip
    record = _read(lines)
    assert _rain(record) == {"2014-01-01": 12.4, "2014-01-03": 0.0}
    assert record.notices == ()  # -999 is the layout's own word for nothing


def _plain(*rain: str) -> list[str]:
    return ["date,tmin_c,rain_mm", *(f"2027-01-{n:02d},1.0,{r}" for n, r in enumerate(rain, 1))]


@pytest.mark.parametrize(
    "code", ["-999", "-999.0", "-99.9", "-1", "-0.1", "999", "999.0", "999.9", "9999", "9999.9"]
)
def test_what_stands_for_no_rain_read_is_neither_wet_nor_dry(code: str) -> None:
    record = _read(_plain("0.0", code, "7.5"))
    assert _rain(record) == {"2027-01-01": 0.0, "2027-01-03": 7.5}
    (told,) = (n for n in record.notices if n.code == "station-no-rain-read")
    assert (told.level, "1 day (2027-01-02)" in told.says) == (Level.NOTE, True)


@pytest.mark.parametrize(
    ("lines", "mm"),
    [
        # 999 and 9.99 are amounts where they are tenths of a mm, or small
        ([_dly("PRCP", [(999, "   ")]), _dly("TMIN", [(-149, "   ")])], 99.9),
        (_plain("9.99"), 9.99),
        (_plain("99.9"), 99.9),
        # the most of any day, and the most of a day in the mountains of Taiwan (from memory)
        (_plain("1825"), 1825.0),
        (_plain("1623.5"), 1623.5),
        (["# unit: F", '"STATION","DATE","TMIN","PRCP"', '"X1","2014-01-01","28","9.99"'], 253.75),
    ],
)
def test_heavy_rain_is_rain(lines: list[str], mm: float) -> None:
    record = _read(lines)
    assert list(_rain(record).values()) == [mm]
    assert record.notices == ()


def test_codes_of_other_layouts_are_no_rain_either() -> None:
    tenths = _read([_dly("PRCP", [(9999, "   ")]), _dly("TMIN", [(-149, "   ")])])
    inches = ["# unit: F", '"STATION","DATE","TMIN","PRCP"', '"X1","2014-01-01","28","99.99"']
    for record in (tenths, _read(inches)):
        assert record.rain_mm is None


def test_more_rain_than_on_any_day_on_earth_is_a_fault_with_its_row() -> None:
    """1825 mm, Foc-Foc, La Réunion, 1966: World Meteorological Organization, from memory."""
    record, faults = read_record("station.csv", _plain("0", "1826", "2000.5"))
    assert record is None
    assert [(f.file, f.table, f.field, f.found) for f in faults] == [
        ("station.csv", "row 3", "rain", "'1826'"),
        ("station.csv", "row 4", "rain", "'2000.5'"),
    ]
    assert "1825 mm" in faults[0].allowed


def test_layouts_without_rain_have_none() -> None:
    """ECA&D and the Australian bureau keep rain in files of their own."""
    eca = ["STAID, SOUID,    DATE,   TN, Q_TN", "     1, 10001,20140101,  -22,    0"]
    bom = [
        "Year,Month,Day,Minimum temperature (Degree C),Days of accumulation,Quality",
        "2010,05,12,-0.4,1,Y",
    ]
    for lines in (eca, bom):
        assert _read(lines).rain_mm is None


@pytest.mark.parametrize("at", [0, 5, 12, 18])
def test_a_line_of_fixed_columns_that_is_shifted_is_not_passed_over(at: int) -> None:
    line = _dly("TMIN", [(-149, "  W")])
    shifted = line.replace("201401", "201402")
    record, faults = read_record("x.dly", [line, shifted[:at] + '"' + shifted[at:]])
    assert record is None
    assert [fault.table for fault in faults] == ["row 2"]


def test_a_short_row_of_another_element_is_passed_over() -> None:
    lines = ["XX1,20140101,TMIN,10,,,W,", "XX1,20140101,TMAX"]
    assert _values(_read(lines)) == {"2014-01-01": 1.0}
