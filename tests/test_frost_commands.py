"""The commands about frost, as a grower or a program runs them."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from tests.sites import DEMOS, ROOT, new_site

BRANASOL = ROOT / "sites" / "branasol"
AS_OF = ("--as-of", "2026-11-25")
PLOT_KEYS = {
    "plot", "threshold_c", "because", "n_seasons", "period", "last_frost", "first_frost",
    "chance_on_or_after", "open",
}  # fmt: skip
DATE_KEYS = {"p50", "p10", "p05", "latest", "error_days"}


def ran(*args: object) -> Result:
    return CliRunner().invoke(app, [str(arg) for arg in args])


def json_of(*args: object) -> Any:  # JSON is anything
    return json.loads(ran(*args, "--json").stdout)


@pytest.mark.parametrize("demo", DEMOS)
def test_the_keys_that_programs_rely_on(demo: str) -> None:
    plots = json_of("frost", ROOT / "sites" / demo, *AS_OF)["plots"]
    assert plots
    for plot in plots:
        assert plot.keys() >= PLOT_KEYS
        assert plot["last_frost"].keys() >= DATE_KEYS
        assert plot["first_frost"].keys() >= DATE_KEYS
        last = plot["last_frost"]
        assert last["earliest"][5:] < last["p50"] <= last["latest"][5:]  # months and days
        assert 0 < plot["chance_on_or_after"] < 1


def test_an_answer_names_all_that_it_rests_on() -> None:
    because = {
        plot["plot"]: plot["because"] for plot in json_of("frost", BRANASOL, *AS_OF)["plots"]
    }
    assert "30 seasons of record, 1996 to 2026" in because["fondal"]
    assert "station.csv" in because["fondal"]
    assert "-2 °C (by hand)" in because["fondal"]
    assert "by its logger, 88 nights to 30 Apr 2026" in because["novo"]
    assert re.search(r"; 0 °C or colder hurts [a-z, ]*tagasaste;", because["novo"])
    assert "forecast to 2 Dec 2026" in because["novo"]


def test_a_forecast_file_changes_the_answer_for_tonight(tmp_path: Path) -> None:
    day = ("--as-of", "2027-05-28")
    warm = {p["plot"]: p["open"] for p in json_of("frost", BRANASOL, *day)["plots"]}
    assert not any(warm.values())
    forecast = tmp_path / "tonight.csv"
    forecast.write_text("issued,date,tmin_c\n2027-05-28,2027-05-29,1.0\n", encoding="utf-8")
    plots = json_of("frost", BRANASOL, *day, "--forecast", forecast)["plots"]
    assert {p["plot"] for p in plots if p["open"]} == {"fondal", "novo", "socalco"}
    assert plots[0]["closes_after"] == "2027-05-29"
    said = ran("frost", BRANASOL, "--full", *day, "--forecast", forecast).stdout
    assert "Sat 2027-05-29" in said


def test_a_faulty_forecast_is_refused_with_its_row(tmp_path: Path) -> None:
    forecast = tmp_path / "tonight.csv"
    forecast.write_text("issued,date,tmin_c\n2027-05-28,2027-05-29,cold\n", encoding="utf-8")
    result = ran("frost", BRANASOL, *AS_OF, "--forecast", forecast)
    assert result.exit_code == 2
    assert "tonight.csv, cell C2 (tmin_c): found 'cold'" in result.stderr
    gone = ran("frost", BRANASOL, *AS_OF, "--forecast", tmp_path / "gone.csv")
    assert gone.exit_code == 2
    assert "gone.csv" in gone.stderr


def test_it_says_what_would_change_the_answer() -> None:
    plot = json_of("frost", BRANASOL, *AS_OF)["plots"][0]
    by_what = {(c["what"], c["value"]): c["closes_after"] for c in plot["would_change"]}
    assert by_what["tolerance", 0.05] > plot["closes_after"] > by_what["tolerance", 0.2]
    assert by_what["offset", -1.0] < plot["closes_after"]
    assert by_what["stock", -1.0] < plot["closes_after"]


def test_the_record_command_shows_seasons_dates_and_how_true_the_chances_were() -> None:
    record = json_of("frost", BRANASOL, "--history", *AS_OF)
    assert record["split"] == "07-21"
    assert record["last_frosts"]["2012"] == "2012-05-05"
    assert [at["threshold_c"] for at in record["dates"]] == [2.2, 0.0, -2.2, -4.4]
    assert len(record["severity"]) == 24
    assert record["tested"]
    for tested in record["tested"]:
        # a record tells more than even chances and more than the year before
        assert tested["brier"] < tested["brier_even"]
        assert tested["brier"] < tested["brier_previous"]
    said = ran("frost", BRANASOL, "--history", *AS_OF)
    assert said.exit_code == 0
    for words in ("Were the chances true?", "Brier score", "Coldest night of each half-month"):
        assert words in said.stdout


def test_the_record_command_counts_the_winter_of_its_own_hemisphere() -> None:
    said = ran(
        "frost", ROOT / "sites" / "klipskadu", "--history", "--threshold", "2"
    ).stdout.splitlines()
    row = next(line for line in said if line.startswith("1997-98"))
    nights = json_of("frost", ROOT / "sites" / "klipskadu", "--history", "--threshold", "2")[
        "frost_nights"
    ]
    assert row.split()[-1] == str(nights["1997"])  # the winter of 1997 comes before that summer


def test_without_a_record_there_is_nothing_to_look_at(tmp_path: Path) -> None:
    result = ran("frost", new_site(tmp_path / "site"), "--history", *AS_OF)
    assert result.exit_code == 2
    assert "no record is named" in result.stderr


def test_the_evening_command_estimates_the_night_at_each_plot() -> None:
    night = json_of("frost", BRANASOL, "--tonight", "--temp", 4, "--dew", -1, *AS_OF)
    by_plot = {plot["plot"]: plot["minimum_c"] for plot in night["plots"]}
    assert by_plot["fondal"] < by_plot["novo"] < by_plot["socalco"] < by_plot["ladeira"]
    assert night["n_nights"] == 24
    said = ran("frost", BRANASOL, "--tonight", "--temp", 4, "--humidity", 70, *AS_OF)
    assert said.exit_code == 0
    assert "not a promise" in said.stdout


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("--temp", 4), "one of --dew and --humidity"),
        (("--temp", 4, "--dew", 1, "--humidity", 50), "one of --dew and --humidity"),
        (("--temp", 4, "--dew", 6), "never above the temperature"),
    ],
)
def test_readings_that_cannot_be_are_refused(args: tuple[object, ...], words: str) -> None:
    result = ran("frost", BRANASOL, "--tonight", *args, *AS_OF)
    assert result.exit_code == 2
    assert words in result.stderr


def test_without_evenings_the_command_says_what_is_missing(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    result = ran("frost", site, "--tonight", "--temp", 4, "--dew", 1, *AS_OF)
    assert result.exit_code == 2
    assert "at least 10 are needed" in result.stderr
