"""A winter or a harvest that runs over the first day of a plan is worked once.

Common practice, no source.
"""

from datetime import date
from pathlib import Path

import pytest

from scheduler.holding import LogEntry, read_holding
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.windows.task_windows import ONCE_A_ROUND
from scheduler.words import HEAVY, heavy_to_come, short_plan
from tests.sites import add, append_to_log, demo, planned

LATE = date(2027, 10, 1)
WINTER = "fondal.cut-dormant-tall"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Branasol with a plan that goes on: its winter begins in November, its year in December."""
    last = ("plan-2027.toml", "last = 2027-11-30", "#")
    return demo(tmp_path_factory.mktemp("round"), "branasol", last)


@pytest.fixture(scope="module")
def autumn(site: Path) -> SeasonPlan:
    return plan_season(read_holding(site, LATE), LATE)


def first_days(plan: SeasonPlan) -> dict[str, date]:
    stints = plan.placed.stints.items()
    return {task_id: plan.placed.season.date_of(stint.first) for task_id, stint in stints}


def test_what_this_season_does_at_its_end_the_next_leaves_out(autumn: SeasonPlan) -> None:
    now, then = autumn.seasons
    assert first_days(now)[WINTER] == date(2027, 11, 23)
    assert WINTER not in first_days(then)
    said = [note.says for note in then.placed.idle if note.speaks_of(WINTER)]
    assert len(said) == 1
    assert "in the season before, and this is the same round" in said[0]


def test_no_work_of_the_two_seasons_is_nearer_than_half_a_year(autumn: SeasonPlan) -> None:
    now, then = map(first_days, autumn.seasons)
    both = now.keys() & then.keys()
    assert len(both) > 20
    assert [task for task in both if (then[task] - now[task]).days < 150] == []


def test_what_the_log_has_of_the_season_before_counts(site: Path, tmp_path: Path) -> None:
    other = demo(tmp_path, "branasol", ("plan-2027.toml", "last = 2027-11-30", "#"))
    as_of = date(2027, 12, 1)
    assert WINTER in first_days(planned(site, as_of))
    entry = LogEntry(date=date(2027, 11, 25), plan="2027", task=WINTER)
    append_to_log(other, [entry])
    plan = planned(other, as_of)
    assert WINTER not in first_days(plan)
    assert plan.placed.outlook.done_before[WINTER] == date(2027, 11, 25)


def test_an_own_date_asks_for_it_again(tmp_path: Path) -> None:
    site = demo(tmp_path, "branasol", ("plan-2027.toml", "last = 2027-11-30", "#"))
    append_to_log(site, [LogEntry(date=date(2027, 11, 25), plan="2027", task=WINTER)])
    own = f'\n[[own_date]]\ntask = "{WINTER}"\non = 2027-12-14\nwhy = "more of it"\n'
    add(site, "plan-2027.toml", own)
    assert first_days(planned(site, date(2027, 12, 1)))[WINTER] == date(2027, 12, 14)


def test_a_round_that_was_half_done_goes_on(tmp_path: Path) -> None:
    site = demo(tmp_path, "branasol", ("plan-2027.toml", "last = 2027-11-30", "#"))
    append_to_log(site, [LogEntry(date=date(2027, 11, 25), plan="2027", task=WINTER, percent=60)])
    assert WINTER in first_days(planned(site, date(2027, 12, 1)))


def test_last_years_winter_is_another_round(tmp_path: Path) -> None:
    site = demo(tmp_path, "branasol", ("plan-2027.toml", "last = 2027-11-30", "#"))
    append_to_log(site, [LogEntry(date=date(2027, 3, 2), plan="2027", task="novo.lay-dormant")])
    plan = planned(site, date(2027, 12, 1))
    window = plan.placed.windows["novo.lay-dormant"]
    assert [ruling for ruling in window.rulings if ruling.rule_id == ONCE_A_ROUND] == []


def test_where_no_heavy_visit_is_left_those_of_the_next_season_are_told(
    autumn: SeasonPlan,
) -> None:
    rows = [row for row in heavy_to_come(autumn) if row.kind == HEAVY]
    assert len(rows) == 4
    assert {row.first.year for row in rows} == {2028}
    assert "2028" in short_plan(autumn)[0].plain()


def test_a_row_that_takes_the_work_back_counts(tmp_path: Path) -> None:
    site = demo(tmp_path, "branasol", ("plan-2027.toml", "last = 2027-11-30", "#"))
    rows = [(date(2027, 11, 25), 100), (date(2027, 11, 26), 40)]
    append_to_log(site, [LogEntry(date=d, plan="2027", task=WINTER, percent=p) for d, p in rows])
    assert WINTER in first_days(planned(site, date(2027, 12, 1)))


def test_an_old_row_of_the_log_does_not_hide_what_this_season_plans(tmp_path: Path) -> None:
    """It was done two winters ago, too."""
    other = demo(tmp_path, "branasol", ("plan-2027.toml", "last = 2027-11-30", "#"))
    append_to_log(other, [LogEntry(date=date(2025, 11, 25), plan="2025", task=WINTER)])
    plan = plan_season(read_holding(other, LATE), LATE)
    assert WINTER in first_days(plan)
    assert WINTER not in first_days(plan.seasons[1])
