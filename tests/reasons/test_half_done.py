"""Visits are planned whole or not at all; what the log has begun and what stays out is told."""

import json
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from scheduler.reasons import SeasonPlan
from scheduler.terms import Level, Notice
from scheduler.words import why_table
from tests.reasons.test_conflicts import run
from tests.sites import ROOT, add, asks_for, demo, edit, new_site, planned

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("plans_once")]
COARSE = "'Section and lay logs and branches'"


def half_done(plan: SeasonPlan) -> list[Notice]:
    return [notice for notice in plan.notices if notice.code == "visit-half-done"]


def missing(plan: SeasonPlan) -> list[Notice]:
    return [notice for notice in plan.notices if "unscheduled" in notice.says]


def no_day_for_coarse_wood(site: Path) -> None:
    add(site, "plan-2027.toml", "\n[[closed]]\nfirst = 2026-12-01\nlast = 2027-11-30\n"
        'types = ["lay-coarse"]\nwhy = "no tractor"\n')  # fmt: skip


def nobody_for_the_machine(site: Path) -> None:
    edit(site, "crew.toml", "lead_days = 14\n", "lead_days = 14\nwanted = true\n")
    edit(site, "crew.toml", ', "chipper-hand"]', "]")
    edit(site, "crew.toml", 'days = ["thu", "fri"]', 'days = ["mon", "tue", "wed", "thu", "fri"]')
    edit(site, "stock.csv", "pollard,12,7,3.5", "pollard,90,7,3.5")


@pytest.mark.parametrize(
    ("broken", "step", "says"),
    [
        (no_day_for_coarse_wood, "lay-coarse", "closed by the grower: no tractor"),
        (nobody_for_the_machine, "chip", "nobody of the crew, own or hired, can do it"),
    ],
)
def test_nothing_of_a_visit_is_planned_where_one_of_its_steps_has_no_day(
    tmp_path: Path, broken: Callable[[Path], None], step: str, says: str
) -> None:
    """What is cut open is finished, or not begun: common practice, no source."""
    site = new_site(tmp_path / "site")
    asks_for(site, "release")
    broken(site)
    plan = planned(site)
    steps = plan.placed.groups["first-plot.release"]
    assert f"first-plot.{step}" in steps
    assert len(steps) > 4
    assert plan.placed.stints.keys().isdisjoint(steps)
    (told,) = [notice for notice in missing(plan) if notice.level is Level.WARNING]
    assert told.about == "first-plot.release"
    assert set(steps) <= set(told.also)
    assert f"{plan.placed.tasks[f'first-plot.{step}'].type.title!r} keeps it out" in told.says
    assert says in told.says
    assert half_done(plan) == [], "it is not begun"
    way_out = f'without = ["{step}"]'
    assert f"(`{way_out}` in plan-2027.toml" in told.says
    edit(site, "plan-2027.toml", "plots =", f"{way_out}\nplots =")
    freed = planned(site)
    assert freed.placed.left_out == ()
    assert set(freed.placed.groups["first-plot.release"]) <= freed.placed.stints.keys()


BEGUN = """2027-04-01,2027,holding.book-climber-release,100,,
2027-05-24,2027,fondal.weed-lines,100,4,
2027-05-25,2027,fondal.cut-boundary,40,4,
"""


@pytest.fixture
def begun(tmp_path: Path) -> Path:
    """The visit of the hollow is begun by the log."""
    site = demo(tmp_path, "branasol")
    asks_for(site, "release", "plant-with-rains", plots=("fondal",))
    add(site, "worklog.csv", BEGUN)
    return site


def away(site: Path, last: str) -> None:
    add(site, "plan-2027.toml", f'\n[[closed]]\nfirst = 2027-05-26\nlast = {last}\nwhy = "away"\n')


def test_the_rest_of_a_begun_visit_far_later_than_what_is_logged_is_warned_of(begun: Path) -> None:
    """More than twice the longest wait of the order: common practice, no source."""
    today = date(2027, 5, 26)
    soon = planned(begun, today)
    assert "fondal.cut-boundary" in soon.placed.stints
    assert half_done(soon) == []
    away(begun, "2027-07-05")
    plan = planned(begun, today)
    rest = plan.placed.season.date_of(plan.placed.visits["fondal.release"].first)
    assert rest > date(2027, 7, 5)
    (told,) = half_done(plan)
    assert (told.level, told.about) == (Level.WARNING, "fondal.release")
    assert "is begun (last logged on 25 May 2027), but the rest ('Cut the tallest " in told.says
    assert f"is planned for {rest.day} Jul 2027 only. Make room for it soon" in told.says
    assert "fondal.cut-boundary" in told.also
    assert "fondal.weed-lines" not in told.also


def test_check_lists_a_begun_visit_without_a_place_and_other_commands_point_to_it(
    begun: Path, tmp_path: Path
) -> None:
    away(begun, "2027-11-30")
    checked = CliRunner().invoke(app, ["check", str(begun), "--as-of", "2027-05-26"])
    assert checked.exit_code == 1
    assert checked.stdout.count("is begun (last logged on 25 May 2027)") == 1
    assert "is unscheduled. Make room for it soon" in checked.stdout
    for command in ("plan", "due", "write"):
        to = ["--to", str(tmp_path / "feeds")] if command == "write" else []
        asked = CliRunner().invoke(app, [command, str(begun), *to, "--as-of", "2027-05-26"])
        assert asked.exit_code == 1, command
        assert sum(line.startswith("warning: ") for line in asked.stderr.splitlines()) == 1
        assert f": `scheduler check {begun}` lists all." in asked.stderr


def test_a_season_that_fits_warns_of_no_visit(tmp_path: Path) -> None:
    assert half_done(planned(new_site(tmp_path / "site"))) == []


def test_work_that_merely_waits_is_told_with_its_cause(tmp_path: Path) -> None:
    """The plan ends on the day before frost releases the plot."""
    site = new_site(tmp_path / "site")
    kinds = ("cut-medium", "lay-fine", "plant-alleys", "aftercare-early", "walk-plots")
    asks_for(site, *kinds, last="2027-05-10")
    plan = planned(site)
    causes = [n for n in missing(plan) if n.level is Level.WARNING]
    waiting = [n for n in missing(plan) if n.level is Level.NOTE]
    assert [n.code for n in waiting] == ["waits-for-left-out"]
    named = [one for n in causes for one in (n.about, *n.also)]
    assert sorted(named) == sorted({*plan.placed.roster.left_out, *plan.placed.left_out}), (
        "each once"
    )
    assert waiting[0].about in named
    release = next(n for n in causes if n.about == "first-plot.release")
    assert "With it stays out: 'Water and weed, two weeks on' in First plot" in release.says
    why = why_table(plan, waiting[0].about).plain()
    assert "it waits for the release visit of First plot, which is unscheduled" in why
    assert "WARNING: The release visit of First plot is unscheduled" in why


def test_one_reason_for_several_plots_is_told_once_and_programs_get_all_that_it_is_about(
    tmp_path: Path,
) -> None:
    site = demo(tmp_path, "branasol")
    asks_for(site, "walk-plots", last="2027-05-10")
    plan = planned(site)
    (walks,) = missing(plan)
    assert {walks.about, *walks.also} == {
        f"{plot.id}.walk-plots" for plot in plan.placed.holding.plots
    }
    assert len(walks.also) == 3
    told = json.loads(run("check", str(site), "--json").stdout)
    assert [n["also"] for n in told if n["about"] == walks.about] == [[*walks.also]]


def test_a_crew_that_never_works_is_one_warning(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    text = (site / "crew.toml").read_text(encoding="utf-8")
    (site / "crew.toml").write_text(re.sub(r"(?m)^days = .*$", "days = []", text), "utf-8")
    (told,) = (n for n in planned(site).notices if n.code == "nobody-works")
    assert {"first-plot.release", "first-plot.walk-plots"} <= {told.about, *told.also}
    assert "unscheduled: nobody of the crew has a working day" in told.says


def test_days_that_have_gone_by_are_told_with_the_way_to_log_them(tmp_path: Path) -> None:
    site, today = demo(tmp_path, "branasol"), date(2027, 4, 20)
    asks_for(site, "dormant")
    (told,) = [n for n in planned(site, today).notices if n.code == "days-gone-by"]
    gone = {told.about, *told.also}
    assert {"novo.cut-dormant-fruit:apple", "socalco.dormant"} <= gone, "though one must climb"
    assert "scheduler log SITE VISIT --on DAY" in told.says
    add(site, "worklog.csv", "2027-01-20,2027,novo.cut-dormant-fruit:apple,100,6,\n")
    left = planned(site, today).placed.roster.left_out
    assert "socalco.dormant" in left
    assert "novo.cut-dormant-fruit:apple" not in left


def test_what_left_the_plan_for_one_reason_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    over = CliRunner().invoke(app, ["plan", "--full", "sites/branasol", "--as-of", "2027-12-20"])
    (moved,) = [line for line in over.stdout.splitlines() if line.startswith("moved: ")]
    assert "visits out of the plan, of each its days have gone by" in moved
    assert "fondal.release" in moved
