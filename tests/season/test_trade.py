"""A season against what the trade expects: dates, hours and mass of some sixty kinds of work.

``trade.csv`` beside this file holds the lines and the source of each. None of them is read off
the rule book.
"""

import csv
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from scheduler.holding import read_holding
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.stand import Task, tasks_of
from tests.sites import AS_OF, edit, new_site

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
HALF_YEAR = 182.6
# Two places that mirror one another: mild, frost from late October to mid-April, a dry summer.
PLACES = {
    "north": {"lat_deg": 43.0, "lon_deg": 14.2, "own_last": "04-15", "own_first": "10-25"},
    "south": {"lat_deg": -43.0, "lon_deg": 14.2, "own_last": "10-15", "own_first": "04-25"},
}
DRY = {"north": ("06-10", "09-15"), "south": ("12-10", "03-15")}


class Line(NamedTuple):
    """One line of the table; ``low`` and ``high`` are months or amounts."""

    place: str
    plant: str
    stratum: str
    role: str
    cut_system: str
    number: str
    stem_cm: str
    height_m: str
    work: str
    what: str
    low: str
    high: str
    source: str

    @property
    def row(self) -> str:
        """Its plants as a row of ``stock.csv``."""
        crown_m = float(self.height_m) / 2
        return (
            f"first-plot,A,{self.plant},{self.stratum},{self.role},{self.cut_system},{self.number},"
            f"{self.stem_cm},{self.height_m},{crown_m:g},,"
        )


def _table() -> list[Line]:
    text = (Path(__file__).parent / "trade.csv").read_text(encoding="utf-8")
    rows = csv.reader(line for line in text.splitlines() if not line.startswith("#"))
    next(rows)
    return [Line(*row) for row in rows]


LINES = _table()
DATED = [line for line in LINES if line.what == "months"]
MEASURED = [line for line in LINES if line.what != "months"]


def _site(folder: Path, place: str, rows: Sequence[str]) -> Path:
    site = new_site(folder, area_m2=5000.0, planted=2012, **PLACES[place])
    kept = [line for line in (site / "stock.csv").read_text().splitlines() if line[0] == "#"]
    head = "plot,line,plant,stratum,role,cut_system,count,stem_cm,height_m,crown_m,last_cut,note"
    (site / "stock.csv").write_text("\n".join((*kept, head, *dict.fromkeys(rows))) + "\n")
    first, last = DRY[place]
    with (site / "site.toml").open("a") as end:
        end.write(f'\n[[dry]]\nfirst = "{first}"\nlast = "{last}"\n')
    return site


def _plan(folder: Path, place: str, lines: Sequence[Line]) -> SeasonPlan:
    """The season of all plants of some lines, with hands enough for every day."""
    site = _site(folder, place, [line.row for line in lines])
    people = "".join(
        f'\n[[person]]\nname = "P{n}"\nskills = ["ground-saw", "pole-saw"]\n'
        'days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]\nhours = 8\n'
        for n in range(5)
    )
    edit(site, "crew.toml", '\n[[hire]]\nid = "climber"', f'{people}\n[[hire]]\nid = "climber"')
    return plan_season(read_holding(site, AS_OF), AS_OF)


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> dict[str, SeasonPlan]:
    folder = tmp_path_factory.mktemp("trade")
    return {
        place: _plan(folder / place, place, [line for line in DATED if line.place == place])
        for place in PLACES
    }


def _of(line: Line, tasks: Sequence[Task]) -> list[Task]:
    return [
        task
        for task in tasks
        if task.type.id == line.work
        and (not task.stock or line.plant in {row.plant for row in task.stock})
    ]


def test_the_table_is_long_enough() -> None:
    assert len(LINES) >= 60
    assert all(line.source for line in LINES)


@pytest.mark.parametrize("line", DATED, ids=lambda line: f"{line.place}-{line.work}-{line.plant}")
def test_work_stands_in_the_months_of_the_trade(line: Line, plans: dict[str, SeasonPlan]) -> None:
    plan = plans[line.place]
    tasks = _of(line, list(plan.placed.tasks.values()))
    days = [
        plan.placed.season.date_of(day)
        for task in tasks
        if task.id in plan.placed.stints
        for day in plan.placed.stints[task.id].days
    ]
    assert days, f"{line.work} of {line.plant} is not planned"
    first, last = (MONTHS.index(month) + 1 for month in (line.low, line.high))
    span = {(first - 1 + ahead) % 12 + 1 for ahead in range((last - first) % 12 + 1)}
    assert {day.month for day in days} <= span, days


@pytest.mark.parametrize(
    "line", MEASURED, ids=lambda line: f"{line.work}-{line.plant}-{line.what}"
)
def test_hours_and_mass_are_those_of_the_trade(line: Line, tmp_path: Path) -> None:
    holding = read_holding(_site(tmp_path / "site", "north", [line.row]), AS_OF)
    (task,) = _of(line, tasks_of(holding))
    plants = sum(row.count for row in task.stock) or holding.plots[0].alley_plants
    got = {
        "hours each": task.hours.usual / plants,
        "an hour": plants / task.hours.usual,
        "kg each": task.material.fresh_kg / plants,
    }[line.what]
    assert float(line.low) <= got <= float(line.high)


def test_the_same_stand_south_of_the_equator_is_worked_half_a_year_later(tmp_path: Path) -> None:
    lines = [line for line in DATED if line.place == "north"]
    north, south = (_plan(tmp_path / place, place, lines) for place in PLACES)
    compared = 0
    for task_id in north.placed.windows.keys() & south.placed.windows.keys():
        here, there = (_year(plan, task_id) for plan in (north, south))
        if not here.any():
            continue
        shift = round(HALF_YEAR)
        apart = (np.roll(here, shift) != there).sum()
        assert apart <= 25, task_id  # the Sun's half years differ by a week at either end
        compared += 1
    assert compared >= 30


def _year(plan: SeasonPlan, task_id: str) -> np.ndarray:
    """(365,) whether a day of the year is open by months and frost, whoever is free."""
    by_frost_or_sun = [
        ruling.closed
        for ruling in plan.placed.windows[task_id].rulings
        if ruling.basis in ("published", "measured")
    ]
    closed = np.logical_or.reduce(by_frost_or_sun) if by_frost_or_sun else np.zeros(0, bool)
    year = np.zeros(365, dtype=bool)
    for day, shut in enumerate(closed[:365]):
        on = plan.placed.season.date_of(day)
        year[min((date(2001, on.month, min(on.day, 28)) - date(2001, 1, 1)).days, 364)] = not shut
    return year
