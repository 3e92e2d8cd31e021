"""Second cuts: weeks after the first of the same growing season, or not at all.

Nine weeks between them (two to three months) are common practice, no source; that tagasaste is
full again after 3 to 5 months is told by florancefarms.com.
"""

from datetime import date, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from scheduler.holding import LogEntry
from scheduler.reasons import SeasonPlan
from scheduler.words import due_tables
from tests.sites import append_to_log, asks_for, demo, planned

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("plans_once")]
GAP_DAYS = 63
SECOND = "second-cut-support"


def two_cuts(folder: Path, first: str = "2026-12-01", last: str = "2027-11-30") -> Path:
    """The northern demo, asked for the first and the second cut of the year alone."""
    site, cuts = demo(folder, "branasol"), ("cut-medium", "cut-low", SECOND)
    asks_for(site, *cuts, "lay-coarse", "top-up-mulch", first=first, last=last)
    return site


def gaps(plan: SeasonPlan) -> dict[str, int]:
    """Days from the last day of the latest planned first cut to the second, by plot."""
    found = {}
    for plot in plan.placed.holding.plots:
        second = plan.placed.stints.get(f"{plot.id}.{SECOND}")
        stock = plan.placed.tasks[f"{plot.id}.{SECOND}"].stock if second else ()
        firsts = [
            stint.last
            for task_id, stint in plan.placed.stints.items()
            for task in (plan.placed.tasks[task_id],)
            if task.type.cuts
            and task.type.id != SECOND
            and any(row in task.stock for row in stock)
        ]
        if second and firsts:
            found[plot.id] = second.first - max(firsts)
    return found


def test_planned_second_cuts_wait_nine_weeks_for_the_first(branasol: SeasonPlan) -> None:
    found = gaps(branasol)
    assert set(found) == {"fondal", "socalco", "ladeira", "novo"}
    assert min(found.values()) >= GAP_DAYS


def test_a_plan_that_begins_at_midsummer_never_cuts_the_same_trees_twice_at_once(
    tmp_path: Path,
) -> None:
    site = two_cuts(tmp_path, first="2027-06-01", last="2028-05-31")
    plan = planned(site, date(2027, 5, 25))
    assert "fondal.cut-medium" in plan.placed.stints
    found = gaps(plan)
    assert found
    assert min(found.values()) >= GAP_DAYS
    told = {n.about for n in plan.notices if n.code == "second-cut-not-due"}
    assert "fondal" in told
    assert told == {plot.id for plot in plan.placed.holding.plots} - found.keys()
    # what follows a second cut that cannot come stands all the same
    assert not [task_id for task_id in plan.placed.roster.left_out if task_id.endswith(SECOND)]
    assert {f"{plot}.top-up-mulch" for plot in told} <= set(plan.placed.stints)


def test_without_a_first_cut_in_this_growing_season_a_second_is_not_due(tmp_path: Path) -> None:
    """As of 1 July nothing is logged: nine weeks on, the season of second cuts is over."""
    site = two_cuts(tmp_path)
    plan = planned(site, date(2027, 7, 1))
    assert not [task_id for task_id in plan.placed.tasks if task_id.endswith(SECOND)]
    told = {n.about: n.says for n in plan.notices if n.code == "second-cut-not-due"}
    assert set(told) == {"fondal", "socalco", "ladeira", "novo"}
    assert "is not due in this plan" in told["fondal"]
    assert "last cut on 4 Jun 2026" in told["fondal"]
    assert "no cut of it is known" in told["novo"]
    shown = "\n".join(table.plain() for table in due_tables(plan.placed))
    assert all(says in shown for says in told.values())
    words = ("--afresh", "--as-of", "2027-07-01")
    why = CliRunner().invoke(app, ["why", str(site), f"fondal.{SECOND}", *words])
    assert (why.exit_code, why.stderr) == (2, told["fondal"] + "\n")


def test_after_a_logged_first_cut_the_second_waits_as_long(tmp_path: Path) -> None:
    site, cut = demo(tmp_path, "branasol"), date(2027, 5, 20)
    asks_for(site, "dry-summer")
    append_to_log(site, [LogEntry(date=cut, plan="2027", task="ladeira.cut-medium")])
    plan = planned(site, date(2027, 7, 1))
    second = plan.placed.stints[f"ladeira.{SECOND}"].first
    assert plan.placed.season.date_of(second) - cut >= timedelta(days=GAP_DAYS)
    assert plan.placed.season.date_of(second) - cut <= timedelta(days=GAP_DAYS + 10)
    ruling = next(
        r
        for r in plan.placed.windows[f"ladeira.{SECOND}"].rulings
        if r.rule_id == "second-after-first-cut"
    )
    assert "(20 May 2027)" in ruling.words


def test_a_first_cut_before_the_plan_lets_the_second_stand_and_is_not_done_again(
    klipskadu: SeasonPlan,
) -> None:
    """In the south a plan from December on begins between the two: stock.csv knows the first."""
    plan = klipskadu
    for plot, cut in {"vlei": date(2026, 10, 15), "rant": date(2026, 9, 30)}.items():
        second = plan.placed.season.date_of(plan.placed.stints[f"{plot}.{SECOND}"].first)
        assert timedelta(days=GAP_DAYS) <= second - cut <= timedelta(weeks=26)
        first = plan.placed.windows[f"{plot}.cut-medium"]
        (ruling,) = [r for r in first.rulings if r.rule_id == "cut-this-season"]
        until = plan.placed.season.day_of(cut + timedelta(weeks=26))
        assert ruling.closed[: until + 1].all()
        assert not ruling.closed[until + 1 :].any()
