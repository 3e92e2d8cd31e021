"""The work of the whole year, and that every figure of the trade says where it is from."""

import tomllib
from importlib import resources
from pathlib import Path

import pytest

from scheduler.holding import RuleBook, read_holding
from scheduler.holding.site_files import package_rules
from scheduler.reasons import SeasonPlan
from scheduler.stand import tasks_of
from tests.sites import AS_OF, ROOT, new_site

BOOK = RuleBook.of(package_rules())
# The grower's year as the trade has it, and the task types that stand for it. Bookings of
# climber and chipper are no tasks: they are placed by lead time, as crew.toml says.
YEAR = {
    "walk every plot, canopy photo, due list": "walk-plots",
    "order trees and plants": "order-plants",
    "harvests of the year, each kind in its months": "pick",
    "protect tender stock": "cover-tender",
    "leaf fall: collect": "collect-leaves",
    "bleeder cuts": "cut-bleeders",
    "dormant visit: coppice, pollards": "cut-dormant-support",
    "dormant visit: pome": "cut-dormant-fruit",
    "dormant visit: vines": "cut-vines",
    "dormant visit: leafless emergents": "cut-dormant-tall",
    "tender seedlings indoors": "start-seedlings",
    "mow, weed lines lightly": "weed-light",
    "service saws, first aid": "service-tools",
    "go or no-go": "decide-release",
    "cloth off": "uncover-tender",
    "reset: weed lines": "weed-lines",
    "reset: tallest first": "cut-emergent",
    "reset: process coarse to fine": "lay-coarse",
    "reset: chip": "chip",
    "reset: mulch": "lay-fine",
    "reset: split banana": "split-stems",
    "reset: plant alleys": "plant-alleys",
    "two weeks on: water and weed": "aftercare-early",
    "six weeks on: water and weed": "aftercare-late",
    "whitewash exposed bark": "whitewash",
    "dry summer: stone fruit after harvest": "cut-stone-fruit",
    "dry summer: second evergreen support cut": "second-cut-support",
    "dry summer: mulch top-up": "top-up-mulch",
    "autumn sowing of green manure": "sow-green-manure",
}


@pytest.mark.parametrize(("job", "task"), YEAR.items())
def test_each_job_of_the_growers_year_is_a_task_with_window_who_hours_and_record(
    job: str, task: str
) -> None:
    kind = BOOK.tasks[task]
    assert kind.team, job
    assert kind.rate in BOOK.rates
    assert kind.record
    speaks = [
        rule
        for rule in BOOK.rules.values()
        if {kind.id, kind.visit} & set(rule.tasks)
        or (kind.cuts and rule.cuts_only and rule.groups)
    ]
    assert speaks, f"{task} has no window of its own"


def test_each_entry_of_the_rule_files_tells_its_source() -> None:
    folder = resources.files("scheduler.holding") / "rules"
    n_entries = 0
    for name in ("plants", "tasks", "rates", "biomass", "rules", "cautions"):
        content = tomllib.loads((folder / f"{name}.toml").read_text(encoding="utf-8"))
        for entries in content.values():
            for entry in entries:
                n_entries += 1
                assert len(entry["source"]) > 10, entry
    assert n_entries > 250


def test_every_figure_of_the_rule_book_is_used_and_none_is_asked_that_is_missing() -> None:
    text = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "scheduler").rglob("*.py"))
    for name in BOOK.figures:
        assert f'"{name}"' in text, f"nobody asks for {name}"
    asked = text.split('.figure("')[1:]
    assert BOOK.figures
    assert asked
    for wanted in asked:
        assert wanted.split('"')[0] in BOOK.figures


def test_the_decision_stands_in_the_ten_days_before_release(branasol: SeasonPlan) -> None:
    """Ten days before the last frost to the day itself: common practice, no source."""
    for plot in ("fondal", "ladeira"):
        stint = branasol.placed.stints[f"{plot}.decide-release"]
        day = branasol.placed.season.date_of(stint.first)
        closes = branasol.placed.outlook.frost[plot].closes_after(day)
        assert closes is not None
        assert 0 <= (closes - day).days <= 10


def test_seedlings_are_started_weeks_before_their_plot_is_released(branasol: SeasonPlan) -> None:
    """Six to eight weeks before the last frost: common practice, no source."""
    started = [t for t in branasol.placed.stints if t.endswith(".start-seedlings")]
    assert started
    for task_id in started:
        day = branasol.placed.season.date_of(branasol.placed.stints[task_id].first)
        plot = branasol.placed.tasks[task_id].plot_id
        released = branasol.placed.outlook.frost[plot].closes_after(day)
        assert released is not None
        assert 6 * 7 <= (released - day).days <= 8 * 7
        (span,) = branasol.placed.windows[task_id].spans
        assert 6 * 7 <= (released - span.last).days <= 6 * 7 + 1
        assert 8 * 7 - 1 <= (released - span.first).days <= 8 * 7
        assert f"{plot}.plant-alleys" in branasol.placed.tasks, "for what is planted there"


def test_covers_come_off_only_when_frost_is_over(klipskadu: SeasonPlan) -> None:
    off = [t for t in klipskadu.placed.stints if t.endswith(".uncover-tender")]
    assert off
    for task_id in off:
        risk = klipskadu.placed.outlook.frost[klipskadu.placed.tasks[task_id].plot_id]
        assert not risk.open[klipskadu.placed.stints[task_id].first]


def test_a_spreadsheet_of_twenty_rows_works(tmp_path: Path) -> None:
    """Semicolons, decimal commas, other order of columns, a byte-order mark."""
    site = new_site(tmp_path / "site")
    kinds = ["alder", "tagasaste", "apple", "plum", "hazel"] * 4
    rows = [
        f"{2.5 + n / 10:.1f};{n + 1};{kind};first-plot;medium;support;pollard;{7 + n / 2};3,5"
        for n, kind in enumerate(kinds)
    ]
    text = "crown_m;count;plant;plot;stratum;role;cut_system;stem_cm;height_m\n" + "\n".join(rows)
    (site / "stock.csv").write_text("\ufeff" + text.replace(".", ","), encoding="utf-8")
    holding = read_holding(site, AS_OF)
    assert len(holding.stock) == 20
    assert holding.stock[1].crown_m == pytest.approx(2.6)
    assert tasks_of(holding)


def test_a_heavy_visit_is_a_few_days_for_a_small_crew(branasol: SeasonPlan) -> None:
    """One to five days for four people at six productive hours, less where a young plot has its
    lighter form: common practice, no source."""
    hours = {
        plot.id: sum(
            task.hours.usual
            for task in branasol.placed.tasks.values()
            if task.plot is plot and task.type.visit == "release"
        )
        for plot in branasol.placed.holding.plots
    }
    young = hours.pop("novo")
    assert hours
    assert all(0.5 <= whole / (4 * 6) <= 5 for whole in hours.values())
    assert 0 < young / (4 * 6) < 0.5
