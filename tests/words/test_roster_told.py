"""What `roster` tells of its aims and preferences: the same in the tables and for programs."""

import json
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from scheduler.reasons import SeasonPlan
from scheduler.words import Table
from scheduler.words.roster_sheet import hire_tables, preference_tables, roster_table
from tests.calendars.entries import campaigns
from tests.once import told_once
from tests.sites import DEMOS, edit, new_site, planned, published


@pytest.fixture(params=DEMOS)
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    season: SeasonPlan = request.getfixturevalue(request.param)
    return season


@pytest.fixture(scope="module")
def moon_later(tmp_path_factory: pytest.TempPathFactory) -> SeasonPlan:
    """A plan is published; then the grower takes up the practice of the moon."""
    site = new_site(tmp_path_factory.mktemp("moon") / "site")
    days = published(planned(site))
    edit(site, "site.toml", "practice = false", "practice = true")
    return planned(site, published=days)


def the_one(tables: Iterable[Table]) -> Table:
    (table,) = tables
    return table


def test_tables_and_record_tell_the_same_hire(plan: SeasonPlan) -> None:
    record, table = told_once(plan), the_one(hire_tables(plan.placed))
    assert len(table.rows) == len(record["hires"]) > 0
    for row, use in zip(table.rows, record["hires"], strict=True):
        assert row[2:] == (str(len(use["days"])), f"{use['cost']:g}")
    whole = sum(use["cost"] for use in record["hires"])
    assert f"{len(table.rows)} blocks of hire, {whole:g} in all" in table.foot[0]


def test_tables_and_record_tell_the_same_preferences_with_their_price(
    klipskadu: SeasonPlan, moon_later: SeasonPlan
) -> None:
    states = set()
    for plan in (klipskadu, moon_later):
        record, table = told_once(plan), the_one(preference_tables(plan.placed))
        rows = {row[0]: row for row in table.rows}
        assert rows
        assert list(rows) == [one["visit"] for one in record["preferences"]]
        for one in record["preferences"]:
            row = rows[one["visit"]]
            states.add(one["state"])
            assert row[2] == one["state"]
            assert (one["state"] == "met") is one["met"]
            assert bool(one["price"]) is not one["met"]
            assert row[3].endswith(one["price"])
            assert (one["nearest"] is None) is one["met"]
            assert (row[3] == "-") is one["met"]
        short = sum(p["points_best"] - p["points"] for p in record["preferences"])
        aim = plan.placed.roster.stage("preferences")
        assert aim.value == pytest.approx(short, abs=0.01), "the aim sums up what is short"
    assert states >= {"met", "missed"}


def test_all_heavy_cuts_stand_in_the_waning_half_or_the_table_tells_the_price(
    klipskadu: SeasonPlan,
) -> None:
    record = told_once(klipskadu)
    heavy = [v for v in record["visits"] if v["heavy_h"] > 0]
    assert {v["plot"] for v in heavy} == {"vlei", "rant"}
    priced = {one["visit"] for one in record["preferences"] if one["price"] and not one["met"]}
    for visit in heavy:
        assert visit["heavy_waning_h"] == visit["heavy_h"] or visit["visit"] in priced
    waning, whole = (sum(v[key] for v in heavy) for key in ("heavy_waning_h", "heavy_h"))
    (foot,) = [
        f for f in the_one(preference_tables(klipskadu.placed)).foot if "waning half: " in f
    ]
    assert foot == (
        f"Heavy cuts in the waning half: {waning:.0f} of {whole:.0f} h "
        "(grower practice, not established science)."
    )


FIELDS = {
    "visit", "plot", "kind", "first", "last", "span_days", "least_span_days", "open_longer",
    "work_h", "heavy_h", "heavy_waning_h", "steps",
}  # fmt: skip


def test_each_visit_is_told_for_programs_with_what_follows_from_its_steps(
    plan: SeasonPlan,
) -> None:
    visits: list[dict[str, Any]] = json.loads(json.dumps(told_once(plan)))["visits"]
    assert [v["visit"] for v in visits] == list(plan.placed.visits)
    for visit in visits:
        assert visit.keys() >= FIELDS
        steps = visit["steps"]
        days = sorted(day["date"] for step in steps for day in step["days"])
        assert days
        assert (visit["first"], visit["last"]) == (days[0], days[-1])
        span = (date.fromisoformat(days[-1]) - date.fromisoformat(days[0])).days + 1
        assert visit["span_days"] == span >= visit["least_span_days"] >= 1
        if len({*days}) == span:
            assert visit["open_longer"] == [], "no day without work, so nothing to tell"
        work_h = sum(day["work_h"] for step in steps for day in step["days"])
        assert visit["work_h"] == pytest.approx(work_h, abs=0.01 * len(days))
        assert 0 <= visit["heavy_waning_h"] <= visit["heavy_h"] <= visit["work_h"] + 0.01
        assert {step["task"].partition(".")[0] for step in steps} == {visit["plot"]}
        for step in steps:
            assert all(day["people"] for day in step["days"])
            assert len({day["date"] for day in step["days"]}) == len(step["days"])
    by_id = {v["visit"]: v for v in visits}
    several = [v for v in campaigns(plan) if len(by_id[v]["steps"]) > 1]
    assert several
    for visit_id in several:
        assert visit_id == f"{by_id[visit_id]['plot']}.{by_id[visit_id]['kind']}"


def test_the_table_has_a_row_for_each_visit_with_its_days_and_how_long_it_lies_open(
    plan: SeasonPlan,
) -> None:
    rows = {row[2]: row for row in roster_table(plan).rows}
    visits = told_once(plan)["visits"]
    assert visits
    for visit in visits:
        row = rows[visit["visit"]]
        assert visit["first"] in row[0]
        assert row[4] == f"{visit['work_h']:.1f}"
        if visit["visit"] in campaigns(plan):
            assert row[5] == f"{visit['span_days']} ({visit['least_span_days']})"
        else:
            assert row[5] == ""


def test_work_without_a_place_is_told_by_its_importance(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    edit(site, "plan-2027.toml", "last = 2027-11-30", "last = 2027-04-30")
    plan = planned(site)
    record = told_once(plan)
    fits = [stage for stage in plan.placed.roster.stages if stage.aim.name == "fit"]
    assert sum(stage.value for stage in fits) == len(record["left_out"]) > 0
