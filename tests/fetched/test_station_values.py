"""A station's values become a record that the site reads back as they were."""

import json
import math
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from scheduler.fetched import FetchError, keep_record, record_of
from scheduler.fetched.station_values import FetchedRecord
from scheduler.holding import read_holding
from scheduler.weather import Record, read_record
from tests.fetched.services import (
    TODAY,
    Weather,
    broken_off,
    contents,
    http,
    minima,
    one_line,
    values_csv,
    weather,
)
from tests.sites import AS_OF, edit, new_site

STATION = "AU000012345"
FILE = f"station-{STATION}.csv"
TMIN_C = minima(date(1996, 1, 1), date(2026, 10, 31))
FLAGGED, MISSING = date(2001, 3, 4), date(2002, 5, 6)
GOOD = values_csv(STATION, TMIN_C)


def fetched(csv: str, station: str = STATION) -> FetchedRecord:
    with weather({"/values": [http(200, csv)]}) as service, service.asker() as ask:
        return record_of(ask, station, TODAY)


def read_back(got: FetchedRecord) -> Record:
    record, faults = read_record(got.file, got.content.decode().split("\n"))
    assert faults == []
    assert record is not None
    return record


def by_day(record: Record) -> dict[date, float]:
    days = dict(zip(record.season, map(float, record.tmin_c), strict=True))
    return {day: value for day, value in days.items() if not math.isnan(value)}


@pytest.mark.parametrize("tenths", [False, True])
def test_the_fetched_record_is_read_back_equal(tenths: bool) -> None:
    told = {day: value for day, value in TMIN_C.items() if day != MISSING}
    got = fetched(values_csv(STATION, told, flags={FLAGGED: "I"}, tenths=tenths))
    record = read_back(got)
    want = {day: value for day, value in told.items() if day != FLAGGED}
    assert by_day(record) == want
    assert record.places == ((FILE, 46.6, 14.3),)
    assert record.tmax_c is not None
    assert record.rain_mm is not None
    assert float(record.tmax_c[1]) == pytest.approx(TMIN_C[date(1996, 1, 2)] + 9)
    assert [round(float(rain), 1) for rain in record.rain_mm[:3]] == [0.0, 1.2, 2.4]
    head = got.content.decode().split("STATION,")[0]
    for words in (STATION, "INVENTED VALLEY", "/values, dataset daily-summaries", f"{TODAY}",
                  "Licence: open data of the US government", "1 that bear a quality flag",
                  "tenths" if tenths else "degrees C and mm"):  # fmt: skip
        assert words in head
    assert all(line.startswith("#") for line in head.splitlines())
    assert "came as tenths" in got.says[0] if tenths else "came as degrees C" in got.says[0]


def test_only_the_last_forty_years_are_asked_for_and_flags_and_place_with_them() -> None:
    with weather({"/values": [http(200, GOOD)]}) as service, service.asker() as ask:
        record_of(ask, STATION, TODAY)
        (question,) = service.questions("/values")
    asked = {
        "dataset": "daily-summaries", "stations": STATION, "startDate": "1986-01-01",
        "endDate": "2026-11-25", "dataTypes": "TMIN,TMAX,PRCP", "format": "csv", "units": "metric",
        "includeAttributes": "true", "includeStationLocation": "1", "includeStationName": "true",
    }  # fmt: skip
    assert asked.items() <= question.items()


def test_a_last_line_that_may_be_cut_off_is_not_taken() -> None:
    record = read_back(fetched(GOOD.removesuffix("\n")))
    assert record.season.last == date(2026, 10, 30)


def test_a_height_that_is_not_known_is_none() -> None:
    got = fetched(values_csv(STATION, TMIN_C, where="46.6,14.3,-999.9"))
    assert f"{STATION},1996-01-01,46.6,14.3,,".encode() in got.content


@cache
def earlier() -> bytes:
    """The file of an earlier day."""
    return fetched(GOOD).content


@contextmanager
def site_and_service(
    folder: Path, monkeypatch: pytest.MonkeyPatch, *answers: bytes
) -> Iterator[tuple[Path, Weather]]:
    with weather({"/values": list(answers)}) as service:
        monkeypatch.setattr("scheduler.fetched.Asker", lambda: service.asker())
        yield new_site(folder / "site"), service


def ran(*args: object) -> Result:
    words = [str(arg) for arg in args]
    return CliRunner().invoke(app, [*words, "--as-of", AS_OF.isoformat()])


def changed(old: str, new: str) -> bytes:
    assert old in GOOD
    return http(200, GOOD.replace(old, new))


whole = {day: float(round(value)) for day, value in TMIN_C.items()}
NONSENSE = {
    "a web page": http(200, "<!DOCTYPE html><html>maintenance</html>"),
    "an error in JSON": http(200, '{"errorMessage": "oops"}\n'),
    "bytes": http(200, b"\xff\xfe\x00\x01"),
    "nothing": http(200, ""),
    "a header alone": http(200, GOOD.split("\n")[0] + "\n"),
    "no minimum": changed('"TMIN",', '"TMIN_X",'),
    "no flags": changed('"TMIN_ATTRIBUTES"', '"TMIN_FLAGS"'),
    "no place": changed('"LATITUDE"', '"LAT"'),
    "another station": changed(STATION, "AU000099999"),
    "a day that is none": changed('"1999-02-28"', '"1999-02-29"'),
    "a latitude that is a word": changed('"46.6"', '"north"'),
    "a latitude of nowhere": changed('"46.6"', '"146.6"'),
    "a cell too few": changed('"1999-02-28",', ""),
    "a torn quote": changed('"1999-02-28"', '"1999-02"28"'),
    "a value that is none": changed(f'AU","{TMIN_C[FLAGGED]}"', 'AU","cold"'),
    "no value at all": http(200, values_csv(STATION, {})),
    "all doubted": http(200, values_csv(STATION, TMIN_C, flags=dict.fromkeys(TMIN_C, "X"))),
    "degrees F or C": http(200, values_csv(STATION, whole).replace('.0",', '",')),
    "kelvin": http(200, values_csv(STATION, {d: v + 273.15 for d, v in TMIN_C.items()})),
    "broken off": broken_off(GOOD[:5000]),
    "refused": http(403),
    "too many questions": http(429),
    "out of order": http(500, "<html>"),
    "elsewhere": http(302, Location="http://example.org/"),
}  # fmt: skip


@pytest.mark.parametrize("answer", NONSENSE.values(), ids=NONSENSE.keys())
def test_nonsense_is_one_line_and_nothing_is_written(
    answer: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with site_and_service(tmp_path, monkeypatch, answer) as (site, _):
        (site / FILE).write_bytes(earlier())
        before = contents(site)
        result = ran("frost", site, "--fetch", "--station", STATION)
        assert result.exit_code == 2, result.output
        assert one_line(result.stderr).endswith("Nothing was written.")
        assert result.stdout == ""
        assert contents(site) == before


@pytest.mark.parametrize("station", ["../../etc", "AU0", "AU00001234/", "", "AU000012345&x=1"])
def test_what_is_no_id_is_not_asked_for(station: str) -> None:
    with weather({"/values": [http(200, GOOD)]}) as service, service.asker() as ask:
        with pytest.raises(FetchError, match="is no station"):
            record_of(ask, station, TODAY)
        assert len(service.heard) == 0


def test_a_file_of_somebody_else_is_left(tmp_path: Path) -> None:
    (tmp_path / FILE).write_text("date,tmin_c\n2026-01-01,1\n", encoding="utf-8")
    with pytest.raises(FetchError, match="was not fetched"):
        keep_record(tmp_path, fetched(GOOD))
    assert (tmp_path / FILE).read_text(encoding="utf-8").startswith("date,tmin_c")


def test_a_shorter_record_does_not_replace_a_longer_one(tmp_path: Path) -> None:
    keep_record(tmp_path, fetched(GOOD))
    less = {day: value for day, value in TMIN_C.items() if day.year > 2005}
    with pytest.raises(FetchError, match="the old file is kept"):
        keep_record(tmp_path, fetched(values_csv(STATION, less)))
    more = TMIN_C | minima(date(2026, 11, 1), date(2026, 11, 20))
    keep_record(tmp_path, fetched(values_csv(STATION, more)))
    assert b",2026-11-20," in (tmp_path / FILE).read_bytes()


def test_a_name_that_would_forge_a_line_stays_in_its_comment() -> None:
    got = fetched(values_csv(STATION, TMIN_C, name="A\n1999-01-01,B\r# unit: F"))
    assert by_day(read_back(got)) == TMIN_C
    head = got.content.decode().split("STATION,")[0].split("\n")[:-1]
    assert all(line.startswith("#") and line.isprintable() for line in head)


def test_a_torn_line_is_told_by_its_cells() -> None:
    with pytest.raises(FetchError, match=f"Station {STATION}: a line has 11 cells of 12; nothing"):
        fetched(GOOD.replace('"1999-02-28",', ""))


def test_from_the_service_to_the_frost_window(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with site_and_service(tmp_path, monkeypatch, http(200, GOOD)) as (site, _):
        result = ran("frost", site, "--fetch", "--station", STATION)
        assert result.exit_code == 0, result.output
        line = f'stations = ["{FILE}"]'
        assert f"put this under [frost] in site.toml: {line}" in result.stdout
        assert f"{len(TMIN_C)} daily minima, 1996-01-01 to 2026-10-31" in result.stdout
        edit(site, "site.toml", "stations = []", line)
        again = ran("frost", site, "--fetch", "--station", STATION)
        assert "site.toml" not in again.stdout
    record = read_holding(site, AS_OF).record
    assert record is not None
    assert by_day(record) == TMIN_C
    (plot,) = json.loads(ran("frost", site, "--json").stdout)["plots"]
    because = f"30 seasons of record, 1996 to 2026; station {FILE};"
    assert plot["because"].startswith(because)


def test_other_files_need_not_be_in_order_yet(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with site_and_service(tmp_path, monkeypatch, http(200, GOOD)) as (site, _):
        edit(site, "site.toml", "stations = []", f'stations = ["{FILE}"]')
        (site / "stock.csv").write_text("nonsense", encoding="utf-8")
        assert ran("frost", site, "--fetch", "--station", STATION).exit_code == 0
        edit(site, "site.toml", "lat_deg = 46.5", "lat_deg = 146.5")
        result = ran("frost", site, "--fetch", "--station", STATION)
        assert result.exit_code == 2
        assert "lat_deg" in one_line(result.stderr)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--station", STATION), "--station goes with --fetch"),
        (("--fetch", "--update-forecast"), "two different things"),
        (("--fetch", "--history"), "two different things"),
        (("--fetch", "--station", STATION, "--json"), "--json goes with"),
        (("--update-forecast", "--json"), "--json goes with"),
    ],
)
def test_options_that_do_not_go_together_are_refused(
    options: tuple[str, ...], words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with site_and_service(tmp_path, monkeypatch, http(200, GOOD)) as (site, service):
        result = ran("frost", site, *options)
        assert result.exit_code == 2
        assert words in one_line(result.stderr)
        assert len(service.heard) == 0


def test_a_gap_of_a_day_is_a_gap() -> None:
    assert (MISSING - timedelta(days=1)) in TMIN_C
    record = read_back(
        fetched(values_csv(STATION, {d: v for d, v in TMIN_C.items() if d != MISSING}))
    )
    assert math.isnan(record.tmin_c[record.season.day_of(MISSING)])
