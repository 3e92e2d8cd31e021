"""A cut that is logged as done counts as the last cut of what it took."""

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from scheduler.holding import Holding, LogEntry, Work, read_holding
from scheduler.holding.plots import Trigger
from scheduler.reasons import plan_season
from scheduler.stand import LoggedCuts, due_of, tasks_of
from scheduler.words.work_words import too_soon_words
from tests.sites import AS_OF, ROOT, new_site

pytestmark = pytest.mark.usefixtures("plans_once")

DAY = date(2026, 11, 20)


@pytest.fixture(scope="module")
def demo() -> Holding:
    return read_holding(ROOT / "sites" / "branasol", AS_OF)


def logged(holding: Holding, *entries: tuple[str, int, date]) -> Holding:
    """The holding with these rows at the end of its log: task, percent, day."""
    rows = (LogEntry(date=day, plan="2026", task=t, percent=p) for t, p, day in entries)
    return replace(holding, log=(*holding.log, *rows))


def cuts(holding: Holding, as_of: date = AS_OF) -> dict[tuple[str, str, str], date | None]:
    stock = LoggedCuts(holding, as_of).stock
    return {(row.plot, row.plant, row.stratum): row.last_cut for row in stock}


def changed(holding: Holding, other: Holding, as_of: date = AS_OF) -> dict[str, date | None]:
    one, two = cuts(holding, as_of), cuts(other, as_of)
    return {" ".join(key): two[key] for key in one if one[key] != two[key]}


def test_a_finished_cut_is_the_last_cut_of_the_rows_it_takes_and_of_no_others(
    demo: Holding,
) -> None:
    done = logged(demo, ("fondal.cut-medium", 100, DAY))
    assert changed(demo, done) == {"fondal tagasaste medium": DAY}
    done = logged(demo, ("ladeira.cut-evergreen-fruit", 100, DAY))
    rows = ("strawberry-tree", "mandarin")
    assert changed(demo, done) == {f"ladeira {name} low": DAY for name in rows}
    done = logged(demo, ("ladeira.cut-evergreen-fruit:mandarin", 100, DAY))
    assert changed(demo, done) == {"ladeira mandarin low": DAY}


@pytest.mark.parametrize(
    "entries",
    [
        [("fondal.cut-medium", 60, DAY)],  # not finished
        [("fondal.cut-medium", 100, DAY), ("fondal.cut-medium", 60, DAY)],  # taken back
        [("fondal.cut-medium", 100, date(2026, 5, 1))],  # stock.csv knows a later cut
        [("fondal.cut-medium", 100, AS_OF + timedelta(days=1))],  # still to come
        [("fondal.weed-lines", 100, DAY)],  # no cut
        [("ladeira.cover-tender", 100, DAY), ("fondal.harvest-autumn", 100, DAY)],  # nor these
        [("nowhere.cut-medium", 100, DAY), ("fondal.nothing", 100, DAY)],
    ],
)
def test_what_is_no_later_finished_cut_changes_nothing(
    demo: Holding, entries: list[tuple[str, int, date]]
) -> None:
    assert changed(demo, logged(demo, *entries)) == {}


def test_the_demo_sites_stock_knows_the_cuts_of_their_logs() -> None:
    """So their calendars say the same with the log read and without."""
    for name in ("branasol", "klipskadu"):
        holding = read_holding(ROOT / "sites" / name, AS_OF)
        assert changed(replace(holding, log=()), holding) == {}


def test_a_logged_cut_lets_cover_grow_back_from_its_day(demo: Holding) -> None:
    """Told in the log it is the same as told in stock.csv, for cover, light and what is due."""
    soon = (Trigger(stratum="medium", share=0.3),)
    demo = replace(demo, plots=tuple(replace(plot, trigger=soon) for plot in demo.plots))
    by_log = logged(demo, ("ladeira.cut-medium", 100, DAY))
    stock = tuple(
        replace(r, last_cut=DAY) if (r.plot, r.plant) == ("ladeira", "tagasaste") else r
        for r in demo.stock
    )
    by_stock = replace(demo, stock=stock)
    plain, one, two = (
        due_of(holding, tasks_of(holding), AS_OF, {}) for holding in (demo, by_log, by_stock)
    )
    assert [d.strata for d in one] == [d.strata for d in two]
    assert [d.light for d in one] == [d.light for d in two]
    assert [d.full_again for d in one] == [d.full_again for d in two]
    slope = [next(d for d in dues if d.plot.id == "ladeira") for dues in (plain, one)]
    before, after = ({s.cover.stratum: s for s in d.strata}["medium"] for d in slope)
    assert after.cover.share < before.cover.share - 0.1
    assert after.on is not None
    assert before.on is not None
    assert after.on > before.on


def test_a_second_cut_soon_after_a_logged_one_is_called_too_soon(demo: Holding) -> None:
    """What is done has no planned days any more; the log alone knows when it was cut."""
    done = LogEntry(date=date(2027, 5, 20), plan="2027", task="ladeira.cut-medium")
    summer = replace(demo.plan.says, work=(Work(types=("dry-summer",)),), own_date=())
    holding = replace(demo, log=(*demo.log, done), plan=replace(demo.plan, says=summer))
    plan = plan_season(holding, date(2027, 6, 1))
    told = " ".join(too_soon_words(plan.placed.tasks["ladeira.second-cut-support"], plan.placed))
    assert "Tagasaste: last cut 2.1 months before, the kind wants at least 3" in told


def test_done_changes_what_is_due(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    task = "first-plot.cut-medium"
    words = ("--as-of", "2027-05-20")

    def medium() -> float:
        told = CliRunner().invoke(app, ["due", str(site), *words, "--json"])
        strata = json.loads(told.stdout)["plots"][0]["cover"]
        return float({s["stratum"]: s["share"] for s in strata}["medium"])

    before = medium()
    assert CliRunner().invoke(app, ["log", str(site), task, *words]).exit_code == 0
    assert medium() < before - 0.05
