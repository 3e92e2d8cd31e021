"""Seasons broken on purpose: each is answered in the grower's words, and the way out works."""

import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from scheduler.holding import read_holding
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.roster.check import faults_in
from scheduler.terms import Level
from tests.sites import AS_OF, DEMOS, ROOT, add, asks_for, demo, edit, new_site, own_date, planned

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("plans_once")]


def run(*words: str) -> Result:
    result = CliRunner().invoke(app, [*words, "--as-of", "2026-11-25"])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert "Traceback" not in result.output
    return result


@pytest.fixture(params=DEMOS)
def site(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return demo(tmp_path, request.param)


@pytest.fixture
def north(tmp_path: Path) -> Path:
    return demo(tmp_path, "branasol")


def warned(site: Path) -> list[str]:
    return warned_in(planned(site))


def warned_in(plan: SeasonPlan) -> list[str]:
    """The warnings of a season with work left out, which has no fault otherwise."""
    assert plan.placed.roster.left_out
    assert faults_in(plan.placed.problem, plan.placed.roster) == ()
    told = (n for n in plan.notices if n.level is Level.WARNING)
    return [f"{n.about}: {n.says}" for n in told if "unscheduled" in n.says]


def left_out(site: Path) -> tuple[str, ...]:
    return planned(site).placed.roster.left_out


@pytest.mark.parametrize(
    ("visit", "kinds", "ends"),
    [
        ("release", ("weed-lines", "cut-medium", "lay-coarse"), date(2027, 5, 11)),
        ("walk-plots", ("walk-plots",), date(2027, 8, 20)),
    ],
)
def test_a_plan_that_ends_too_soon_names_its_end_and_the_day_that_would_do(
    tmp_path: Path, visit: str, kinds: tuple[str, ...], ends: date
) -> None:
    site, about = new_site(tmp_path / "site"), f"first-plot.{visit}"
    asks_for(site, *kinds, last=ends)
    (line,) = warned(site)
    assert about in line
    assert "these do not go together" in line
    assert "the plan ends on" in line
    until = re.search(r"let the plan run to (\d+ \w+ 2027) or later", line)
    assert until is not None
    day = _day(until[1])
    asks_for(site, *kinds, last=day)
    assert left_out(site) == (), "what was said to free it frees it"
    asks_for(site, *kinds, last=day - timedelta(days=1))
    assert left_out(site) == (about,), "and a day sooner does not"


def _day(words: str) -> date:
    day, month, year = words.split()
    names = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    return date(int(year), names.index(month) + 1, int(day))


@pytest.fixture
def covered(tmp_path: Path) -> Path:
    """Covers come off when frost is over, and the plan ends before."""
    site = new_site(tmp_path / "site")
    (site / "station.csv").write_bytes((ROOT / "sites/branasol/station.csv").read_bytes())
    edit(site, "site.toml", "stations = []", 'stations = ["station.csv"]')
    add(site, "stock.csv", "first-plot,A,lemon,low,fruit,retained,4,5,2,2,,\n")
    asks_for(site, "uncover-tender", last="2027-04-08")
    return site


def test_no_tolerance_is_advised_where_frost_is_likelier_than_not(covered: Path) -> None:
    (covered / "rules.toml").write_text(
        '[[figure]]\nid = "frost-chance-advised"\nvalue = 0.01\nunit = "chance"\n'
        'source = "the grower"\n',
        encoding="utf-8",
    )
    (line,) = warned(covered)
    assert "first-plot.uncover-tender" in line
    assert "nothing safe: the least chance of frost there is" in line
    assert "accept a chance" not in line


def test_a_greater_tolerance_is_offered_with_the_figure_that_frees(covered: Path) -> None:
    (line,) = warned(covered)
    figure = re.search(r"accept a chance of frost of (\d+) %", line)
    assert figure is not None
    edit(covered, "site.toml", "tolerance = 0.10", f"tolerance = {int(figure[1]) / 100}")
    assert left_out(covered) == ()


def test_no_tolerance_is_offered_with_which_the_work_has_no_place_either(
    covered: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduler.reasons.statements._Rule._first_with", lambda *_: "")
    (line,) = warned_in(plan_season(read_holding(covered, AS_OF), AS_OF))
    assert "no greater tolerance of frost: it brings the first frost of autumn nearer" in line
    assert "accept a chance" not in line


def away(site: Path, first: date, last: date) -> None:
    """Everybody of the crew is off from one day to another, and on no other."""
    text = (site / "crew.toml").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^off = .*\n", "", text)
    off = f"[[person]]\noff = [{{ first = {first}, last = {last} }}]"
    assert "[[person]]" in text
    (site / "crew.toml").write_text(text.replace("[[person]]", off), encoding="utf-8")


def test_a_crew_of_nobody_on_the_days_in_question_is_told_with_the_day_that_is_missing(
    site: Path,
) -> None:
    plot, first, last = {
        "branasol": ("fondal", date(2027, 4, 21), date(2027, 6, 30)),
        "klipskadu": ("vlei", date(2027, 8, 20), date(2027, 11, 30)),
    }[site.name]
    away(site, first, last)
    asks_for(site, "decide-release", plots=(plot,))
    (line,) = warned(site)
    assert f"{plot}.decide-release" in line
    assert "nobody works on days other than those in crew.toml" in line
    assert re.search(
        r"one more day of crew, \d+ \w+ 2027 \(extra, or less off, under \[\[person\]\]", line
    )
    why = run("why", str(site), f"{plot}.decide-release")
    assert "unscheduled" in why.stdout
    assert "one more day of crew" in why.stdout
    assert "nobody of the crew works" in why.stdout


def test_a_visit_that_could_be_begun_but_not_ended_names_the_day_that_is_missing(
    north: Path,
) -> None:
    """The hollow takes more than a day; the crew is there on the first day alone."""
    asks_for(north, "release", "plant-with-rains", plots=("fondal",))
    own_date(north, "fondal.release", on=date(2027, 5, 25))
    away(north, date(2027, 5, 26), date(2027, 11, 30))
    line = next(line for line in warned(north) if "fondal.release" in line)
    assert "your own date for it is 25 May 2027" in line
    assert "one more day of crew, 26 May 2027 (extra" in line


def test_a_crew_without_any_working_day_is_told_so(site: Path) -> None:
    asks_for(site, "release", "year")
    text = (site / "crew.toml").read_text(encoding="utf-8")
    (site / "crew.toml").write_text(re.sub(r"(?m)^days = .*$", "days = []", text), "utf-8")
    asked = run("check", str(site))
    assert asked.exit_code == 1
    lines = [line for line in asked.stdout.splitlines() if "unscheduled" in line]
    assert any("nobody of the crew has a working day in the plan" in line for line in lines)
    assert not [line for line in lines if "unscheduled: ." in line]


def wait_for(site: Path, kind: str, waits_for: str) -> None:
    """Let a kind of work of the site's own rules.toml wait for another, and for nothing else."""
    book = (ROOT / "scheduler/holding/rules/tasks.toml").read_text(encoding="utf-8")
    entry = next(e for e in book.split("[[task]]") if f'id = "{kind}"' in e)
    entry = re.sub(r"(?m)^after = .*\n", "", entry)
    after = f'after = [{{ task = "{waits_for}" }}]\nrate ='
    assert "\nrate =" in entry
    add(site, "rules.toml", f"\n[[task]]{entry.replace('rate =', after, 1)}")


def test_a_kind_of_work_that_waits_for_itself_is_a_fault_of_the_rules(site: Path) -> None:
    """Weeding waits for planting; and two kinds of routine work wait for one another."""
    asks_for(site, "release", "weed-light", "walk-plots")
    wait_for(site, "weed-lines", "plant-alleys")
    wait_for(site, "weed-light", "walk-plots")
    wait_for(site, "walk-plots", "weed-light")
    asked = run("plan", str(site))
    assert asked.exit_code == 2
    lines = asked.stderr.splitlines()
    assert len(lines) == 2
    assert all("field after" in line and " waits for " in line for line in lines)
    assert any("weed-lines" in line and "plant-alleys" in line for line in lines)
    assert any("weed-light" in line and "walk-plots" in line for line in lines)


def test_kit_that_two_plots_want_on_the_same_day_names_both(north: Path) -> None:
    """Hands enough on that Friday, and one climber."""
    asks_for(north, "cut-dormant-tall", plots=("fondal", "socalco"))
    people = "".join(
        f'[[person]]\nname = "P{n}"\nskills = ["ground-saw"]\ndays = ["fri"]\nhours = 6\n\n'
        for n in range(6)
    )
    climber = '[[hire]]\nid = "climber"'
    edit(north, "crew.toml", climber, f"{people}{climber}")
    for plot in ("fondal", "socalco"):
        own_date(north, f"{plot}.cut-dormant-tall", on=date(2027, 1, 8))
    (told,) = warned(north)
    assert told.count("your own date for it is") == 2
    assert "is in one place at a time" in told
    assert "give up your own date (it could begin on" in told
    assert "leave out the dormant visit of O Fondal (hollow)" in told
    assert "a second climber" in told


def test_how_long_one_may_saw_is_one_of_the_statements(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    asks_for(site, "cut-medium", "lay-coarse")
    assert left_out(site) == ()
    add(site, "rules.toml", '[[figure]]\nid = "saw-minutes"\nvalue = 5\nunit = "minutes"\n'
        'source = "the grower"\n')  # fmt: skip
    (told,) = warned(site)
    assert "nobody of the crew saws longer than the limit for a day" in told
    assert "somebody else who saws on" in told
    assert "running-saw" not in told


def test_a_cap_on_heavy_days_that_the_growers_own_days_break_is_one_of_the_statements(
    north: Path,
) -> None:
    asks_for(north, "cut-dormant-tall", plots=("fondal", "ladeira"))
    crew = (north / "crew.toml").read_text(encoding="utf-8")
    (north / "crew.toml").write_text(f"heavy_days_in_row = 1\n{crew}", encoding="utf-8")
    own_date(north, "fondal.cut-dormant-tall", on=date(2027, 1, 8))
    own_date(north, "ladeira.cut-dormant-tall", on=date(2027, 1, 7))
    (line,) = warned(north)
    assert "these do not go together" in line
    assert "crew.toml caps heavy days in a row at 1" in line
    assert line.count("your own date for it is") == 2
    assert "let 2 heavy days follow one another (heavy_days_in_row)" in line
    (north / "crew.toml").write_text(f"heavy_days_in_row = 2\n{crew}", encoding="utf-8")
    assert left_out(north) == (), "what was said to free it frees it"
