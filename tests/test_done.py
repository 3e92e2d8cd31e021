"""`scheduler done` refuses what contradicts the log, the plan or the day, and writes nothing."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.cli import app
from tests.sites import new_site

TASK = "first-plot.weed-lines"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def done(site: Path, *words: object, task: str = TASK, as_of: str = "2027-05-20") -> Result:
    args = ["done", str(site), task, *map(str, words), "--as-of", as_of]
    return CliRunner().invoke(app, args)


def refused(site: Path, *words: object, task: str = TASK, as_of: str = "2027-05-20") -> str:
    """What is said; nothing is written."""
    log = (site / "worklog.csv").read_bytes()
    result = done(site, *words, task=task, as_of=as_of)
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.output
    assert (site / "worklog.csv").read_bytes() == log
    return result.stderr


def rows(site: Path) -> list[str]:
    return (site / "worklog.csv").read_text(encoding="utf-8").splitlines()


def test_less_than_was_logged_before_is_refused_with_the_way_to_correct_it(site: Path) -> None:
    assert done(site, "--percent", 60, "--on", "2027-05-18").exit_code == 0
    says = refused(site, "--percent", 40)
    assert f"worklog.csv has {TASK} at 60 % on 18 May 2027" in says
    assert "correct that row by hand" in says
    assert done(site, "--percent", 60, "--hours", 2).exit_code == 0, "hours without progress"
    assert done(site, "--percent", 80).exit_code == 0
    assert done(site).exit_code == 0


def test_what_is_done_is_not_done_again(site: Path) -> None:
    assert done(site, "--on", "2027-05-18").exit_code == 0
    for words in ((), ("--percent", 50), ("--hours-left", 2)):
        says = refused(site, *words)
        assert "at 100 % on 18 May 2027, so it is done" in says
        assert says.count("\n") == 1, "one line"


def test_a_day_before_the_last_logged_one_is_refused(site: Path) -> None:
    assert done(site, "--percent", 30).exit_code == 0
    assert "add this one by hand above it" in refused(site, "--on", "2027-05-19")


def test_days_outside_what_can_be_are_refused(site: Path) -> None:
    assert "still to come (today is 20 May 2027)" in refused(site, "--on", "2027-05-21")
    says = refused(site, "--on", "2026-05-20")
    assert "plan 2027 begins on 1 Dec 2026" in says
    assert "--plan" in says
    assert done(site, "--on", "2026-12-01").exit_code == 0
    ahead = done(site, task="first-plot.lay-coarse", as_of="2026-11-28")
    assert ahead.exit_code == 0, "what was done today is a fact"
    assert "plan 2027 begins on 2026-12-01" in ahead.stderr
    late = done(site, task="first-plot.lay-fine", as_of="2028-01-10")
    assert late.exit_code == 0, "what was forgotten can be logged when the plan is over"


def test_all_that_is_wrong_is_told_at_once(site: Path) -> None:
    assert done(site, "--percent", 60).exit_code == 0
    says = refused(site, "--percent", 40, "--on", "2026-11-01")
    assert len(says.splitlines()) == 3


def test_calls_are_made_before_the_plan_and_covers_night_by_night(site: Path) -> None:
    booked = done(site, task="holding.book-climber-dormant", as_of="2026-11-25")
    assert booked.exit_code == 0, booked.output
    for day in ("2027-02-01", "2027-02-03"):
        assert done(site, task="first-plot.protect-tender", as_of=day).exit_code == 0


@pytest.mark.parametrize(
    "task", ["holding.book-nobody-dormant", "nowhere.call-utility", "x.book-climber-release"]
)
def test_a_call_that_nobody_asks_for_is_refused(site: Path, task: str) -> None:
    assert f"there is no task '{task}'" in refused(site, task=task)


@pytest.mark.parametrize("hours", ["nan", "inf"])
@pytest.mark.parametrize("option", ["--hours", "--hours-left"])
def test_hours_are_numbers(site: Path, option: str, hours: str) -> None:
    assert option in refused(site, option, hours)


def test_percent_and_hours_left_are_not_both_taken(site: Path) -> None:
    assert "give one of them" in refused(site, "--percent", 100, "--hours-left", 3)


def test_more_hours_left_than_was_thought_take_no_work_back(site: Path) -> None:
    assert done(site, "--percent", 50, "--on", "2027-05-18").exit_code == 0
    assert done(site, "--hours-left", 40).exit_code == 0
    assert f",{TASK},50," in rows(site)[-1]
    assert rows(site)[-1].endswith(",40.0")
    assert done(site, "--hours-left", 0).exit_code == 0
    assert f",{TASK},100," in rows(site)[-1]


@pytest.mark.parametrize(
    ("percent", "left", "found"),
    [
        ("100", "3", "3 h still to do"),
        ("", "3", "3 h still to do"),
        ("80", "0", "nothing still to do, at 80 %"),  # a quarter of an hour would be planned
    ],
)
def test_a_row_whose_hours_left_speak_against_its_percent_is_a_fault(
    site: Path, percent: str, left: str, found: str
) -> None:
    (site / "worklog.csv").write_text(
        f"date,plan,task,percent,hours_left\n2027-05-18,2027,{TASK},{percent},{left}\n", "utf-8"
    )
    result = CliRunner().invoke(app, ["check", str(site), "--as-of", "2027-05-20"])
    assert result.exit_code == 2
    assert f"worklog.csv, row 2, field hours_left: found {found}" in result.stderr


def test_a_log_that_goes_back_or_runs_ahead_is_warned_of(site: Path) -> None:
    (site / "worklog.csv").write_text(
        "date,plan,task,percent\n"
        f"2027-05-18,2027,{TASK},60\n2027-05-19,2027,{TASK},40\n2027-06-19,2027,{TASK},70\n",
        encoding="utf-8",
    )
    args = ["check", str(site), "--as-of", "2027-05-20", "--json"]
    result = CliRunner().invoke(app, args)
    assert result.exit_code == 1
    told = {n["code"]: n["says"] for n in json.loads(result.stdout)}
    assert "at 40 % on 19 May 2027 after 60 % on 18 May 2027" in told["log-goes-back"]
    assert "19 Jun 2027, a day to come" in told["log-day-to-come"]


def test_a_row_in_a_log_parted_by_tabs_has_all_its_cells(site: Path) -> None:
    (site / "worklog.csv").write_text("date\tplan\ttask\tpercent\thours\tnote\n", "utf-8")
    assert done(site, "--percent", 50).exit_code == 0
    assert rows(site)[-1].count("\t") == 5
