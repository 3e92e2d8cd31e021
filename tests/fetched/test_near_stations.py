"""Stations near a place: the best first, the box wide enough, and none where none is."""

import json
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from scheduler.fetched import FetchError, Spot, stations_near
from scheduler.fetched.near_stations import StationsNear, stations_table
from scheduler.holding import read_holding
from tests.fetched.services import (
    SPOT,
    TODAY,
    Answer,
    Weather,
    contents,
    http,
    minima,
    one_line,
    search_json,
    values_csv,
    weather,
)
from tests.sites import AS_OF, new_site
from tests.words.test_records import checked

NEAR, HIGH, GAPPY, FAR, YOUNG = (f"AU{at:09}" for at in range(1, 6))
LONG = minima(date(1990, 1, 1), date(2026, 11, 1))
SHORT = minima(date(2012, 1, 1), date(2026, 11, 1))
HOLES = {
    day: value for day, value in LONG.items() if day.month != 8 or day.day < 25 or day.year < 2020
}
NONE = http(200, search_json())


def values(station: str, tmin_c: dict[date, float], where: str) -> list[Answer]:
    return [http(200, values_csv(station, tmin_c, where=where, name=f"INVENTED {station[-1]}"))]


STATIONS: dict[str, list[Answer]] = {
    f"/values?{NEAR}": values(NEAR, LONG, "46.55,14.25,480"),
    f"/values?{HIGH}": values(HIGH, LONG, "46.52,14.22,1700"),
    f"/values?{GAPPY}": values(GAPPY, HOLES, "46.6,14.3,480"),
    f"/values?{FAR}": values(FAR, LONG, "47.2,14.9,-999.9"),
    f"/values?{YOUNG}": values(YOUNG, SHORT, "46.5,14.2,500"),
}


def searching(*answers: bytes) -> dict[str, list[Answer]]:
    return {"/search": list(answers), **STATIONS}


def found(service: Weather, spot: Spot = SPOT) -> StationsNear:
    with service.asker() as ask:
        return stations_near(ask, spot, TODAY)


def test_the_best_comes_first() -> None:
    every = http(200, search_json(YOUNG, FAR, GAPPY, HIGH, NEAR))
    with weather(searching(every)) as service:
        near = found(service)
    assert [row.id for row in near.stations] == [NEAR, GAPPY, FAR, HIGH, YOUNG]
    first, gappy, far, high, young = near.stations
    # 0.05 degrees north and 0.05 east at 46.5 north: 5.56 km and 3.83 km
    assert first.distance_km == pytest.approx(6.75, abs=0.05)
    assert (first.height_m, high.height_m, far.height_m) == (-20.0, 1200.0, None)
    assert (first.years, first.first, first.last) == (36, date(1990, 1, 1), date(2026, 11, 1))
    assert (first.missing, first.longest_gap_days) == (0.0, 0)
    assert gappy.longest_gap_days == 7
    assert gappy.missing == pytest.approx(49 / len(LONG), abs=1e-4)
    assert young.years == 14
    assert near.enough
    assert near.doubts == ()


def test_missing_days_speak_against_a_station_that_is_nearer() -> None:
    some = {day: value for day, value in LONG.items() if day.toordinal() % 20}
    nearer = {f"/values?{HIGH}": values(HIGH, some, "46.52,14.22,480")}
    with weather(searching(http(200, search_json(HIGH, NEAR))) | nearer) as service:
        near = found(service)
    assert [row.id for row in near.stations] == [NEAR, HIGH]
    assert [round(row.distance_km) for row in near.stations] == [7, 3]
    assert [row.years for row in near.stations] == [36, 36]


def test_the_box_is_widened_until_one_has_twenty_years() -> None:
    answers = (NONE, http(200, search_json(YOUNG)), http(200, search_json(YOUNG, FAR)), NONE)
    with weather(searching(*answers)) as service:
        near = found(service)
        asked = service.questions("/search")
        assert len(service.questions("/values")) == 2  # the young one is not asked for twice
    assert [row.id for row in near.stations] == [FAR, YOUNG]
    assert near.box_deg == 1.0
    boxes = [tuple(map(float, question["bbox"].split(","))) for question in asked]
    # north, west, south, east
    assert [(north, south) for north, _, south, _ in boxes] == [
        (46.8, 46.2), (47.1, 45.9), (47.5, 45.5),
    ]  # fmt: skip
    assert all(west < 14.2 < east for _, west, _, east in boxes)
    assert asked[0]["dataset"] == "daily-summaries"
    assert asked[0]["datatypes" if "datatypes" in asked[0] else "dataTypes"] == "TMIN"


@pytest.mark.parametrize(
    "spot", [Spot(-90.0, 180.0, 0.0), Spot(90.0, -180.0, 0.0), Spot(0, 179.9, 0)]
)
def test_the_box_stays_on_earth(spot: Spot) -> None:
    with weather(searching(NONE)) as service:
        assert found(service, spot).stations == ()
        asked = service.questions("/search")
    assert len(asked) == 4
    for question in asked:
        north, west, south, east = map(float, question["bbox"].split(","))
        assert -90 <= south < north <= 90
        assert -180 <= west < east <= 180


def test_coordinates_that_an_answer_carries_say_whom_to_ask_first() -> None:
    many = [f"AU{at:09}" for at in range(10, 40)]
    told = dict.fromkeys(many, (15.0, 46.5)) | {NEAR: (14.25, 46.55)}
    with weather(searching(http(200, search_json(*many, NEAR, near=told)))) as service:
        near = found(service)
        asked = [question["stations"] for question in service.questions("/values")]
    assert asked[0] == NEAR
    assert len(asked) == 5  # of thirty in the box
    assert [row.id for row in near.stations] == [NEAR]
    assert len(near.doubts) == 4


def test_what_cannot_be_looked_at_is_said_and_the_rest_shown() -> None:
    two = http(200, search_json(NEAR, HIGH))
    answers = searching(two) | {f"/values?{HIGH}": [http(200, "<html>")]}
    with weather(answers) as service:
        near = found(service)
    assert [row.id for row in near.stations] == [NEAR]
    assert "web page" in one_line("\n".join(near.doubts))


def test_what_is_found_is_shown_though_the_service_fails_then() -> None:
    with weather(searching(http(200, search_json(YOUNG)), http(403))) as service:
        near = found(service)
    assert [row.id for row in near.stations] == [YOUNG]
    assert not near.enough
    assert "answers 403" in near.doubts[0]


NONSENSE = {
    "a web page": "<html>",
    "no JSON": "{",
    "nothing": "",
    "a list": "[]",
    "a number": "7",
    "no results": '{"count": 0}',
    "results that are none": '{"results": 5}',
    "no stations": '{"results": [{"id": 1}]}',
    "a station without an id": '{"results": [{"stations": [{"name": "x"}]}]}',
    "kinds that are none": '{"results": [{"stations": [{"id": "x", "dataTypes": [1]}]}]}',
    "a share that is none": '{"results": [{"stations": [{"id": "x", "dataTypes": [{"id": "TMIN",'
    '"coverage": "much"}]}]}]}',
    "nested too deep": "[" * 100_000,
}


def ran(site: Path, *options: str) -> Result:
    words = ["frost", str(site), "--fetch", *options, "--as-of", AS_OF.isoformat()]
    return CliRunner().invoke(app, words)


@pytest.mark.parametrize(
    "answer",
    [*(http(200, text) for text in NONSENSE.values()), http(403), http(503)],
    ids=[*NONSENSE, "refused", "out of order"],
)
def test_nonsense_is_one_line(
    answer: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = new_site(tmp_path / "site")
    before = contents(site)
    with weather(searching(answer)) as service:
        monkeypatch.setattr("scheduler.fetched.Asker", service.asker)
        result = ran(site)
    assert result.exit_code == 2, result.output
    assert one_line(result.stderr)
    assert result.stdout == ""
    assert contents(site) == before


@pytest.mark.parametrize("place", [(91, 0, 0), (0, 181, 0), (float("nan"), 0, 0), (0, 0, 10_000)])
def test_a_place_that_is_none_is_refused(place: tuple[float, float, float]) -> None:
    with pytest.raises(FetchError, match="is nowhere on Earth"):
        Spot(*place)


def test_the_command_shows_the_stations_and_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = new_site(tmp_path / "site")
    before = contents(site)
    with weather(searching(http(200, search_json(NEAR, HIGH)))) as service:
        monkeypatch.setattr("scheduler.fetched.Asker", service.asker)
        result = ran(site)
        record = checked("frost-fetch", "frost", site, "--fetch")
    assert result.exit_code == 0
    title, head, first, second, *foot = result.stdout.splitlines()
    assert title == "Stations near Test Hill (invented) in NOAA's daily summaries, best first"
    assert head.split("  ")[0] == "station"
    words = f"{NEAR} INVENTED 1 7 km -20 m 36 (1990-2026) 0 %, longest 0"
    assert first.split() == words.split()
    assert second.startswith(HIGH)
    assert foot[-1] == f"`scheduler frost {site} --fetch --station {NEAR}` fetches the first."
    assert max(map(len, [title, head, first, second, *foot[:-1]])) <= 100
    assert [row["id"] for row in record["stations"]] == [NEAR, HIGH]
    assert contents(site) == before


def test_where_no_station_is_near_it_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = new_site(tmp_path / "site")
    with weather(searching(NONE)) as service:
        monkeypatch.setattr("scheduler.fetched.Asker", service.asker)
        result = ran(site)
        record = json.loads(ran(site, "--json").stdout)
    assert result.exit_code == 1
    assert "No station within 2 degrees has 20 whole years." in result.stdout
    assert "(a reanalysis) is no station" in result.stdout
    assert record["enough"] is False
    assert record["stations"] == []


def test_a_station_that_is_too_young_is_shown_as_such() -> None:
    with weather(searching(http(200, search_json(YOUNG)))) as service:
        table = stations_table(found(service), "here")
    assert table.rows[0][4] == "14 (2012-2026)"
    assert table.foot[0].startswith("No station")


SET_UP = (
    "--place", "46.5, 14.2", "--elev", 500, "--plot", "Low, 600, 2019",
    "--person", "Ana, sat sun, hands", "--as-of", AS_OF,
)  # fmt: skip


def test_a_new_site_takes_the_record_of_the_best_station(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = [str(word) for word in ("new", tmp_path / "hill", *SET_UP, "--station", "near")]
    with weather(searching(http(200, search_json(NEAR, HIGH)))) as service:
        monkeypatch.setattr("scheduler.commands.new_weather.Asker", service.asker)
        result = CliRunner().invoke(app, words)
    assert result.exit_code == 0, result.output
    assert "Stations near here" in result.stdout
    holding = read_holding(tmp_path / "hill", AS_OF)
    assert holding.site.frost.stations == (f"station-{NEAR}.csv",)
    assert holding.record is not None
    assert holding.record.season.n_days > 30 * 365


def test_where_no_service_answers_a_new_site_goes_by_its_own_dates(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    dates = ("--last-frost", "10 May", "--first-frost", "15 Oct")
    words = [str(w) for w in ("new", tmp_path / "hill", *SET_UP, *dates, "--station", HIGH)]
    with weather({"/values": [http(403, "no")]}) as service:
        monkeypatch.setattr("scheduler.commands.new_weather.Asker", service.asker)
        result = CliRunner().invoke(app, words)
    assert result.exit_code == 0, result.output
    assert "Your own frost dates will do" in result.stdout
    site = read_holding(tmp_path / "hill", AS_OF).site
    assert (site.frost.stations, site.frost.own_last) == ((), "05-10")
