"""The commands as a new user runs them: lines, JSON and exit codes."""

import json
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from scheduler.calendars import feed_bytes
from scheduler.commands.app import app
from scheduler.reasons import SeasonPlan
from tests.once import feeds_once
from tests.sites import DEMOS, ROOT, edit, new_site, own_date

pytestmark = pytest.mark.usefixtures("plans_once")

AS_OF = ("--as-of", "2026-11-25")


def ran(*args: object) -> Result:
    return CliRunner().invoke(app, [str(arg) for arg in args])


def json_of(*args: object) -> object:
    result = ran(*args, "--json")
    return json.loads(result.stdout)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


@pytest.mark.parametrize(
    ("args", "word"),
    [
        (("frost", "sites/branasol", "--as-of", "2027-02-30"), "not a day that exists"),
        (("sky", "sites/branasol", "--from", "1800-01-01"), "1900"),
        (("why", "sites/branasol", "fondal.cut-mediun", *AS_OF), "did you mean fondal.cut-medium"),
        (("log", "sites/branasol", "nothing", *AS_OF), "there is no task 'nothing'"),
        (("due", "sites/nowhere"), "no such folder"),
        (("plan", "sites/branasol", "--plan", "1999", *AS_OF), "no such plan"),
    ],
)
def test_mistakes_get_a_plain_line_and_exit_code_2(
    args: tuple[str, ...], word: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    result = ran(*args)
    assert result.exit_code == 2
    assert word in " ".join(result.stderr.replace("│", " ").split())
    assert "Traceback" not in result.output


def test_a_standing_warning_gives_exit_code_1_and_stands_in_title_and_description(
    site: Path, tmp_path: Path
) -> None:
    own_date(site, "first-plot.cut-medium", on="2027-04-29")
    checked = ran("check", site, *AS_OF)
    assert checked.exit_code == 1
    assert "frost window" in checked.stdout
    warnings = json_of("check", site, *AS_OF)
    told = [(n["level"], n["code"], n["about"]) for n in warnings]  # type: ignore[attr-defined]
    assert told == [
        ("warning", "frost-window-open", "first-plot.release"),
        ("note", "spare-time", "crew.toml"),
    ]
    assert ran("write", site, "--to", tmp_path / "feeds", *AS_OF).exit_code == 1
    feed = (tmp_path / "feeds" / "work.ics").read_bytes().replace(b"\r\n ", b"").decode()
    assert "SUMMARY:First plot: FROST RISK until 10 May\\, release" in feed
    assert "DESCRIPTION:WARNING: the frost window is still open until 10 May 2027" in feed


def test_roster_for_programs_tells_the_visits_with_their_steps(site: Path) -> None:
    record: Any = json_of("plan", "--full", site, *AS_OF)
    by_id = {visit["visit"]: visit for visit in record["visits"]}
    release = by_id["first-plot.release"]
    assert (release["plot"], release["kind"]) == ("first-plot", "release")
    assert release["first"] == min(day["date"] for s in release["steps"] for day in s["days"])
    assert [step["task"].partition(".")[0] for step in release["steps"]].count("first-plot") > 3


def test_frost_answers_whether_the_window_is_open_on_a_day() -> None:
    def open_plots(day: str) -> list[str]:
        record = json_of("frost", ROOT / "sites" / "branasol", "--as-of", day)
        return [p["plot"] for p in record["plots"] if p["open"]]  # type: ignore[index]

    assert open_plots("2027-02-01") == ["fondal", "socalco", "ladeira", "novo"]
    assert open_plots("2027-05-10") == ["fondal"]
    assert open_plots("2027-07-10") == []


def test_why_of_a_step_tells_the_rules_of_its_visit_with_their_basis_and_source() -> None:
    record: Any = json_of("why", ROOT / "sites" / "branasol", "fondal.cut-medium", *AS_OF)
    assert (record["asked"], record["visit"]) == ("fondal.cut-medium", "fondal.release")
    rules = {rule["rule"]: (rule, row) for row in record["earlier"] for rule in row["rules"]}
    rule, row = rules["frost-release"]
    assert rule["basis"] == "measured"
    # frost releases the hollow on 24 May: a visit that would cut before is not begun
    assert row["last"] <= "2027-05-23" < record["days"][0]
    assert "(from 24 May 2027 on)" in row["says"]
    assert all(rule["source"] for rule, _ in rules.values())


def test_every_mention_of_the_moon_practice_carries_its_tag() -> None:
    told = [
        line
        for path in (ROOT / "calendars" / "klipskadu").glob("*.ics")
        for line in path.read_bytes().replace(b"\r\n ", b"").decode().split("\r\n")
        if line.startswith("DESCRIPTION") and "moon" in line.lower()
    ]
    assert told
    assert all(r"grower practice\, not established science" in line for line in told)
    why = ran("why", ROOT / "sites" / "klipskadu", "vlei.release", *AS_OF).stdout
    lines = [line for line in why.splitlines() if "moon" in line.lower()]
    assert lines
    assert all("grower practice, not established science" in line for line in lines)


def test_done_records_and_the_next_calendar_shows_it(site: Path, tmp_path: Path) -> None:
    task = "first-plot.cut-dormant-tall"
    told = ("--on", "2026-12-02", "--hours", 4, "--note", "two\nlines")
    result = ran("log", site, task, *told, "--as-of", "2026-12-03")
    assert result.exit_code == 0
    last = (site / "worklog.csv").read_text().splitlines()[-1]
    assert last.startswith(f"2026-12-02,2027,{task},100,4.0,two lines,")
    # 8 alders of 12 cm: the climber's 25 minutes up and 10 around each, two of the crew below
    assert float(last.rpartition(",")[2]) == pytest.approx(2 * 8 * 35 / 60, abs=0.005)
    ran("write", site, "--to", tmp_path / "feeds", "--as-of", "2026-12-03")
    feed = (tmp_path / "feeds" / "work.ics").read_bytes().replace(b"\r\n ", b"").decode()
    assert "SUMMARY:First plot: dormant visit\\, done" in feed


def test_done_refuses_a_day_to_come(site: Path) -> None:
    task = "first-plot.cut-dormant-tall"
    result = ran("log", site, task, "--on", "2027-12-02", *AS_OF)
    assert result.exit_code == 2
    assert "still to come" in result.stderr


def test_a_booking_has_its_reason_and_can_be_ticked_off(site: Path) -> None:
    booking = "holding.book-climber-dormant"
    assert "28 days of notice" in ran("why", site, booking, *AS_OF).stdout
    result = ran("log", site, booking, *AS_OF)
    assert result.exit_code == 0
    line = result.stdout.splitlines()[-1]
    assert line.startswith("booked = [{ first = 2026-12-")
    assert 'write into crew.toml under [[hire]] id = "climber"' in result.stdout
    edit(site, "crew.toml", "lead_days = 28 ", f"{line}\nlead_days = 28 ")
    assert "booked" not in ran("check", site, *AS_OF).stderr


def test_a_booking_logged_late_is_for_the_days_in_the_calendar(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Three days before them a new booking would come too late; this one was made in time."""
    monkeypatch.chdir(site.parent)
    assert ran("write", site, *AS_OF).exit_code == 0
    booking, late = "holding.book-climber-dormant", ("--as-of", "2026-12-21")
    told = ran("log", site, booking, "--on", "2026-11-25", *late).stdout
    days = 'first = 2026-12-24, last = 2026-12-24, visit = "dormant"'
    assert told.splitlines()[-1] == f"booked = [{{ {days} }}]"


def test_a_booking_of_nothing_that_is_hired_is_refused(site: Path) -> None:
    before = (site / "worklog.csv").read_bytes()
    result = ran("log", site, "holding.book-climbers-dormant", *AS_OF)
    assert result.exit_code == 2
    assert "did you mean holding.book-climber-dormant" in result.stderr
    assert (site / "worklog.csv").read_bytes() == before


def test_no_number_on_the_phone_is_written_in_powers_of_ten() -> None:
    feeds = list((ROOT / "calendars").rglob("*.ics"))
    assert feeds
    for feed in feeds:
        assert b"e+0" not in feed.read_bytes()


def test_writing_twice_changes_nothing_and_says_so(site: Path, tmp_path: Path) -> None:
    ran("write", site, "--to", tmp_path / "feeds", *AS_OF)
    stamps = {p: p.stat().st_mtime_ns for p in (tmp_path / "feeds").glob("*.ics")}
    again = ran("write", site, "--to", tmp_path / "feeds", *AS_OF)
    assert again.stdout.count(", unchanged") == len(stamps)
    assert "pages unchanged" in again.stdout
    assert {p: p.stat().st_mtime_ns for p in (tmp_path / "feeds").glob("*.ics")} == stamps


def test_a_foreign_file_in_the_feeds_place_is_left_alone(site: Path, tmp_path: Path) -> None:
    (tmp_path / "feeds").mkdir()
    mine = tmp_path / "feeds" / "work.ics"
    mine.write_bytes(b"my own notes")
    result = ran("write", site, "--to", tmp_path / "feeds", *AS_OF)
    assert result.exit_code == 2
    assert "is left as it is" in result.stderr
    assert mine.read_bytes() == b"my own notes"
    assert [p.name for p in (tmp_path / "feeds").glob("*.ics")] == ["work.ics"]


def test_an_empty_feed_replaces_a_full_one_only_when_asked(site: Path, tmp_path: Path) -> None:
    ran("write", site, "--to", tmp_path / "feeds", *AS_OF)
    edit(site, "plan-2027.toml", '["dormant", "release", "dry-summer", "year"]', "[]")
    left = ran("write", site, "--to", tmp_path / "feeds", *AS_OF)
    assert left.exit_code == 1
    assert "work.ics is left as it is: nothing is planned for it any more" in left.stderr
    assert "--allow-empty" in left.stderr
    assert b"VEVENT" in (tmp_path / "feeds" / "work.ics").read_bytes()
    assert ran("write", site, "--to", tmp_path / "feeds", "--allow-empty", *AS_OF).exit_code == 0
    assert b"VEVENT" not in (tmp_path / "feeds" / "work.ics").read_bytes()


@pytest.mark.parametrize("demo", DEMOS)
def test_the_demo_calendars_are_written_again_byte_for_byte(
    demo: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    """Anew, and with the days that they tell as the memory of what was published."""
    plan: SeasonPlan = request.getfixturevalue(demo)
    kept = {path.name: path.read_bytes() for path in (ROOT / "calendars" / demo).glob("*.ics")}
    feeds = {f"{feed.name}.ics": feed for feed in feeds_once(plan)}
    assert feeds.keys() == kept.keys() != set()
    stamp = datetime(2026, 11, 25, tzinfo=UTC)
    for name, feed in feeds.items():
        assert feed_bytes(feed, None, stamp) == kept[name], name
    shutil.copytree(ROOT / "calendars" / demo, tmp_path, dirs_exist_ok=True)
    result = ran("write", ROOT / "sites" / demo, "--to", tmp_path, *AS_OF)
    assert result.exit_code == 0, result.output
    assert result.stdout.count(", unchanged") == len(kept)
    assert {path.name: path.read_bytes() for path in tmp_path.glob("*.ics")} == kept
    pages, kept_pages = (
        {path.name: path.read_bytes() for path in (folder / "pages").iterdir()}
        for folder in (tmp_path, ROOT / "calendars" / demo)
    )
    assert pages == kept_pages
    assert {"index.html", "season.html", "season.svg", "frost.json"} <= pages.keys()


@pytest.mark.parametrize("command", ["sky", "frost", "due", "plan"])
def test_piped_output_is_plain(command: str) -> None:
    result = ran(command, ROOT / "sites" / "klipskadu", *AS_OF)
    assert "\x1b" not in result.stdout
    assert "│" not in result.stdout
