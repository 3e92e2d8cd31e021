"""Seasons broken on purpose: each is answered in the grower's words, and the way out works."""

import re
import shutil
from datetime import date, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.cli import app
from scheduler.holding import read_holding
from scheduler.roster import faults_in
from scheduler.season import plan_season
from tests.sites import AS_OF, DEMOS, ROOT, edit

pytestmark = pytest.mark.slow


def run(*words: str) -> Result:
    result = CliRunner().invoke(app, [*words, "--as-of", "2026-11-25"])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert "Traceback" not in result.output
    return result


@pytest.fixture(params=DEMOS)
def site(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return Path(shutil.copytree(ROOT / "sites" / request.param, tmp_path / request.param))


def warned(site: Path, *command: str) -> list[str]:
    """The warnings of a season with work left out: exit code 1, and no fault of the plan."""
    result = run(*(command or ("check", str(site))))
    assert result.exit_code == 1
    plan = plan_season(read_holding(site, AS_OF), AS_OF)
    assert plan.roster.left_out
    assert faults_in(plan.problem, plan.roster) == ()
    return [line for line in result.stderr.splitlines() if "could not be placed" in line]


def add(site: Path, file: str, text: str) -> None:
    with (site / file).open("a", encoding="utf-8") as end:
        end.write(text)


def own_date(site: Path, task: str, day: str) -> None:
    add(site, "plan-2027.toml", f'\n[[own_date]]\ntask = "{task}"\non = {day}\nwhy = "told"\n')


def test_a_plan_that_ends_too_soon_names_its_end_and_the_day_that_would_do(site: Path) -> None:
    ends = {"branasol": "2027-05-10", "klipskadu": "2027-09-20"}[site.name]
    task = {"branasol": "fondal.cut-boundary", "klipskadu": "vlei.decide-release"}[site.name]
    edit(site, "plan-2027.toml", "last = 2027-11-30", f"last = {ends}")
    line = next(line for line in warned(site) if task in line)
    assert "these do not go together" in line
    assert "the plan ends on" in line
    until = re.search(r"let the plan run to (\d+ \w+ 2027) or later", line)
    assert until is not None
    day = _day(until[1])
    edit(site, "plan-2027.toml", f"last = {ends}", f"last = {day}")
    assert task not in _left_out(site), "what was said to free it frees it"
    edit(site, "plan-2027.toml", f"last = {day}", f"last = {day - timedelta(days=1)}")
    assert task in _left_out(site), "and a day sooner does not"


def _day(words: str) -> date:
    day, month, year = words.split()
    names = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    return date(int(year), names.index(month) + 1, int(day))


def _left_out(site: Path) -> tuple[str, ...]:
    return plan_season(read_holding(site, AS_OF), AS_OF).roster.left_out


def test_no_tolerance_is_advised_where_frost_is_likelier_than_not(site: Path) -> None:
    if site.name != "branasol":
        pytest.skip("there the release is not bound by the end of the plan alone")
    edit(site, "plan-2027.toml", "last = 2027-11-30", "last = 2027-05-10")
    (site / "rules.toml").write_text(
        '[[figure]]\nid = "frost-chance-advised"\nvalue = 0.01\nunit = "chance"\n'
        'source = "the grower"\n',
        encoding="utf-8",
    )
    line = next(line for line in warned(site) if "fondal.uncover-tender" in line)
    assert "nothing safe: the least chance of frost there is" in line
    assert "accept a chance" not in line


def test_a_greater_tolerance_is_offered_with_the_figure_that_frees(
    site: Path,
) -> None:
    if site.name != "branasol":
        pytest.skip("there the release is not bound by the end of the plan alone")
    edit(site, "plan-2027.toml", "last = 2027-11-30", "last = 2027-05-10")
    line = next(line for line in warned(site) if "fondal.uncover-tender" in line)
    figure = re.search(r"accept a chance of frost of (\d+) %", line)
    assert figure is not None
    text = (site / "site.toml").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^tolerance = .*$", f"tolerance = {int(figure[1]) / 100}", text)
    if "tolerance =" not in text:
        text = text.replace("[frost]\n", f"[frost]\ntolerance = {int(figure[1]) / 100}\n")
    (site / "site.toml").write_text(text, encoding="utf-8")
    assert "fondal.uncover-tender" not in _left_out(site)


def test_no_tolerance_is_offered_with_which_the_work_has_no_place_either(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if site.name != "branasol":
        pytest.skip("there the release is not bound by the end of the plan alone")
    edit(site, "plan-2027.toml", "last = 2027-11-30", "last = 2027-05-10")
    monkeypatch.setattr("scheduler.season.conflicts._Question._first_with", lambda *_: "")
    line = next(line for line in warned(site) if "fondal.uncover-tender" in line)
    assert "no greater tolerance of frost: it brings the first frost of autumn nearer" in line
    assert "accept a chance" not in line


def test_a_crew_of_nobody_on_the_heavy_days_is_told_with_the_day_that_is_missing(
    site: Path,
) -> None:
    away = {
        "branasol": "{ first = 2027-04-21, last = 2027-06-30 }",
        "klipskadu": "{ first = 2027-08-20, last = 2027-11-30 }",
    }[site.name]
    head, *people = (site / "crew.toml").read_text(encoding="utf-8").split("[[person]]")
    told = []
    for person in people:
        own, sep, hire = person.partition("[[hire]]")
        lines = [line for line in own.splitlines() if line and not line.startswith("off")]
        told.append("\n".join(["", *lines, f"off = [{away}]", "", ""]) + sep + hire)
    text = "[[person]]".join([head, *told])
    (site / "crew.toml").write_text(text, encoding="utf-8")
    task = {"branasol": "fondal.decide-release", "klipskadu": "vlei.decide-release"}[site.name]
    line = next(line for line in warned(site) if task in line)
    assert "nobody works on days other than those in crew.toml" in line
    assert re.search(
        r"one more day of crew, \d+ \w+ 2027 \(extra, or less off, under \[\[person\]\]", line
    )
    why = run("why", str(site), task)
    assert "could not be placed" in why.stdout
    assert "one more day of crew" in why.stdout
    assert "nobody of the crew works" in why.stdout


def test_a_crew_without_any_working_day_is_told_so(site: Path) -> None:
    text = (site / "crew.toml").read_text(encoding="utf-8")
    (site / "crew.toml").write_text(re.sub(r"(?m)^days = .*$", "days = []", text), "utf-8")
    lines = [line for line in warned(site) if "could not be placed" in line]
    assert any("nobody of the crew has a working day in the plan" in line for line in lines)
    assert not [line for line in lines if "could not be placed: ." in line]


def test_a_circle_in_the_order_is_told_along_its_way(site: Path) -> None:
    """The site's own rules.toml makes weeding wait for planting."""
    book = (ROOT / "scheduler/holding/rules/tasks.toml").read_text(encoding="utf-8")
    entry = next(e for e in book.split("[[task]]") if 'id = "weed-lines"' in e)
    assert "\nafter" not in entry
    changed = entry.replace("rate =", 'after = [{ task = "plant-alleys" }]\nrate =', 1)
    add(site, "rules.toml", f"\n[[task]]{changed}")
    lines = warned(site, "roster", str(site))
    (circle,) = (line for line in lines if "runs in a circle" in line)
    assert "'Weed the tree lines' waits for 'Plant the opened alleys'" in circle
    assert circle.count("'Plant the opened alleys'") == 1
    assert "rules.toml closes it ([[task]] weed-lines, after plant-alleys); take this" in circle
    for plot in read_holding(site, AS_OF).plots:
        assert plot.name in circle, "told once for all plots"


def test_two_circles_are_told_apart(site: Path) -> None:
    book = (ROOT / "scheduler/holding/rules/tasks.toml").read_text(encoding="utf-8")
    for kind, waits_for in (("weed-lines", "plant-alleys"), ("harvest-summer", "cut-stone-fruit")):
        entry = next(e for e in book.split("[[task]]") if f'id = "{kind}"' in e)
        changed = entry.replace("rate =", f'after = [{{ task = "{waits_for}" }}]\nrate =', 1)
        add(site, "rules.toml", f"\n[[task]]{changed}")
    circles = [line for line in warned(site) if "runs in a circle" in line]
    assert len(circles) == 2
    assert sum("[[task]] harvest-summer, after cut-stone-fruit" in one for one in circles) == 1


def test_kit_that_two_plots_want_on_the_same_day_names_both(site: Path) -> None:
    """Many more tall trees, so that each job takes the climber's whole day."""
    pair, on, often = {
        "branasol": (("fondal.cut-high", "socalco.cut-high"), "2027-06-03", 10),
        "klipskadu": (("vlei.cut-emergent", "rant.cut-emergent"), "2027-10-12", 6),
    }[site.name]
    stratum = pair[0].rpartition("-")[2]
    rows = []
    for row in (site / "stock.csv").read_text(encoding="utf-8").splitlines():
        cells = row.split(",")
        if cells[3:5] == [stratum, "support"]:
            cells[6] = str(int(cells[6]) * often)
        rows.append(",".join(cells))
    (site / "stock.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    for task in pair:
        own_date(site, task, on)
    told = " ".join(warned(site))
    assert told.count("your own date for it is") >= 2
    assert "is in one place at a time" in told
    assert "give up your own date (it could begin on" in told
    assert "leave out" in told


def test_a_cap_on_heavy_days_that_the_growers_own_days_break_is_one_of_the_statements(
    site: Path,
) -> None:
    pair = {
        "branasol": {
            "fondal.cut-dormant-tall": "2027-01-08",
            "socalco.cut-dormant-tall": "2027-01-07",
        },
        "klipskadu": {"vlei.cut-boundary": "2027-10-06", "rant.cut-emergent": "2027-10-07"},
    }[site.name]
    crew = (site / "crew.toml").read_text(encoding="utf-8")
    crew = re.sub(r"(?m)^heavy_days_in_row = .*$", "", crew)
    (site / "crew.toml").write_text(f"heavy_days_in_row = 1\n{crew}", encoding="utf-8")
    for task, day in pair.items():
        own_date(site, task, day)
    line = next(line for line in warned(site) if any(task in line for task in pair))
    assert "these do not go together" in line
    assert "crew.toml caps heavy days in a row at 1" in line
    assert line.count("your own date for it is") == 2
    assert "let 2 heavy days follow one another (heavy_days_in_row)" in line
    (site / "crew.toml").write_text(f"heavy_days_in_row = 2\n{crew}", encoding="utf-8")
    assert _left_out(site) == (), "what was said to free it frees it"
