"""What `due`, `why` and the calendar events show of the stand, on both demo holdings."""

import json

import pytest

from scheduler.reasons import SeasonPlan
from scheduler.stand import held_back
from scheduler.stand.biomass import cut_material
from scheduler.windows import cautions_on
from scheduler.words import (
    Table,
    due_record,
    due_tables,
    dues_of,
    mulches_of,
    phrases,
    plain,
    visit_text,
)
from scheduler.words.work_words import detail_lines
from tests.sites import DEMOS


@pytest.fixture(params=DEMOS)
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    found: SeasonPlan = request.getfixturevalue(request.param)
    return found


def told(plan: SeasonPlan, task_id: str) -> str:
    """Everything known of a task, as `why` tells it."""
    return "\n".join(detail_lines(plan.placed.tasks[task_id], plan.placed))


def tables_of(plan: SeasonPlan) -> dict[str, Table]:
    return {table.title: table for table in due_tables(plan.placed)}


def test_due_puts_the_plots_in_order_with_their_reasons(plan: SeasonPlan) -> None:
    first, *others = due_tables(plan.placed)
    dues = dues_of(plan.placed)
    assert [row[0] for row in first.rows] == [phrases.short_name(due.plot) for due in dues]
    covers = [table for table in others if table.columns[0] == "stratum"]
    assert [table.title.split(",")[0] for table in covers] == [
        f"{at}. {due.plot.name}" for at, due in enumerate(dues, start=1)
    ]
    assert dues
    for row, table, due in zip(first.rows, covers, dues, strict=True):
        held = "does not hold it back now" if row[5] == "now" else "holds it back until "
        assert any(line.startswith(f"Why here: frost {held}") for line in table.foot)
        assert len([line for line in table.foot if line.startswith("Why here")]) == len(
            due.reasons
        )


def test_due_says_why_cuts_stand_in_the_plan_that_no_cover_calls_for(plan: SeasonPlan) -> None:
    dues = dues_of(plan.placed)
    assert dues
    for due, table in zip(
        dues,
        [table for table in due_tables(plan.placed) if table.columns[0] == "stratum"],
        strict=True,
    ):
        shown = [stratum for stratum in due.strata if stratum.grown > 0]
        reached = [row[table.columns.index("reached")] for row in table.rows]
        assert "never" not in reached
        assert [told == "not at these crowns" for told in reached] == [s.on is None for s in shown]
        assert ("not at these crowns" in reached) is any("Not at these" in f for f in table.foot)
        called = {s.cover.stratum for s in shown if s.on and s.on <= plan.placed.season.last}
        calm = {
            task.type.visit
            for task in plan.placed.tasks.values()
            if task.type.cuts and task.plot_id == due.plot.id
            if not any(row.stratum in called for row in task.stock)
        }
        told = [foot for foot in table.foot if foot.startswith("Cuts that no cover calls for")]
        assert bool(told) is bool(calm)
        assert all(visit in told[0] for visit in calm)


def test_due_shows_visits_held_back_plants_and_succession(plan: SeasonPlan) -> None:
    text = "\n\n".join(table.plain() for table in due_tables(plan.placed))
    for needle in (
        "Person-hours by visit: ",
        "Held back from the release visit, until the dry-summer visit: ",
        "Held back from the release visit, until the dormant visit: ",
        "silver-leaf",
        "Succession: ",
        "Not given in site.toml",
    ):
        assert needle in text, needle


def test_due_tells_the_work_by_visit_with_ranges(plan: SeasonPlan) -> None:
    dues = dues_of(plan.placed)
    assert dues
    for due in dues:
        table = tables_of(plan)[f"Work in {phrases.short_name(due.plot)}, by visit"]
        visits = [row[0] for row in table.rows]
        assert visits == sorted(visits, key=["dormant", "release", "dry-summer", "routine"].index)
        assert all(" (" in row[3] and " to " in row[3] for row in table.rows)


def test_due_tells_the_mulch_of_every_line(plan: SeasonPlan) -> None:
    dues = dues_of(plan.placed)
    assert dues
    for due in dues:
        name = f"Mulch on the lines of {phrases.short_name(due.plot)}, coarse to fine"
        table = tables_of(plan)[name]
        assert {row[0] for row in table.rows} == {line.id for line in due.plot.line}
        assert any("logs" in row[2] and " cm" in row[2] for row in table.rows)


def test_due_tells_harvests_by_year_as_ranges(plan: SeasonPlan) -> None:
    told = [t for t in due_tables(plan.placed) if t.title.startswith("May bear in")]
    assert told
    first = plan.placed.season.last.year
    for table in told:
        assert table.columns == ("", *(str(year) for year in range(first, first + 5)))
        assert table.rows
        for row in table.rows:
            low, high = row[-1].split(" to ")
            assert 0 < float(low) < float(high)


def test_due_tells_every_caution_once(plan: SeasonPlan) -> None:
    cautions = [row[1] for row in tables_of(plan)["Cautions"].rows]
    assert len(set(cautions)) == len(cautions)
    assert set(cautions) == {c for task in plan.placed.tasks.values() for c in task.cautions}


def test_a_cut_is_told_with_what_to_leave_alone_and_the_range_of_mass(plan: SeasonPlan) -> None:
    cuts = [
        task
        for task in plan.placed.tasks.values()
        if task.type.cuts and task.id in plan.placed.stints
    ]
    some = 0
    for task in cuts:
        assert task.plot is not None
        text = told(plan, task.id)
        assert ("as published equations differ" in text) is (task.material.fresh_kg >= 1)
        held = held_back(task.plot, task.type.visit, plan.placed.holding)
        assert ("Leave alone in this visit: " in text) is bool(held)
        some += bool(held)
    assert some


def test_limits_of_heat_without_maxima_send_the_grower_to_the_forecast(
    branasol: SeasonPlan,
) -> None:
    assert "No maxima are on record here" in told(branasol, "ladeira.cut-stone-fruit:plum")
    assert "No maxima" not in told(branasol, "fondal.cut-dormant-tall")


def test_hours_learned_from_the_log_are_called_so(branasol: SeasonPlan) -> None:
    """The demo's log holds five counted jobs of weeding; one of cutting teaches nothing yet."""
    text = "\n".join(table.plain() for table in due_tables(branasol.placed))
    assert "Weed the tree lines: hours are learned from 5 jobs in this site's own log" in text
    assert "learned from 5 jobs" in told(branasol, "ladeira.weed-lines")
    assert "by the book; with rest" in told(branasol, "fondal.cut-medium")


def test_laying_is_told_with_the_layers_of_every_line(plan: SeasonPlan) -> None:
    laying = [task for task in plan.placed.tasks.values() if task.type.id == "lay-coarse"]
    assert laying
    for task in laying:
        assert task.plot is not None
        text = told(plan, task.id)
        assert "Mulch by line, coarse to fine" in text
        assert "logs " in text
        assert "person-hours (" in text
        assert task.plot.line
        assert all(f"{line.id} (" in text for line in task.plot.line)


def test_a_cut_is_told_with_conditions_batches_and_reckoned_cautions(plan: SeasonPlan) -> None:
    cuts = {t: told(plan, t) for t in plan.placed.stints if plan.placed.tasks[t].type.cuts}
    assert any("Line by line, tool by tool" in text for text in cuts.values())
    assert any("Heat at this work" in text for text in cuts.values())
    overhead = [text for t, text in cuts.items() if plan.placed.tasks[t].type.overhead]
    assert overhead
    assert all("nobody else works within" in text for text in overhead)
    stone_fruit = [text for t, text in cuts.items() if "stone-fruit" in t]
    assert stone_fruit
    assert all("Rules of the cut: stone fruit: after harvest" in text for text in stone_fruit)


def test_an_entry_of_the_calendar_tells_what_to_stop_for_on_its_day(plan: SeasonPlan) -> None:
    """Dangers by the day, and those that hold for the whole visit on its first day."""
    facts, some = plan.placed.outlook.facts, 0
    for task_id, stint in plan.placed.stints.items():
        task, visit_id = plan.placed.tasks[task_id], plan.placed.visit_of[task_id]
        for day in stint.days:
            text = visit_text(plan, visit_id, (day,))
            wanted = {c.id: c.short for c in cautions_on(task, day, facts) if not c.standing}
            if task.type.overhead:
                wanted.pop("two-tree-lengths", "")  # told in metres instead
                assert "m of a falling tree, nobody alone" in text
            assert [short for short in wanted.values() if short not in text] == []
            some += len(wanted)
    assert some > 20


def test_a_second_cut_too_soon_after_the_planned_first_is_named(branasol: SeasonPlan) -> None:
    """Tagasaste is full again after 3 to 5 months (florancefarms.com): on the slope the first
    cut stands in April, the second in the first days of July."""
    first = branasol.placed.stints["ladeira.cut-medium"].last
    second = branasol.placed.stints["ladeira.second-cut-support"].first
    assert second - first < 3 * 30
    assert "Too soon? Tagasaste: last cut " in told(branasol, "ladeira.second-cut-support")
    assert "Too soon? " not in told(branasol, "ladeira.cut-medium")


def test_a_yearly_cut_a_few_weeks_earlier_is_no_cut_too_soon(plan: SeasonPlan) -> None:
    yearly = [t for t in plan.placed.stints if plan.placed.tasks[t].type.visit == "dormant"]
    assert yearly
    assert [t for t in yearly if "Too soon? " in told(plan, t)] == []


def test_the_record_for_programs_holds_the_same(plan: SeasonPlan) -> None:
    record = json.loads(json.dumps(plain(due_record(plan.placed))))
    assert [p["plot"] for p in record["plots"]] == [d.plot.id for d in dues_of(plan.placed)]
    for plot in record["plots"]:
        assert plot["reasons"]
        years = {plan.placed.season.last.year, plan.placed.season.last.year + 4}
        assert {h["year"] for h in plot["harvests"]} >= years
        (task,) = [t for t in plot["tasks"] if t["task"].endswith(".lay-fine")]
        mulches = mulches_of(plan.placed, task["task"])
        cuts = [t for t in plan.placed.tasks.values() if t.plot_id == plot["plot"] and t.type.cuts]
        cut = sum(
            cut_material(t.type, t.stock, plan.placed.holding.rules, mulches[0].on).fresh_kg
            for t in cuts
            if t.type.visit == "release"
        )
        kg = sum(x["fresh_kg"] for line in task["mulch_lines"] for x in line["layers"])
        assert kg == pytest.approx(cut, abs=2)
        assert task["hours_basis"] == "book"
        assert task["hours_source"]
