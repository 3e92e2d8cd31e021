"""The pages: valid HTML, every name as text, nothing fetched, and the same as the plan says."""

import json
import math
import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import html5lib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.pages import Page, drawn_pages, owner_pages, season_picture
from scheduler.pages.day_page import day_sheet, work_days
from scheduler.pages.front_page import front_sheet
from scheduler.pages.frost_page import STEP_DAYS, frost_sheet
from scheduler.pages.rendering import lit_path
from scheduler.pages.season_page import season_page, season_sheet
from scheduler.reasons import SeasonPlan
from scheduler.terms import day_words
from tests.sites import edit, new_site, planned

HOSTILE = "</title><script>alert('x')</script><img src=//evil.example/x>"
# what may stand in a page that needs nobody else: names of XML, and what a calendar's address is
OUTSIDE = re.compile(r"""(?:src|href|action|url\(|@import)\s*=?\s*["'(]?\s*(?:https?:)?//""")


@pytest.fixture(scope="module", params=["branasol", "klipskadu"])
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    found: SeasonPlan = request.getfixturevalue(request.param)
    return found


@pytest.fixture(scope="module")
def pages(plan: SeasonPlan) -> dict[str, Page]:
    return {page.name: page for page in drawn_pages(owner_pages(plan))}


def test_there_is_a_page_for_the_front_the_season_frost_each_plot_and_each_day(
    plan: SeasonPlan, pages: dict[str, Page]
) -> None:
    placed = plan.placed
    days = {f"day-{placed.season.date_of(day)}" for day in work_days(placed)}
    plots = {f"plot-{plot.id}" for plot in placed.holding.plots}
    assert len(days) > 10
    assert set(pages) == {"index", "season", "frost", *plots, *days}


def test_every_page_is_valid_html_and_asks_nobody_for_anything(pages: dict[str, Page]) -> None:
    """html5lib parses strictly, by the standard of the WHATWG."""
    assert pages
    for page in pages.values():
        html5lib.HTMLParser(strict=True).parse(page.html)
        assert not OUTSIDE.search(page.html.decode()), page.name
        assert b"<script" not in page.html


def test_links_lead_to_pages_that_there_are(pages: dict[str, Page]) -> None:
    targets = {
        target
        for page in pages.values()
        for target in re.findall(r'href="([^"]+)\.html"', page.html.decode())
    }
    assert len(targets) > 5
    assert targets <= set(pages)


def test_names_stay_text(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    edit(site, "site.toml", 'name = "Test Hill (invented)"', f'name = "{HOSTILE}"')
    edit(site, "plots.toml", 'name = "First plot"', f'name = "{HOSTILE}"')
    edit(site, "crew.toml", 'name = "Ilka"', f'name = "{HOSTILE}"')
    pages = drawn_pages(owner_pages(planned(site)))
    assert pages
    for page in pages:
        text = page.html.decode()
        assert "<script" not in text
        assert "<img" not in text
        html5lib.HTMLParser(strict=True).parse(page.html)
    assert "&lt;script&gt;" in pages[0].html.decode()


def test_the_same_plan_gives_the_same_bytes(plan: SeasonPlan, pages: dict[str, Page]) -> None:
    assert {page.name: page for page in drawn_pages(owner_pages(plan))} == pages


def test_the_season_sheet_is_light_and_shows_every_visit(
    plan: SeasonPlan, pages: dict[str, Page]
) -> None:
    assert len(pages["season"].html) < 200_000
    sheet, placed = season_sheet(plan), plan.placed
    bars = {bar.visit: bar for band in sheet.bands for bar in band.bars}
    visits = {
        visit_id: visit
        for visit_id, visit in placed.visits.items()
        if placed.tasks[placed.groups[visit_id][0]].plot is not None
        and placed.tasks[placed.groups[visit_id][0]].type.visit != "year"
    }
    assert bars.keys() == visits.keys() != set()
    for visit_id, visit in visits.items():
        assert bars[visit_id].first == placed.season.date_of(visit.first)
        assert bars[visit_id].last == placed.season.date_of(visit.last)
    routine = [mark for band in sheet.bands for mark in band.marks]
    whole = [v for v in placed.visits if placed.tasks[placed.groups[v][0]].plot is None]
    assert len(bars) + len(routine) + len(whole) == len(placed.visits)


def test_the_shading_is_the_frost_window_and_its_end_the_line(plan: SeasonPlan) -> None:
    placed = plan.placed
    bands = season_sheet(plan).bands
    assert {band.plot for band in bands} == {plot.id for plot in placed.holding.plots}
    for band in bands:
        risk = placed.outlook.frost[band.plot]
        shaded = {
            shade["first"] + timedelta(days=n)
            for shade in band.shades
            for n in range((shade["last"] - shade["first"]).days + 1)
        }
        assert shaded == {day for day in placed.season if risk.is_open(day)} != set()
        assert band.closes is not None
        assert risk.is_open(band.closes)
        assert not risk.is_open(band.closes + timedelta(days=1))


def test_plots_stand_in_the_order_in_which_frost_leaves_them(branasol: SeasonPlan) -> None:
    bands = season_sheet(branasol).bands
    assert [band.plot for band in bands] == ["ladeira", "socalco", "novo", "fondal"]
    rows = json.loads(page_of(branasol).data)["bands"]
    assert [row["plot"] for row in rows] == [band.plot for band in bands]
    # in May the frost window of two plots has ended: they come last
    outlook = replace(branasol.placed.outlook, as_of=date(2027, 5, 5))
    later = season_sheet(SeasonPlan(replace(branasol.placed, outlook=outlook), print)).bands
    assert [band.plot for band in later if band.closes] == ["novo", "fondal"]
    assert [band.closes for band in later[2:]] == [None, None]


def page_of(plan: SeasonPlan) -> Page:
    return season_page(plan, links=())


def test_a_visit_without_days_is_named_in_its_band(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site", own_last="", own_first="")
    plan = planned(site)
    assert "first-plot.release" in plan.placed.roster.left_out
    (band,) = season_sheet(plan).bands
    assert "release" in band.unscheduled
    for text in (season_picture(plan), page_of(plan).html):
        assert b"unscheduled: " in text


def test_the_load_of_all_weeks_is_the_work_of_the_plan(plan: SeasonPlan) -> None:
    planned_h = sum(sum(stint.hours) for stint in plan.placed.stints.values())
    weeks = season_sheet(plan).weeks
    assert sum(sum(week.planned_h.values()) for week in weeks) == pytest.approx(planned_h)
    crew_h = sum(float(worker.hours.sum()) for worker in plan.placed.problem.workers)
    assert sum(week.crew_h for week in weeks) == pytest.approx(crew_h, abs=0.5)


def test_the_waning_half_is_tinted_only_where_the_practice_is_kept(
    branasol: SeasonPlan, klipskadu: SeasonPlan
) -> None:
    assert season_sheet(branasol).waning == ()
    spans = season_sheet(klipskadu).waning
    assert spans
    assert all("practice" in span.words and "not established science" in span.words
               for span in spans)  # fmt: skip
    assert b"grower practice" not in season_picture(branasol)
    assert b"grower practice" in season_picture(klipskadu)


def test_the_days_have_all_the_work_of_the_plan(plan: SeasonPlan) -> None:
    placed = plan.placed
    days = work_days(placed)
    total_h = sum(day_sheet(plan, day)["hours"] for day in days)
    assert total_h == pytest.approx(sum(sum(s.hours) for s in placed.stints.values()), abs=0.5)


def test_a_heavy_day_says_who_to_call_and_what_to_stop_for(branasol: SeasonPlan) -> None:
    visit = branasol.placed.visits["fondal.release"]
    sheet = day_sheet(branasol, visit.first + 1)
    assert sheet["emergency"] == branasol.placed.holding.site.emergency != ""
    heads = [head for visit in sheet["visits"] for head, _ in visit["notes"]]
    assert {"Safety", "Frost", "Daylight", "Report"} <= set(heads)


def test_the_frost_sheet_has_the_chances_of_the_rules(plan: SeasonPlan) -> None:
    placed = plan.placed
    sheet = frost_sheet(placed.outlook)
    assert [plot["plot"] for plot in sheet["plots"]] == [
        plot.name for plot in placed.holding.plots
    ]
    for plot, known in zip(sheet["plots"], placed.outlook.plots.values(), strict=True):
        assert plot["after"], plot["plot"]
        for at, chance in enumerate(plot["after"]):
            day = sheet["first"] + timedelta(days=STEP_DAYS * at)
            assert chance == pytest.approx(known.risk.chance_after(day), abs=1e-4)
        assert len(plot["last_frosts"]) > 10
        assert plot["closes"] is None or known.risk.is_open(plot["closes"])


def test_the_front_page_tells_the_next_waning_days_only_where_they_are_followed(
    branasol: SeasonPlan, klipskadu: SeasonPlan
) -> None:
    """The half from full to new moon holds no full moon after its first day."""
    assert front_sheet(branasol)["waning"] is None
    assert not front_sheet(branasol)["moon_practice"]
    waning = front_sheet(klipskadu)["waning"]
    assert waning is not None
    assert waning["work"]
    fulls = [e.local.date() for e in klipskadu.placed.outlook.sky.events if e.event == "full_moon"]
    assert len(fulls) > 12
    assert not any(waning["first"] < full <= waning["last"] for full in fulls)


def test_the_front_page_tells_closed_days_and_leave(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    edit(site, "crew.toml", "off = []", "off = [{ first = 2026-11-27, last = 2026-11-28 }]")
    with (site / "plan-2027.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[closed]]\nfirst = 2026-12-01\nwhy = "rain"\n')
        file.write('\n[[closed]]\nfirst = 2027-06-01\nwhy = "far"\n')
    rows = front_sheet(planned(site))["free"]
    assert [(row["first"].day, row["person"], row["why"]) for row in rows] == [
        (1, "", "rain"),
        (27, "Ilka", ""),
    ]


def test_the_coldest_nights_are_those_of_the_record(plan: SeasonPlan) -> None:
    """Counted here night by night off the record, not by the code that the page uses."""
    sheet, record = frost_sheet(plan.placed.outlook), plan.placed.holding.record
    assert record is not None
    assert len(sheet["coldest"]) >= 24
    nights = dict(zip(record.season, record.tmin_c.tolist(), strict=True))
    for row in sheet["coldest"]:
        assert nights[row["lowest_on"]] == pytest.approx(row["lowest_c"], abs=0.006)
        assert (row["lowest_on"].month, row["lowest_on"].day > 15) == (
            row["first"].month,
            row["first"].day > 1,
        )
        assert row["lowest_c"] <= row["in_ten_c"] <= row["usual_c"]
    assert sum(row["n_cases"] for row in sheet["tested"]) > 50


def test_the_front_page_names_the_next_days_and_every_plots_frost(plan: SeasonPlan) -> None:
    sheet = front_sheet(plan)
    assert sheet["days"]
    assert sheet["days"][0].day == plan.placed.season.date_of(work_days(plan.placed)[0])
    assert sheet["next_visit"] is not None
    assert sheet["next_visit"].kind == "release"
    assert [row["plot"] for row in sheet["frost"]] == [p.name for p in plan.placed.holding.plots]


def test_the_json_of_a_page_is_made_of_the_same_rows(pages: dict[str, Page]) -> None:
    rows: dict[str, Any] = json.loads(pages["season"].data)
    text = pages["season"].html.decode()
    bars = [bar for band in rows["bands"] for bar in band["bars"]]
    assert bars
    for bar in bars:
        assert day_words(date.fromisoformat(bar["first"])) in text
    assert all(json.loads(page.data) for page in pages.values())


@given(st.floats(0, 359.9), st.booleans())
def test_the_lit_part_of_the_disc_has_the_lit_share_of_its_area(
    elongation_deg: float, southern: bool
) -> None:
    """Of a sphere lit from afar (1 - cos elongation) / 2 of the disc is lit; plane geometry."""
    radius, n = 10.0, 200
    limb, edge, sweep = re.findall(
        r"A10,10 0 0 ([01]) 0,10 A([\d.]+),10 0 0 ([01]) 0,-10",
        lit_path(elongation_deg, southern, 10),
    )[0]
    # top to bottom, clockwise (1) by the right; then back, clockwise by the left
    side = 1 if limb == "1" else -1
    back = -1 if sweep == "1" else 1
    turns = [math.pi * k / n for k in range(n + 1)]
    there = [(side * radius * math.sin(t), -radius * math.cos(t)) for t in turns]
    again = [(back * float(edge) * math.sin(t), radius * math.cos(t)) for t in turns]
    points = there + again
    area = 0.5 * abs(
        sum(
            x0 * y1 - x1 * y0
            for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True)
        )
    )
    share = (1 - math.cos(math.radians(elongation_deg))) / 2
    assert area / (math.pi * radius**2) == pytest.approx(share, abs=2e-3)
    if 0.02 < share < 0.98:
        middle = sum(x for x, _ in points)
        waxing = elongation_deg < 180
        assert (middle > 0) is (waxing is not southern)
