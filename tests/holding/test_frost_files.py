"""The files of a site that frost rests on: read, or refused with every fault named."""

from pathlib import Path

import pytest

from scheduler.files import FaultyFilesError
from scheduler.holding import Holding, read_holding
from tests.sites import AS_OF, edit, new_site

FORECAST = "issued,date,tmin_c\n2026-11-24,2026-11-25,1.5\n2026-11-25,2026-11-26,-0.5\n"
EVENINGS = "date,temperature_c,dew_point_c,tmin_c\n2026-03-01,6,-1,-0.5\n"
LOGGER = "timestamp,temp_f\n" + "".join(
    f"2026-02-{day:02d} {hour:02d}:00,{32 + hour % 3}\n"
    for day in range(1, 10)
    for hour in range(24)
)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def _read(site: Path, **changes: object) -> Holding:
    return read_holding(site, AS_OF, **changes)  # type: ignore[arg-type]  # keywords by name


def _with_frost(site: Path, line: str) -> None:
    edit(site, "site.toml", "period_seasons = 30", f"{line}\nperiod_seasons = 30")


def _refused(site: Path) -> list[str]:
    with pytest.raises(FaultyFilesError) as caught:
        _read(site)
    return [str(fault) for fault in caught.value.faults]


def test_forecast_evenings_and_logger_are_read(site: Path) -> None:
    (site / "forecast.csv").write_text(FORECAST, encoding="utf-8")
    (site / "evenings.csv").write_text(EVENINGS, encoding="utf-8")
    (site / "logger.csv").write_text(LOGGER, encoding="utf-8")
    _with_frost(site, 'forecast = "forecast.csv"\nevenings = "evenings.csv"')
    edit(site, "plots.toml", "frost_offset_c = 0.0 ", 'logger = "logger.csv" ')
    frost = _read(site).frost
    assert [night.tmin_c for night in frost.forecast] == [1.5, -0.5]
    assert frost.evenings[0].dew_point_c == -1
    # the coldest reading of each night, 32 degrees F
    assert float(frost.loggers["first-plot"].tmin_c[0]) == 0.0


def test_a_forecast_from_elsewhere_takes_the_place_of_the_sites_own(
    site: Path, tmp_path: Path
) -> None:
    (site / "forecast.csv").write_text(FORECAST, encoding="utf-8")
    _with_frost(site, 'forecast = "forecast.csv"')
    other = tmp_path / "other.csv"
    other.write_text("issued,date,tmin_c\n2026-11-25,2026-11-26,7.5\n", encoding="utf-8")
    assert [n.tmin_c for n in _read(site, forecast=other).frost.forecast] == [7.5]


def _ghcn(first: int, last: int) -> str:
    """Whole numbers, as an export of GHCN-Daily may have them in tenths, degrees C or F."""
    rows = "".join(
        f"USX00000001,2025-01-{day:02d},{first + (day * (last - first)) // 31}\n"
        for day in range(1, 32)
    )
    return "STATION,DATE,TMIN\n" + rows


def test_the_unit_of_a_record_may_stand_in_site_toml(site: Path) -> None:
    (site / "old.csv").write_text(_ghcn(1, 32), encoding="utf-8")
    _with_frost(site, 'units = { "old.csv" = "F" }')
    edit(site, "site.toml", "stations = []", 'stations = ["old.csv"]')
    record = _read(site).record
    assert record is not None
    assert float(record.tmin_c[-1]) == 0.0  # 32 F


def test_the_unit_of_a_logger_may_stand_there_too(site: Path) -> None:
    nameless = LOGGER.replace("temp_f", "temperature")
    (site / "logger.csv").write_text(nameless, encoding="utf-8")
    edit(site, "plots.toml", "frost_offset_c = 0.0 ", 'logger = "logger.csv" ')
    (fault,) = _refused(site)
    assert "one unit" in fault
    _with_frost(site, 'units = { "logger.csv" = "F" }')
    assert float(_read(site).frost.loggers["first-plot"].tmin_c[0]) == 0.0


def test_without_a_unit_the_same_record_is_refused(site: Path) -> None:
    (site / "old.csv").write_text(_ghcn(1, 32), encoding="utf-8")
    edit(site, "site.toml", "stations = []", 'stations = ["old.csv"]')
    (fault,) = _refused(site)
    assert "old.csv" in fault
    assert "unit" in fault


def test_every_fault_of_every_frost_file_is_told_at_once(site: Path) -> None:
    (site / "forecast.csv").write_text("issued,date,tmin_c\n2026-11-25,2026-11-25,1\n", "utf-8")
    (site / "evenings.csv").write_text(
        "date,temperature_c,tmin_c\n2026-03-01,6,-0.5\n", encoding="utf-8"
    )
    _with_frost(
        site,
        'forecast = "forecast.csv"\nevenings = "evenings.csv"\nunits = { "gone.csv" = "F" }\n'
        'bloom = { apple = "half pink", lemon = "full bloom" }',
    )
    edit(
        site,
        "plots.toml",
        "frost_offset_c = 0.0 ",
        'logger = "none.csv"\n'
        'adjustment = [{ id = "hole", by_c = -1 }, { id = "slope", by_c = 1 }] ',
    )
    told = "\n".join(_refused(site))
    for words in (
        "forecast.csv, cell B2 (date)",
        "evenings.csv, row 2, field dew_point_c",
        "none.csv",
        "gone.csv",
        "'half pink'",
        "did you mean first pink?",
        "field lemon",
        "'hole'",
        "did you mean hollow?",
        "field height_m",
    ):
        assert words in told, words


def test_a_sites_own_frost_toml_lies_over_the_packages(site: Path) -> None:
    (site / "frost.toml").write_text(
        '[growth]\ntender_weeks = 6\nsource = "own choice"\n'
        '[[site_adjustment]]\nid = "lake"\nwords = "by the lake"\nlow_c = 0.0\nhigh_c = 2.0\n'
        'per = "plot"\nsource = "own thermometer"\n'
        '[[bloom]]\nplant = "apple"\nsource = "own trees"\n'
        'stage = [{ id = "full bloom", kill10_c = -1.0 }]\n',
        encoding="utf-8",
    )
    data = _read(site).frost.data
    assert data.growth.tender_weeks == 6
    assert data.hardening.unhardened_k == 4  # the package's
    assert data.adjustment("lake") is not None
    assert data.adjustment("hollow") is not None
    bloom = data.bloom_of("apple")
    assert bloom is not None
    assert [stage.kill10_c for stage in bloom.stage] == [-1.0]


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("[growth\n", ""),
        ('[growth]\ntender_weeks = 0\nsource = "x"\n', "tender_weeks"),
        ('[growth]\ntender_weeks = 8\nsource = ""\n', "source"),
    ],
)
def test_a_faulty_frost_toml_is_named(site: Path, text: str, field: str) -> None:
    (site / "frost.toml").write_text(text, encoding="utf-8")
    (fault,) = _refused(site)
    assert fault.startswith("frost.toml")
    assert field in fault
