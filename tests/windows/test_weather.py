"""Heat, cold, dry spells and what the plants show: gates by record and by the grower's word."""

import math
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from scheduler.files import FaultyFilesError
from scheduler.holding import DryMonths, read_holding
from scheduler.season import outlook_of
from scheduler.stand import Task, tasks_of
from scheduler.terms import Ruling, Season
from scheduler.weather import Record
from scheduler.windows import Concern, Facts, concerns_of, window_of
from scheduler.windows.facts import around_sign, outside_dry, share_by_slot
from tests.sites import AS_OF, edit, new_site

YEAR = Season.between(date(2027, 1, 1), date(2027, 12, 31))


def facts(site: Path) -> Facts:
    outlook = outlook_of(read_holding(site, AS_OF), AS_OF)
    return Facts(outlook.holding, outlook.season, outlook.sky, outlook.frost, AS_OF)


def task_of(told: Facts, kind: str) -> Task:
    return next(task for task in tasks_of(told.holding) if task.type.id == kind)


def ruling(site: Path, kind: str, rule: str) -> Ruling | None:
    told = facts(site)
    found = [r for r in window_of(task_of(told, kind), told).rulings if r.rule_id == rule]
    return found[0] if found else None


def closed_on(site: Path, kind: str, rule: str, *month_days: str) -> list[bool]:
    told = ruling(site, kind, rule)
    assert told is not None, f"{rule} says nothing of {kind}"
    season = facts(site).season
    return [bool(told.closed[season.day_of(date.fromisoformat(f"2027-{day}"))])
            for day in month_days]  # fmt: skip


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def with_record(site: Path, years: int = 6, rain: str = "0") -> Path:
    """Minima of -8 to 16 C, maxima of 6 to 36, and rain in the half of the year round New Year."""
    lines = ["date,tmin_c,tmax_c,rain_mm"]
    for day in Season.between(date(2019, 1, 1), date(2018 + years, 12, 31)):
        wave = -math.cos(2 * math.pi * (day.timetuple().tm_yday - 20) / 365.25)
        wet = rain if day.month in (10, 11, 12, 1, 2, 3) else "0"
        lines.append(f"{day},{4 + 12 * wave:.1f},{21 + 15 * wave:.1f},{wet}")
    (site / "station.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    edit(site, "site.toml", "stations = []", 'stations = ["station.csv"]')
    return site


def test_days_that_often_reach_the_heat_stop_are_closed(site: Path) -> None:
    """Citrus stops at 35 C; limits after the Master Gardeners of Visalia and Madera County."""
    with (site / "stock.csv").open("a", encoding="utf-8") as stock:
        stock.write("first-plot,A,mandarin,low,fruit,retained,5,7,2.5,2.3,,\n")
    told = closed_on(
        with_record(site), "cut-evergreen-fruit", "heat-stop", "05-20", "07-22", "10-01"
    )
    assert told == [False, True, False]


def test_no_maxima_no_gate_and_a_short_record_none_either(site: Path) -> None:
    with (site / "stock.csv").open("a", encoding="utf-8") as stock:
        stock.write("first-plot,A,mandarin,low,fruit,retained,5,7,2.5,2.3,,\n")
    assert ruling(site, "cut-evergreen-fruit", "heat-stop") is None
    assert ruling(with_record(site, years=4), "cut-evergreen-fruit", "heat-stop") is None


def test_nights_too_cold_for_the_wood_are_counted_at_the_plot(site: Path) -> None:
    """No pruning below 25 F (-4 C), frozen wood is brittle: greenyplace.com, weak."""
    with_record(site)
    assert closed_on(site, "cut-dormant-tall", "cold-stop", "01-20", "04-01") == [True, False]
    edit(site, "plots.toml", "frost_offset_c = 0.0", "frost_offset_c = 6.0")
    assert closed_on(site, "cut-dormant-tall", "cold-stop", "01-20") == [False]


def test_the_growers_dry_months_gate_stone_fruit(site: Path) -> None:
    (site / "site.toml").write_text(
        (site / "site.toml").read_text(encoding="utf-8")
        + '\n[[dry]]\nfirst = "07-01"\nlast = "08-20"\n',
        encoding="utf-8",
    )
    # a dry week from 14 August on ends with the dry months
    days = ("06-30", "07-01", "08-14", "08-15")
    assert closed_on(site, "cut-stone-fruit", "dry-spell", *days) == [True, False, False, True]
    told = ruling(site, "cut-stone-fruit", "dry-spell")
    assert told is not None
    assert "your dry months are 1 Jul to 20 Aug" in told.words
    assert told.basis.value == "planned"


def test_rain_of_the_record_gates_stone_fruit_where_the_grower_says_nothing(site: Path) -> None:
    assert ruling(site, "cut-stone-fruit", "dry-spell") is None
    with_record(site, rain="4.2")
    days = ("07-15", "09-10", "10-20")
    assert closed_on(site, "cut-stone-fruit", "dry-spell", *days) == [False, False, True]


def test_dry_months_may_run_over_new_year() -> None:
    """The dry summer of the south."""
    outside = outside_dry([DryMonths(first="11-10", last="03-25")], 1, YEAR)
    told = [bool(outside[YEAR.day_of(date(2027, *md))]) for md in
            ((11, 9), (11, 10), (12, 31), (3, 19), (3, 20))]  # fmt: skip
    assert told == [True, False, False, False, True]


def cherries(site: Path, state: str, last: str) -> list[Concern]:
    edit(site, "stock.csv", "plum,medium", "sweet-cherry,medium")
    (site / "rules.toml").write_text(
        f'[[switch]]\nid = "dry-weeks"\nstate = "{state}"\nsource = "own choice"\n', "utf-8"
    )
    (site / "site.toml").write_text(
        (site / "site.toml").read_text("utf-8") + f'\n[[dry]]\nfirst = "06-01"\nlast = "{last}"\n',
        "utf-8",
    )
    told = facts(site)
    found = concerns_of(window_of(task_of(told, "cut-stone-fruit"), told), told)
    return [concern for concern in found if concern.rule_id == "dry-weeks"]


def test_six_dry_weeks_of_cherry_are_weighed_not_settled(site: Path) -> None:
    """About six weeks without rain after the cut: Master Gardeners of Visalia."""
    (asked,) = cherries(site, "ask", "08-31")
    assert asked.switch == "dry-weeks"
    assert not asked.conflict
    # 21 July to 31 August are six weeks
    assert asked.spans[0].first == date(2027, 7, 22)


def test_where_no_day_has_six_dry_weeks_the_conflict_is_the_growers(site: Path) -> None:
    (asked,) = cherries(site, "ask", "07-05")
    assert asked.conflict


def test_the_grower_can_make_six_dry_weeks_a_gate(site: Path) -> None:
    assert cherries(site, "on", "08-31") == []
    assert closed_on(site, "cut-stone-fruit", "dry-weeks", "07-21", "07-22") == [False, True]


def signs(site: Path, group: str, sign: str, on: str) -> None:
    with (site / "site.toml").open("a", encoding="utf-8") as file:
        file.write(f'\n[[phenology]]\ngroups = ["{group}"]\nsign = "{sign}"\non = "{on}"\n')


@pytest.mark.parametrize(
    ("sign", "rule", "open_on", "shut_on"),
    [
        ("bud-swell", "before-bud-swell", "03-04", "03-05"),
        ("leaf-fall", "after-leaf-fall", "03-05", "03-04"),
        ("flowering", "not-in-flower", "04-02", "03-05"),
    ],
)
def test_what_pome_fruit_shows_gates_its_cut(
    site: Path, sign: str, rule: str, open_on: str, shut_on: str
) -> None:
    """Before the buds swell, leafless, and never in bloom: University of California ANR."""
    assert ruling(site, "cut-dormant-fruit", rule) is None
    signs(site, "pome-fruit", sign, "03-05")
    assert closed_on(site, "cut-dormant-fruit", rule, open_on, shut_on) == [False, True]
    told = ruling(site, "cut-dormant-fruit", rule)
    assert told is not None
    assert "5 Mar" in told.words


def test_a_sign_of_other_plants_gates_nothing(site: Path) -> None:
    signs(site, "vine", "bud-swell", "02-01")
    assert ruling(site, "cut-dormant-fruit", "before-bud-swell") is None


def test_a_sign_of_no_known_group_is_refused(site: Path) -> None:
    signs(site, "pome-fruits", "bud-swell", "03-05")
    with pytest.raises(FaultyFilesError, match="did you mean pome-fruit"):
        read_holding(site, AS_OF)


def test_days_around_a_sign_run_over_new_year() -> None:
    until = around_sign("01-05", "until", 10, YEAR)
    assert [bool(until[YEAR.day_of(date(2027, *md))]) for md in
            ((1, 4), (1, 5), (12, 25), (12, 26))] == [True, False, False, True]  # fmt: skip


def test_shares_count_days_and_leave_out_what_is_missing() -> None:
    season = Season(date(2000, 1, 1), 366 * 10)
    days = np.array([day.timetuple().tm_yday for day in season])
    hot = np.where((days > 180) & (days < 220), 40.0, 20.0)
    hot[: 366 * 2] = np.nan
    weather = Record("invented", season, hot - 10, tmax_c=hot)
    shares = share_by_slot(weather, "tmax_c", 38.0, 5)
    assert shares is not None
    assert shares.shape == (366,)
    assert shares[199] == 1.0
    assert shares[100] == 0.0
    assert share_by_slot(weather, "tmax_c", 38.0, 9) is None
    assert share_by_slot(weather, "rain_mm", 1.0, 1) is None
    assert share_by_slot(None, "tmin_c", -4.0, 1) is None


def test_the_same_day_of_the_year_is_the_same_slot_in_every_year() -> None:
    weather = Record("invented", YEAR, np.zeros(365))
    assert share_by_slot(weather, "tmin_c", 0.0, 0.5) is not None
    assert YEAR.last - YEAR.first == timedelta(days=364)
