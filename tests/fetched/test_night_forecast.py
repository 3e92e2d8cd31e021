"""The forecast of a place becomes rows of the site's file; nothing else in it is touched."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from scheduler.fetched import FetchError, Spot, update_forecast
from scheduler.files import FaultyFilesError
from scheduler.weather import ForecastNight, read_forecast
from tests.fetched.services import (
    NOW,
    SPOT,
    Weather,
    broken_off,
    cold_dawn,
    contents,
    forecast_json,
    http,
    http_time,
    one_line,
    series,
    slow,
    weather,
)
from tests.sites import new_site

MADE = NOW - timedelta(minutes=30)  # 16:30 UTC, 17:30 in Vienna
ZONE = "Europe/Vienna"
HEADER = "issued,date,tmin_c\n"


def answer(
    made: datetime = MADE,
    at: Callable[[datetime], float] = cold_dawn,
    status: int = 200,
    **headers: str,
) -> bytes:
    times = {"Expires": http_time(NOW + timedelta(minutes=35)), "Last_Modified": http_time(MADE)}
    return http(status, forecast_json(made, series(made, at)), **(times | headers))


def updated(
    service: Weather,
    path: Path,
    spot: Spot = SPOT,
    zone: str = ZONE,
    now: datetime = NOW,
    **patience: float,
) -> tuple[str, ...]:
    with service.asker(**patience) as ask:
        return update_forecast(ask, path, spot, zone, now)


def nights_in(path: Path) -> list[ForecastNight]:
    nights, faults = read_forecast(path.name, path.read_text(encoding="utf-8").split("\n"))
    assert faults == []
    assert nights is not None
    return list(nights)


def rows(path: Path) -> dict[date, float]:
    return {night.date: night.tmin_c for night in nights_in(path)}


def test_a_forecast_is_read_back_as_it_was_given(tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    with weather({"/forecast": [answer()]}) as service:
        said = updated(service, path)
        (question,) = service.questions("/forecast")
    nights = nights_in(path)
    assert {night.issued for night in nights} == {date(2026, 11, 25)}
    assert [night.date for night in nights] == [
        date(2026, 11, 26) + timedelta(d) for d in range(9)
    ]
    # by the hour the coldest is met, at 5 UTC; every six hours it is not: 6 UTC is warmer
    assert [night.tmin_c for night in nights[:2]] == [-2.0, -2.0]
    assert [night.tmin_c for night in nights[3:]] == [cold_dawn(NOW.replace(hour=6))] * 6
    assert cold_dawn(NOW.replace(hour=6)) == -0.7
    assert (question["lat"], question["lon"], question["altitude"]) == (
        "46.5000",
        "14.2000",
        "500",
    )
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# MET Norway")
    assert "NLOD and\n" in text
    assert "CC BY 4.0" in text
    assert "from 2026-11-28 on there is a value every six hours only: too warm" in text
    assert "9 nights as of 2026-11-25, the coldest -2.0 °C" in said[0]
    assert "MET Norway" in said[0]
    assert said[1].startswith("From 2026-11-28 on")
    assert len(said) == 2


def test_the_place_is_asked_with_four_decimals_and_whole_metres(tmp_path: Path) -> None:
    with weather({"/forecast": [answer()]}) as service:
        updated(
            service,
            tmp_path / "f.csv",
            Spot(-33.123456789, 18.98768, 123.6),
            "Africa/Johannesburg",
        )
        (question,) = service.questions("/forecast")
    assert (question["lat"], question["lon"], question["altitude"]) == (
        "-33.1235",
        "18.9877",
        "124",
    )


@pytest.mark.parametrize(
    ("zone", "coldest_utc", "day"),
    [
        ("Europe/Vienna", 10, 26),  # 11 o'clock still belongs to the night before
        ("Europe/Vienna", 11, 27),  # noon no more
        ("Pacific/Auckland", 22, 27),  # 11 o'clock of the 27th
        ("Pacific/Auckland", 23, 28),
        ("America/Lima", 16, 26),
        ("America/Lima", 17, 27),
    ],
)
def test_a_night_runs_from_noon_to_noon_by_the_clock_of_the_place(
    zone: str, coldest_utc: int, day: int, tmp_path: Path
) -> None:
    cold = datetime(2026, 11, 26, coldest_utc, tzinfo=UTC)
    with weather(
        {"/forecast": [answer(at=lambda when: -7.0 if when == cold else 4.0)]}
    ) as service:
        updated(service, tmp_path / "f.csv", zone=zone)
    frosty = [night for night, tmin_c in rows(tmp_path / "f.csv").items() if tmin_c == -7.0]
    assert frosty == [date(2026, 11, day)]


def test_the_clock_of_the_place_may_change_in_the_night(tmp_path: Path) -> None:
    now = datetime(2026, 10, 23, 17, 0, tzinfo=UTC)
    cold = datetime(2026, 10, 25, 10, 30, tzinfo=UTC).replace(minute=0)  # 11 o'clock, winter time
    times = {"Expires": http_time(now)}
    body = forecast_json(now, series(now, lambda when: -7.0 if when == cold else 4.0))
    with weather({"/forecast": [http(200, body, **times)]}) as service:
        updated(service, tmp_path / "f.csv", now=now)
    assert [day for day, c in rows(tmp_path / "f.csv").items() if c == -7.0] == [
        date(2026, 10, 25)
    ]


def test_a_night_that_is_not_whole_is_left_out(tmp_path: Path) -> None:
    steps = series(MADE, cold_dawn, hours=40, days=3)
    n26, n27, n28 = (date(2026, 11, day) for day in (26, 27, 28))
    gone = [step for step in steps if not "2026-11-27T01" <= str(step["time"]) < "2026-11-27T08"]
    late = [step for step in steps if str(step["time"]) > "2026-11-26T02"]
    for name, given, want in (
        ("all", steps, {n26, n27, n28}),
        ("hole", gone, {n26, n28}),
        ("late", late, {n27, n28}),
    ):
        with weather({"/forecast": [http(200, forecast_json(MADE, given))]}) as service:
            updated(service, tmp_path / name)
        assert set(rows(tmp_path / name)) == want


def test_the_least_of_six_hours_counts_where_it_is_given(tmp_path: Path) -> None:
    steps = series(MADE, cold_dawn)
    for step in steps:
        if step["time"] in ("2026-11-30T00:00:00Z", "2026-11-30T06:00:00Z"):
            step["data"]["next_6_hours"]["details"]["air_temperature_min"] = (  # type: ignore[index]  # JSON
                -3.5 if "T00" in str(step["time"]) else -9.0
            )
    with weather({"/forecast": [http(200, forecast_json(MADE, steps))]}) as service:
        updated(service, tmp_path / "f.csv")
    # the six hours from 7 to 13 o'clock reach into the next night: whose they are is not known
    assert rows(tmp_path / "f.csv")[date(2026, 11, 30)] == -3.5


def test_rows_of_the_same_issue_are_replaced_and_older_ones_kept(tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    old = "2026-11-24,2026-11-25,1.5\n2026-11-24,2026-11-26,0.5\n"
    path.write_text(f"# my own\n{HEADER}{old}2026-11-25,2026-11-26,9.9\n", encoding="utf-8")
    with weather({"/forecast": [answer()]}) as service:
        updated(service, path)
        updated(service, path, now=NOW + timedelta(hours=2))
    text = path.read_text(encoding="utf-8")
    assert old in text
    assert "9.9" not in text
    assert text.count("# my own\n") == 1
    assert text.count("asked: ") == 1
    assert len(nights_in(path)) == 2 + 9


def test_a_file_of_a_spreadsheet_keeps_its_ends_of_line(tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    path.write_bytes(b"\xef\xbb\xbfissued,date,tmin_c\r\n2026-11-24,2026-11-25,1.5")
    with weather({"/forecast": [answer()]}) as service:
        updated(service, path)
    content = path.read_bytes()
    assert content.count(b"\n") == content.count(b"\r\n")
    assert len(nights_in(path)) == 1 + 9


def test_nothing_is_asked_before_the_answer_has_expired(tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    with weather({"/forecast": [answer()]}) as service:
        updated(service, path)
        before = path.read_bytes()
        (said,) = updated(service, path, now=NOW + timedelta(minutes=34))
        assert len(service.heard) == 1
        assert "holds until 18:35; nothing was asked" in said
        assert path.read_bytes() == before
        updated(service, path, now=NOW + timedelta(minutes=36))
        assert len(service.heard) == 2


def test_then_only_a_newer_forecast_is_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    later = NOW + timedelta(hours=1)
    unchanged = http(304, Expires=http_time(later + timedelta(hours=1)))
    with weather({"/forecast": [answer(), unchanged, answer()]}) as service:
        updated(service, path)
        before = nights_in(path)
        (said,) = updated(service, path, now=later)
        first, second = service.questions("/forecast")
        assert "if-modified-since" not in first
        assert second["if-modified-since"] == http_time(MADE).lower()
        assert "no newer forecast" in said
        assert nights_in(path) == before
        assert "too warm" in path.read_text(encoding="utf-8")
        assert "holds until" in updated(service, path, now=later + timedelta(minutes=30))[0]
        # what was true of one place says nothing of another
        updated(service, path, Spot(47.0, 14.2, 500.0), now=later)
        assert "if-modified-since" not in service.questions("/forecast")[-1]


@pytest.mark.parametrize("expires", ["soon", "", "Thu, 01 Jan 1970 00:00:00 GMT"])
def test_an_expiry_that_says_nothing_is_ten_minutes(expires: str, tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    with weather({"/forecast": [answer(Expires=expires)]}) as service:
        updated(service, path)
        updated(service, path, now=NOW + timedelta(minutes=9))
        assert len(service.heard) == 1
        updated(service, path, now=NOW + timedelta(minutes=11))
        assert len(service.heard) == 2


def test_a_change_once_known_stays_known_and_one_that_is_no_time_is_none(tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    with weather({"/forecast": [answer(), http(304), http(304), answer()]}) as service:
        for hours in range(3):
            updated(service, path, now=NOW + timedelta(hours=hours))
        assert [question.get("if-modified-since") for question in service.questions()] == [
            None, http_time(MADE).lower(), http_time(MADE).lower(),
        ]  # fmt: skip
    with weather({"/forecast": [answer(Last_Modified="yesterday")]}) as service:
        updated(service, tmp_path / "other.csv")
        updated(service, tmp_path / "other.csv", now=NOW + timedelta(hours=1))
        assert all("if-modified-since" not in question for question in service.questions())


def test_the_night_that_has_begun_when_it_is_made_after_midnight_is_none_to_come(
    tmp_path: Path,
) -> None:
    now = datetime(2026, 11, 24, 23, 20, tzinfo=UTC)  # 20 minutes past midnight in Vienna
    with weather({"/forecast": [answer(made=now)]}) as service:
        updated(service, tmp_path / "f.csv", now=now)
    first = nights_in(tmp_path / "f.csv")[0]
    assert (first.issued, first.date) == (date(2026, 11, 25), date(2026, 11, 26))


def test_an_expiry_of_years_is_a_day(tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    never = answer(Expires=http_time(NOW + timedelta(days=4000)))
    with weather({"/forecast": [never]}) as service:
        updated(service, path)
        with pytest.raises(FetchError, match="not a new one"):
            updated(service, path, now=NOW + timedelta(days=3))
        assert len(service.heard) == 2


def test_a_version_about_to_end_is_said(tmp_path: Path) -> None:
    with weather({"/forecast": [answer(status=203)]}) as service:
        said = updated(service, tmp_path / "f.csv")
    assert "about to end (203)" in said[-1]
    assert len(nights_in(tmp_path / "f.csv")) == 9


def spoilt(**change: object) -> bytes:
    steps = series(MADE, cold_dawn)
    steps[20].update(change)
    return http(200, forecast_json(MADE, steps))


def at_step(value: object) -> bytes:
    return spoilt(data={"instant": {"details": {"air_temperature": value}}})


NONSENSE: dict[str, bytes] = {
    "a web page": http(200, "<html>moved</html>"),
    "no JSON": http(200, "{"),
    "nothing": http(200, ""),
    "bytes": http(200, b"\xff\xfe"),
    "a list": http(200, "[]"),
    "no properties": http(200, '{"type": "Feature"}'),
    "nested too deep": http(200, "[" * 100_000),
    "no time": spoilt(time=None),
    "a day that is none": spoilt(time="2026-02-30T00:00:00Z"),
    "a time without an offset": spoilt(time="2026-11-26T12:00:00"),
    "no temperature": spoilt(data={"instant": {"details": {}}}),
    "a word": at_step("cold"),
    "not a number": at_step(float("nan")),
    "kelvin": at_step(273.15),
    "fahrenheit": http(200, forecast_json(MADE, series(MADE, cold_dawn), unit="fahrenheit")),
    "no series": http(200, forecast_json(MADE, [])),
    "half a day": http(200, forecast_json(MADE, series(MADE, cold_dawn, hours=9, days=0))),
    "of last week": answer(made=MADE - timedelta(days=7)),
    "of tomorrow": answer(made=MADE + timedelta(days=1)),
    "broken off": broken_off(forecast_json(MADE, series(MADE, cold_dawn))[:900]),
    "refused": http(403, "<html>403</html>"),
    "too many questions": http(429),
    "out of order": http(500),
    "unchanged, unasked": http(304),
    "elsewhere": http(301, Location="https://example.org/"),
    "huge": http(200, bytes(25_000_000)),
}


@pytest.mark.parametrize("given", NONSENSE.values(), ids=NONSENSE.keys())
def test_nonsense_is_one_line_and_nothing_is_written(given: bytes, tmp_path: Path) -> None:
    (tmp_path / "forecast.csv").write_text(
        f"{HEADER}2026-11-24,2026-11-25,1.5\n", encoding="utf-8"
    )
    before = contents(tmp_path)
    with weather({"/forecast": [given]}) as service:
        for name in ("forecast.csv", "new.csv"):
            with pytest.raises(FetchError) as error:
                updated(service, tmp_path / name)
            assert one_line(str(error.value))
    assert contents(tmp_path) == before


def test_a_slow_service_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    with weather({"/forecast": [slow(0.5)]}) as service:
        with pytest.raises(FetchError, match="in time"):
            updated(service, tmp_path / "f.csv", read_s=0.1)
        assert len(service.heard) == 3
    assert contents(tmp_path) == {}


def test_a_file_with_other_columns_is_left(tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    for text in ("date,tmin_c\n2026-11-25,1\n", f"{HEADER}2026-11-24,2026-11-25,cold\n"):
        path.write_text(text, encoding="utf-8")
        with weather({"/forecast": [answer()]}) as service, pytest.raises(FaultyFilesError):
            updated(service, path)
        assert path.read_text(encoding="utf-8") == text


def test_a_note_that_somebody_has_changed_is_not_believed(tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    note = "# MET Norway, asked: lat 46.5000 lon 14.2000 altitude 500; expires never; modified x\n"
    path.write_text(f"{note}{HEADER}", encoding="utf-8")
    with weather({"/forecast": [answer()]}) as service:
        updated(service, path)
        assert "if-modified-since" not in service.questions("/forecast")[0]
    assert len(nights_in(path)) == 9


def ran(*args: object) -> Result:
    return CliRunner().invoke(app, [str(arg) for arg in args])


def test_from_the_service_to_the_frost_window(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = new_site(tmp_path / "site")
    now = datetime.now(UTC)  # the command asks the clock
    body = forecast_json(now, series(now, cold_dawn))
    with weather({"/forecast": [http(200, body), http(403)]}) as service:
        monkeypatch.setattr("scheduler.fetched.Asker", service.asker)
        result = ran("frost", site, "--update-forecast")
        assert result.exit_code == 0, result.output
        line = 'forecast = "forecast.csv"'
        assert f"put this under [frost] in site.toml: {line}" in result.stdout
        text = (site / "site.toml").read_text(encoding="utf-8")
        (site / "site.toml").write_text(text.replace(f"# {line}", line), encoding="utf-8")
        assert "holds until" in ran("frost", site, "--update-forecast").stdout
        before = contents(site)
        text = (site / "forecast.csv").read_text(encoding="utf-8")
        (site / "forecast.csv").write_text(text.replace("lat 46.5", "lat 40.5"), encoding="utf-8")
        result = ran("frost", site, "--update-forecast")
        assert result.exit_code == 2
        assert "answers 403: it refuses this program" in one_line(result.stderr)
        assert contents(site).keys() == before.keys()
    day = max(night.issued for night in nights_in(site / "forecast.csv"))
    shown = ran("frost", site, "--full", "--as-of", day.isoformat())
    assert shown.exit_code in (0, 1), shown.output
    assert f"{day + timedelta(days=1)}" in shown.stdout
