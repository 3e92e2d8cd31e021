"""What `due` and the calendar events show of the stand, on both demo holdings."""

import json

import pytest

from scheduler.publish import describe, records, sheet, words
from scheduler.season import SeasonPlan
from tests.sites import DEMOS


@pytest.fixture(params=DEMOS)
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    found: SeasonPlan = request.getfixturevalue(request.param)
    return found


def told(plan: SeasonPlan, task_id: str) -> str:
    return describe.task_description(plan.tasks[task_id], plan.stints[task_id], plan)


def test_due_puts_the_plots_in_order_with_their_reasons(plan: SeasonPlan) -> None:
    first, *plots = sheet.due_tables(plan)
    assert [row[1] for row in first.rows] == [
        words.short_name(due.plot) for due in sheet.dues_of(plan)
    ]
    assert all("frost releases it from" in row[3] for row in first.rows)
    assert len(plots) == len(plan.holding.plots) + 1


def test_due_shows_visits_held_back_plants_cover_and_harvest(plan: SeasonPlan) -> None:
    text = "\n\n".join(table.plain() for table in sheet.due_tables(plan))
    for needle in (
        "Person-hours by visit: ",
        "Held back from the release visit, until the dry-summer visit",
        "Crown cover of the ground now: ",
        " cuts a year",
        "Succession: ",
        "May bear in 2027",
    ):
        assert needle in text, needle


def test_hours_learned_from_the_log_are_called_so(branasol: SeasonPlan) -> None:
    """The demo's log holds five counted jobs of weeding; one of cutting teaches nothing yet."""
    text = "\n".join(table.plain() for table in sheet.due_tables(branasol))
    assert "Weed the tree lines: hours are learned from 5 jobs in this site's own log" in text
    assert "learned from 5 jobs" in told(branasol, "ladeira.weed-lines")
    assert "by the book; with rest" in told(branasol, "fondal.cut-medium")


def test_a_laying_event_tells_the_layers_of_every_line(plan: SeasonPlan) -> None:
    for task_id, task in plan.tasks.items():
        if task.type.id != "lay-coarse" or task.plot is None:
            continue
        text = told(plan, task_id)
        for line in task.plot.line:
            assert f"{line.id} (" in text
        assert "Mulch by line, coarse to fine" in text
        assert "logs " in text
        assert "person-hours (" in text


def test_a_cutting_event_tells_conditions_batches_and_reckoned_cautions(plan: SeasonPlan) -> None:
    cuts = [task_id for task_id in plan.stints if plan.tasks[task_id].type.cuts]
    assert any("Line by line, tool by tool" in told(plan, task_id) for task_id in cuts)
    assert any("Heat at this work" in told(plan, task_id) for task_id in cuts)
    for task_id in cuts:
        if plan.tasks[task_id].type.overhead:
            assert "nobody else works within" in told(plan, task_id)
        if "stone-fruit" in task_id:
            assert "Rules of the cut: stone fruit: after harvest" in told(plan, task_id)


def test_a_second_cut_too_soon_after_the_planned_first_is_named(branasol: SeasonPlan) -> None:
    """Tagasaste is full again after 3 to 5 months (florancefarms.com): on the slope the first
    cut stands in April, the second in the first days of July."""
    first = branasol.stints["ladeira.cut-medium"].last
    second = branasol.stints["ladeira.second-cut-support"].first
    assert second - first < 3 * 30
    assert "Too soon? Tagasaste: last cut " in told(branasol, "ladeira.second-cut-support")
    assert "Too soon? " not in told(branasol, "ladeira.cut-medium")


def test_a_yearly_cut_a_few_weeks_earlier_is_no_cut_too_soon(plan: SeasonPlan) -> None:
    for task_id in plan.stints:
        if plan.tasks[task_id].type.visit == "dormant":
            assert "Too soon? " not in told(plan, task_id), task_id


def test_the_record_for_programs_holds_the_same(plan: SeasonPlan) -> None:
    record = json.loads(json.dumps(records.due_record(plan)))
    assert [p["plot"] for p in record["plots"]] == [d.plot.id for d in sheet.dues_of(plan)]
    for plot in record["plots"]:
        assert plot["reasons"]
        assert {h["year"] for h in plot["harvests"]} >= {2027, 2031}
        laying = [t for t in plot["tasks"] if t["task"].endswith(".lay-fine")]
        cut = sum(
            task["material_fresh_kg"]
            for task in plot["tasks"]
            if task["visit"] == "release" and plan.tasks[task["task"]].type.cuts
        )
        for task in laying:
            kg = sum(x["fresh_kg"] for line in task["mulch_lines"] for x in line["layers"])
            assert kg == pytest.approx(cut, abs=2)
            assert task["hours_basis"] == "book"
            assert task["hours_source"]
