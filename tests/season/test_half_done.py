"""Visits that would be begun and not finished, and work that stays out for one cause."""

import json
import re
import shutil
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.cli import app
from scheduler.holding import read_holding
from scheduler.publish.words import half_done_warning
from scheduler.season import SeasonPlan, plan_season
from scheduler.terms import Level, Notice
from tests.season.test_conflicts import add, run
from tests.sites import AS_OF, ROOT, edit, new_site

pytestmark = pytest.mark.slow
LAID = "'Section and lay logs and branches' has no place and belongs within 7 days after"


def copied(demo: str, folder: Path) -> Path:
    return Path(shutil.copytree(ROOT / "sites" / demo, folder / demo))


def planned(site: Path, as_of: date = AS_OF) -> SeasonPlan:
    return plan_season(read_holding(site, as_of), as_of)


def half_done(plan: SeasonPlan) -> list[Notice]:
    return [notice for notice in plan.notices if notice.code == "visit-half-done"]


@pytest.fixture
def cut_short(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The plan ends when O Fondal is cut and its wood lies where it fell."""
    monkeypatch.chdir(tmp_path)
    site = copied("branasol", tmp_path)
    edit(site, "plan-2027.toml", "last = 2027-11-30", "last = 2027-05-27")
    return site


def test_a_cut_whose_wood_cannot_be_laid_is_warned_of_once_for_the_plot(cut_short: Path) -> None:
    plan = planned(cut_short)
    (told,) = half_done(plan)
    assert (told.level, told.about) == (Level.WARNING, "fondal")
    assert "The release visit of O Fondal (hollow) would be begun" in told.says
    assert f"{LAID} 'Cut the low stratum'" in told.says
    assert "[[work]] in plan-2027.toml" in told.says
    # all that stands of that visit and leads up to the laying, and what is missing
    assert {f"fondal.{kind}" for kind in ("weed-lines", "cut-high", "cut-medium", "cut-low",
            "lay-coarse")} <= set(told.also)  # fmt: skip
    assert all(task_id.startswith("fondal.") for task_id in told.also)


def test_the_visit_is_warned_of_by_each_command_and_in_the_events_it_speaks_of(
    cut_short: Path, tmp_path: Path
) -> None:
    for command in ("check", "roster", "due"):
        result = run(command, str(cut_short))
        assert result.exit_code == 1
        assert result.stderr.count("would be begun") == 1, command
    written = run("write", str(cut_short), "--to", str(tmp_path / "feeds"))
    assert written.exit_code == 1
    assert written.stderr.count("would be begun") == 1
    feed = (tmp_path / "feeds" / "work.ics").read_bytes().replace(b"\r\n ", b"").decode()
    events = {
        re.search(r"SUMMARY:(.*)\r", event)[1]: event  # type: ignore[index]  # each has one
        for event in feed.split("BEGIN:VEVENT")[1:]
    }
    begun = {title for title, event in events.items() if "would be begun" in event}
    assert "O Fondal: Cut the high stratum" in begun
    assert {title.partition(":")[0] for title in begun} == {"O Fondal"}
    assert "O Fondal: Take the covers off" not in begun, "it leads up to no cut of the wood"


def test_the_way_out_that_is_told_takes_the_warning_away(cut_short: Path) -> None:
    said = next(n.says for n in planned(cut_short).notices if n.about == "fondal.lay-coarse")
    assert "let the plan run to 28 May 2027 or later" in said
    edit(cut_short, "plan-2027.toml", "last = 2027-05-27", "last = 2027-06-30")
    assert half_done(planned(cut_short)) == []
    edit(cut_short, "plan-2027.toml", "last = 2027-06-30", "last = 2027-05-27")
    edit(cut_short, "plan-2027.toml", '["fondal", "socalco"', '["socalco"')
    assert half_done(planned(cut_short)) == [], "or the visit is left out of the plan"


def test_care_that_comes_weeks_later_is_not_the_other_half_of_a_visit(cut_short: Path) -> None:
    plan = planned(cut_short)
    assert "ladeira.aftercare-late" in plan.roster.left_out
    assert half_done(plan)
    assert all("ladeira.plant-alleys" not in told.also for told in half_done(plan))


def test_a_visit_that_is_logged_as_begun_is_told_so(cut_short: Path) -> None:
    log = "".join(
        f"2027-05-25,2027,fondal.{kind},100,6,told\n"
        for kind in ("weed-lines", "cut-boundary", "cut-high", "cut-medium", "cut-low")
    )
    add(cut_short, "worklog.csv", log)
    edit(cut_short, "plan-2027.toml", "[[own_date]]", "[[closed]]\nfirst = 2027-05-26\n"
         'last = 2027-05-27\nwhy = "away"\n\n[[own_date]]')  # fmt: skip
    (told,) = half_done(planned(cut_short, date(2027, 5, 26)))
    assert "visit of O Fondal (hollow) is begun" in told.says
    assert LAID in told.says
    assert "Make room for it soon" in told.says
    assert "leave the" not in told.says, "what is cut is cut"


def test_a_crew_that_cannot_chip_would_leave_the_visit_half_done(tmp_path: Path) -> None:
    site = copied("klipskadu", tmp_path)
    text = (site / "crew.toml").read_text(encoding="utf-8")
    (site / "crew.toml").write_text(text.replace('"chipper-hand"', '"pole-saw"'), "utf-8")
    plan = planned(site)
    (told,) = half_done(plan)
    assert "'Chip the branch wood' has no place and belongs within 10 days" in told.says
    assert half_done_warning(plan.tasks["vlei.lay-coarse"], plan).startswith("WARNING: The rel")
    assert half_done_warning(plan.tasks["rant.lay-coarse"], plan) == ""


def test_a_season_that_fits_warns_of_no_visit(tmp_path: Path) -> None:
    assert half_done(planned(new_site(tmp_path / "site"))) == []


def test_work_that_merely_waits_is_told_with_its_cause(cut_short: Path) -> None:
    plan = planned(cut_short)
    missing = [n for n in plan.notices if "could not be placed" in n.says]
    causes = [n for n in missing if n.level is Level.WARNING]
    waiting = [n for n in missing if n.level is Level.NOTE]
    assert {n.code for n in waiting} == {"waits-for-left-out"}
    named = [task_id for n in causes for task_id in (n.about, *n.also)]
    assert sorted(named) == sorted(plan.roster.left_out), "each stands with its cause, once"
    assert {n.about for n in waiting} < set(named)
    laid = next(n for n in causes if n.about == "fondal.lay-coarse")
    assert "With it stay out: 'Chip the branch wood', 'Lay chips, leaves and juicy" in laid.says
    assert not any("Second cut" in n.says for n in missing), "without a first it is not due"


def test_one_reason_for_several_plots_is_told_once(cut_short: Path) -> None:
    plan = planned(cut_short)
    (walks,) = (n for n in plan.notices if "Walk the plot" in n.says)
    assert {walks.about, *walks.also} == {f"{p.id}.walk-plots" for p in plan.holding.plots}
    for plot in plan.holding.plots:
        assert plot.name in walks.says


def test_a_crew_that_never_works_is_one_warning(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    text = (site / "crew.toml").read_text(encoding="utf-8")
    (site / "crew.toml").write_text(re.sub(r"(?m)^days = .*$", "days = []", text), "utf-8")
    plan = planned(site)
    (told,) = (n for n in plan.notices if n.code == "nobody-works")
    assert re.match(r"\d+ tasks \(.*first-plot.weed-lines.*\) could not be placed", told.says)


def test_why_tells_the_cause_of_work_that_waits(cut_short: Path) -> None:
    result = run("why", str(cut_short), "fondal.plant-alleys")
    assert result.exit_code == 1
    assert "it waits for Lay chips, leaves and juicy stems, which has no place" in result.stdout
    assert "WARNING: Section and lay logs and branches in O Fondal (hollow) could" in result.stdout


def test_days_that_have_gone_by_are_told_with_the_way_to_log_them(tmp_path: Path) -> None:
    site = copied("branasol", tmp_path)
    plan = planned(site, date(2027, 4, 20))
    told = [n for n in plan.notices if n.code == "no-open-day"]
    says = {task_id: n.says for n in told for task_id in (n.about, *n.also)}
    assert "its days (5 Dec 2026 to 5 Mar 2027) have gone by" in says["novo.cut-dormant-fruit"]
    assert "scheduler done SITE TASK --on DAY" in says["novo.cut-dormant-fruit"]
    assert "have gone by" in says["fondal.cut-dormant-tall"], "that a climber is booked ahead too"
    add(site, "worklog.csv", "2027-01-20,2027,novo.cut-dormant-fruit,100,6,\n")
    left = planned(site, date(2027, 4, 20)).roster.left_out
    assert "novo.cut-dormant-fruit" not in left


def test_work_that_merely_waits_names_what_keeps_it_and_the_way_out_works(tmp_path: Path) -> None:
    """In April a climber comes too late for the feijoas, and the wood waits for their pruning."""
    site = copied("branasol", tmp_path)
    today = date(2027, 4, 20)
    told = {n.about: n.says for n in half_done(planned(site, today))}
    assert set(told) == {"socalco", "ladeira"}
    for says in told.values():
        assert "no place (it waits for 'Prune evergreen fruit trees', without one too)" in says
        assert "or leave out only 'Prune evergreen fruit trees'; or leave the release" in says
    plots = 'plots = ["fondal", "socalco", "ladeira", "novo"]'
    edit(site, "plan-2027.toml", plots, f'{plots}\nwithout = ["cut-evergreen-fruit"]')
    plan = planned(site, today)
    assert half_done(plan) == []
    assert {"socalco.lay-coarse", "ladeira.lay-coarse"}.isdisjoint(plan.roster.left_out)


def test_what_left_the_plan_for_one_reason_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    over = CliRunner().invoke(app, ["roster", "sites/branasol", "--as-of", "2027-12-20"])
    moved = [line for line in over.stdout.splitlines() if line.startswith("moved: ")]
    assert len(moved) == 1
    assert "tasks out of the plan, of each its days have gone by" in moved[0]
    assert "fondal.cut-high" in moved[0]


def test_programs_read_which_other_tasks_a_warning_speaks_of(cut_short: Path) -> None:
    told = json.loads(run("check", str(cut_short), "--json").stdout)
    laid = next(n for n in told if n["about"] == "fondal.lay-coarse")
    assert laid["also"][:2] == ["fondal.chip", "fondal.lay-fine"]


BEGUN = """2027-04-01,2027,holding.book-climber-release,100,,
2027-05-20,2027,fondal.weed-lines,100,4,
2027-05-25,2027,fondal.cut-boundary,100,4,
2027-05-25,2027,fondal.cut-high,40,2,
"""
AWAY = """
[[closed]]
first = 2027-05-26
last = 2027-07-20
types = ["release"]
plots = ["fondal"]
why = "away"
"""


def test_the_other_half_far_later_than_what_is_logged_is_warned_of(tmp_path: Path) -> None:
    """Cutting belongs within 10 days after weeding: common practice, no source."""
    site = copied("branasol", tmp_path)
    add(site, "worklog.csv", BEGUN)
    soon = planned(site, date(2027, 5, 26))
    assert "fondal.cut-high" in soon.stints
    assert not [n for n in half_done(soon) if n.about == "fondal"]
    add(site, "plan-2027.toml", AWAY)
    plan = planned(site, date(2027, 5, 26))
    rest = plan.season.date_of(plan.stints["fondal.cut-high"].first)
    assert rest > date(2027, 7, 20)
    (told,) = [n for n in half_done(plan) if n.about == "fondal"]
    assert told.level is Level.WARNING
    assert "'Cut the high stratum' (25 May 2027), but could not be finished in time" in told.says
    assert f"the rest of 'Cut the high stratum' has its place on {rest.day} Jul 2027 " in told.says
    assert "within 10 days after" in told.says
    assert "fondal.cut-high" in told.also
