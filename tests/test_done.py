"""`scheduler log`: a step, a visit or a day, as the plan has it; nothing that cannot be."""

import csv
import json
import shutil
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from scheduler.reasons import SeasonPlan
from tests.sites import add, edit, new_site, planned

TASK = "first-plot.weed-lines"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def done(site: Path, *words: object, task: str = TASK, as_of: str = "2027-05-20") -> Result:
    args = ["log", str(site), task, *map(str, words), "--as-of", as_of]
    return CliRunner().invoke(app, args)


def refused(site: Path, *words: object, task: str = TASK, as_of: str = "2027-05-20") -> str:
    """What is said; nothing is written."""
    log = (site / "worklog.csv").read_bytes()
    result = done(site, *words, task=task, as_of=as_of)
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.output
    assert (site / "worklog.csv").read_bytes() == log
    return result.stderr


def rows(site: Path) -> list[str]:
    return (site / "worklog.csv").read_text(encoding="utf-8").splitlines()


def test_less_than_was_logged_before_is_refused_with_the_way_to_correct_it(site: Path) -> None:
    assert done(site, "--percent", 60, "--on", "2027-05-18").exit_code == 0
    says = refused(site, "--percent", 40)
    assert f"worklog.csv has {TASK} at 60 % on 18 May 2027" in says
    assert "correct that row by hand" in says
    assert done(site, "--percent", 60, "--hours", 2).exit_code == 0, "hours without progress"
    assert done(site, "--percent", 80).exit_code == 0
    assert done(site).exit_code == 0


def test_what_is_done_is_not_done_again(site: Path) -> None:
    assert done(site, "--on", "2027-05-18").exit_code == 0
    for words in ((), ("--percent", 50), ("--hours-left", 2)):
        says = refused(site, *words)
        assert "at 100 % on 18 May 2027, so it is done" in says
        assert says.count("\n") == 1, "one line"


def test_a_day_before_the_last_logged_one_is_refused(site: Path) -> None:
    assert done(site, "--percent", 30).exit_code == 0
    assert "add this one by hand above it" in refused(site, "--on", "2027-05-19")


def test_days_outside_what_can_be_are_refused(site: Path) -> None:
    assert "still to come (today is 20 May 2027)" in refused(site, "--on", "2027-05-21")
    says = refused(site, "--on", "2026-05-20")
    assert "plan 2027 begins on 1 Dec 2026" in says
    assert "--plan" in says
    assert done(site, "--on", "2026-12-01").exit_code == 0
    ahead = done(site, task="first-plot.lay-coarse", as_of="2026-11-28")
    assert ahead.exit_code == 0, "what was done today is a fact"
    assert "plan 2027 begins on 2026-12-01" in ahead.stderr
    late = done(site, task="first-plot.lay-fine", as_of="2028-01-10")
    assert late.exit_code == 0, "what was forgotten can be logged when the plan is over"


def test_all_that_is_wrong_is_told_at_once(site: Path) -> None:
    assert done(site, "--percent", 60).exit_code == 0
    says = refused(site, "--percent", 40, "--on", "2026-11-01")
    assert len(says.splitlines()) == 3


def test_calls_are_made_before_the_plan_and_covers_night_by_night(site: Path) -> None:
    booked = done(site, task="holding.book-climber-dormant", as_of="2026-11-25")
    assert booked.exit_code == 0, booked.output
    for day in ("2027-02-01", "2027-02-03"):
        assert done(site, task="first-plot.protect-tender", as_of=day).exit_code == 0


@pytest.mark.parametrize(
    "task", ["holding.book-nobody-dormant", "nowhere.call-utility", "x.book-climber-release"]
)
def test_a_call_that_nobody_asks_for_is_refused(site: Path, task: str) -> None:
    assert f"there is no task '{task}'" in refused(site, task=task)


@pytest.mark.parametrize("hours", ["nan", "inf", "8;5", "8,5,0", "-1"])
@pytest.mark.parametrize("option", ["--hours", "--hours-left"])
def test_hours_are_numbers(site: Path, option: str, hours: str) -> None:
    assert option in refused(site, option, hours)


def test_percent_and_hours_left_are_not_both_taken(site: Path) -> None:
    assert "give one of them" in refused(site, "--percent", 100, "--hours-left", 3)


def test_more_hours_left_than_was_thought_take_no_work_back(site: Path) -> None:
    assert done(site, "--percent", 50, "--on", "2027-05-18").exit_code == 0
    assert done(site, "--hours-left", 40).exit_code == 0
    assert f",{TASK},50," in rows(site)[-1]
    assert rows(site)[-1].endswith(",40.0")
    assert done(site, "--hours-left", 0).exit_code == 0
    assert f",{TASK},100," in rows(site)[-1]


@pytest.mark.parametrize(
    ("percent", "left", "found"),
    [
        ("100", "3", "3 h still to do"),
        ("", "3", "3 h still to do"),
        ("80", "0", "nothing still to do, at 80 %"),  # a quarter of an hour would be planned
    ],
)
def test_a_row_whose_hours_left_speak_against_its_percent_is_a_fault(
    site: Path, percent: str, left: str, found: str
) -> None:
    (site / "worklog.csv").write_text(
        f"date,plan,task,percent,hours_left\n2027-05-18,2027,{TASK},{percent},{left}\n", "utf-8"
    )
    result = CliRunner().invoke(app, ["check", str(site), "--as-of", "2027-05-20"])
    assert result.exit_code == 2
    assert f"worklog.csv, cell E2 (hours_left): found {found}" in result.stderr


def test_a_log_that_goes_back_or_runs_ahead_is_warned_of(site: Path) -> None:
    (site / "worklog.csv").write_text(
        "date,plan,task,percent\n"
        f"2027-05-18,2027,{TASK},60\n2027-05-19,2027,{TASK},40\n2027-06-19,2027,{TASK},70\n",
        encoding="utf-8",
    )
    args = ["check", str(site), "--as-of", "2027-05-20", "--json"]
    result = CliRunner().invoke(app, args)
    assert result.exit_code == 1
    told = {n["code"]: n["says"] for n in json.loads(result.stdout)}
    assert "at 40 % on 19 May 2027 after 60 % on 18 May 2027" in told["log-goes-back"]
    assert "19 Jun 2027, a day to come" in told["log-day-to-come"]


def test_a_row_in_a_log_parted_by_tabs_has_all_its_cells(site: Path) -> None:
    (site / "worklog.csv").write_text("date\tplan\ttask\tpercent\thours\tnote\n", "utf-8")
    assert done(site, "--percent", 50).exit_code == 0
    assert rows(site)[-1].count("\t") == 5


VISIT, WHITEWASHED = "first-plot.release", "first-plot.cut-evergreen-fruit:mandarin"


@pytest.fixture(scope="module")
def whole_season(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, SeasonPlan]:
    """A site with its written calendars: a release visit of several days, and mandarins."""
    home = tmp_path_factory.mktemp("home")
    site = new_site(home / "site")
    edit(site, "crew.toml", "hours = 6  ", "hours = 4  ")
    edit(site, "plots.toml", "alley_plants = 60", "alley_plants = 0")
    edit(site, "stock.csv", "pollard,12,7,3.5", "pollard,26,7,3.5")
    add(site, "stock.csv", "first-plot,B,mandarin,medium,fruit,retained,8,8,3,2.5,,\n")
    to = ("--to", str(home / "calendars" / "test-hill"))
    written = CliRunner().invoke(app, ["write", str(site), *to, "--as-of", "2026-11-25"])
    assert written.exit_code == 0, written.output
    return home, planned(site)


@pytest.fixture
def worked(
    whole_season: tuple[Path, SeasonPlan], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Path:
    """A copy of it, to log into."""
    shutil.copytree(whole_season[0], tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    return tmp_path / "site"


@pytest.fixture(scope="module")
def plan(whole_season: tuple[Path, SeasonPlan]) -> SeasonPlan:
    return whole_season[1]


def days_of(plan: SeasonPlan, visit_id: str) -> list[date]:
    days = {
        day for task_id in plan.placed.groups[visit_id] for day in plan.placed.stints[task_id].days
    }
    return sorted(map(plan.placed.season.date_of, days))


def by_then(plan: SeasonPlan, visit_id: str, until: date) -> dict[str, tuple[int, float]]:
    """Percent done and hours of each step by the end of a day, added up from the plan."""
    told = {}
    for task_id in plan.placed.groups[visit_id]:
        stint = plan.placed.stints[task_id]
        days = zip(stint.days, stint.hours, strict=True)
        done_h = sum(hours for day, hours in days if plan.placed.season.date_of(day) <= until)
        if done_h:
            told[task_id] = (round(100 * done_h / sum(stint.hours)), done_h)
    return told


def logged(site: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(row for row in rows(site) if not row.startswith("#")))


def test_a_visit_is_logged_up_to_a_day_as_the_plan_has_it(worked: Path, plan: SeasonPlan) -> None:
    days = days_of(plan, VISIT)
    assert len(days) > 1
    seen: dict[str, int] = {}
    for day in days:
        n_rows = len(logged(worked))
        result = done(worked, task=VISIT, as_of=str(day))
        assert result.exit_code == 0, result.output
        new = logged(worked)[n_rows:]
        assert new
        assert {row["date"] for row in new} == {str(day)}
        assert not {row["task"] for row in new} & {t for t, pct in seen.items() if pct == 100}
        seen |= {row["task"]: int(row["percent"]) for row in new}
        wanted = {task_id: pct for task_id, (pct, _) in by_then(plan, VISIT, day).items()}
        assert seen == pytest.approx(wanted, abs=1)
    assert set(seen.values()) == {100}
    assert {int(row["percent"]) for row in logged(worked)} > {100}, "a step went on overnight"
    assert "is not logged as done" in refused(worked, task=VISIT, as_of=str(days[-1]))


def test_days_that_nobody_logged_are_logged_with_the_next(worked: Path, plan: SeasonPlan) -> None:
    first, second, *_ = days_of(plan, VISIT)
    assert done(worked, task=VISIT, as_of=str(second)).exit_code == 0
    told = {row["task"]: row["date"] for row in logged(worked)}
    assert told == dict.fromkeys(by_then(plan, VISIT, second), str(second))
    assert set(told) > set(by_then(plan, VISIT, first))


def test_hours_are_shared_over_the_steps_as_the_plan_shares_them(
    worked: Path, plan: SeasonPlan
) -> None:
    first = days_of(plan, VISIT)[0]
    assert done(worked, "--hours", "8,5", task=VISIT, as_of=str(first)).exit_code == 0
    rows = {row["task"]: float(row["hours"]) for row in logged(worked)}
    wanted = {task_id: hours for task_id, (_, hours) in by_then(plan, VISIT, first).items()}
    assert len(rows) > 1
    assert sum(rows.values()) == pytest.approx(8.5, abs=1e-9), "not a minute more or less"
    each = {task_id: 8.5 * hours / sum(wanted.values()) for task_id, hours in wanted.items()}
    assert rows == pytest.approx(each, abs=0.011)


def test_100_percent_logs_the_whole_visit(worked: Path, plan: SeasonPlan) -> None:
    first = days_of(plan, VISIT)[0]
    assert done(worked, "--percent", 100, task=VISIT, as_of=str(first)).exit_code == 0
    told = [(row["task"], row["percent"], row["date"]) for row in logged(worked)]
    assert told == [(task_id, "100", str(first)) for task_id in plan.placed.groups[VISIT]]


@pytest.mark.parametrize("words", [("--percent", 60), ("--hours-left", 3)])
def test_a_part_is_said_of_a_step_and_not_of_a_visit(
    worked: Path, words: tuple[object, ...]
) -> None:
    says = refused(worked, *words, task=VISIT, as_of="2027-05-14")
    assert "speak of one step; name the step" in says
    assert done(worked, *words, task="first-plot.cut-medium", as_of="2027-05-14").exit_code == 0


def test_a_visit_with_nothing_planned_up_to_that_day_is_refused(
    worked: Path, plan: SeasonPlan
) -> None:
    before = days_of(plan, VISIT)[0].toordinal() - 1
    for what in (VISIT, str(date.fromordinal(before))):
        says = refused(worked, task=what, as_of=str(date.fromordinal(before)))
        assert f"{what}: the plan has no work for it up to" in says
        assert "name a step, or all of a visit with --percent 100" in says
    # a visit of which nothing is due in this plan
    assert "there is no task" in refused(worked, "--percent", 100, task="first-plot.dry-winter")


def test_a_day_takes_every_visit_of_it(worked: Path, plan: SeasonPlan) -> None:
    by_day: dict[date, list[str]] = {}
    for visit_id in plan.placed.visits:
        for day in days_of(plan, visit_id):
            by_day.setdefault(day, []).append(visit_id)
    day, visits = next((day, ids) for day, ids in sorted(by_day.items()) if len(ids) > 1)
    assert done(worked, "--hours", 6, task=str(day), as_of=str(day)).exit_code == 0
    rows = logged(worked)
    assert {plan.placed.visit_of[row["task"]] for row in rows} == set(visits)
    assert {row["date"] for row in rows} == {str(day)}
    assert sum(float(row["hours"]) for row in rows) == pytest.approx(6, abs=1e-9)


def test_other_work_of_several_tasks_is_logged_whole_by_the_name_in_its_entry(
    worked: Path, plan: SeasonPlan
) -> None:
    """It bears the name of its first task; a part of it is said of that task."""
    ids = plan.placed.groups[WHITEWASHED]
    assert ids == (WHITEWASHED, "first-plot.whitewash:mandarin")
    day = days_of(plan, WHITEWASHED)[0]
    part = ("--percent", 40, "--on", day)
    assert done(worked, *part, task=WHITEWASHED, as_of=str(day)).exit_code == 0
    assert [(row["task"], row["percent"]) for row in logged(worked)] == [(WHITEWASHED, "40")]
    assert done(worked, task=WHITEWASHED, as_of=str(day)).exit_code == 0
    assert [(row["task"], row["percent"]) for row in logged(worked)[1:]] == [
        (task_id, "100") for task_id in ids
    ]


SEVERAL = ("first-plot.weed-light", "first-plot.dormant", "holding.service-tools")


def several(site: Path, *words: object) -> Result:
    return CliRunner().invoke(app, ["log", str(site), *map(str, words), "--as-of", "2027-02-04"])


def test_several_names_at_once_are_all_written(worked: Path) -> None:
    result = several(worked, *SEVERAL, "--hours", "12,4", "--note", "all on one sheet")
    assert result.exit_code == 0, result.output
    rows = logged(worked)
    assert [row["task"] for row in rows] == [
        "first-plot.weed-light", "first-plot.cut-dormant-tall", "first-plot.lay-dormant",
        "holding.service-tools",
    ]  # fmt: skip
    assert {(row["percent"], row["note"]) for row in rows} == {("100", "all on one sheet")}
    assert sum(float(row["hours"]) for row in rows) == pytest.approx(12.4, abs=1e-9)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ("first-plot.nothing", "there is no task 'first-plot.nothing'"),
        (VISIT, "the plan has no work for it up to 2027-02-04"),
        ("holding.order-plants", "at 100 % on 3 Feb 2027, so it is done"),
        ("2027-02-30", "not a day that exists"),
        ("2027-05-14", "that day is still to come"),
    ],
)
def test_of_several_names_none_is_written_where_one_is_wrong(
    worked: Path, wrong: str, says: str
) -> None:
    add(worked, "worklog.csv", "2027-02-03,2027,holding.order-plants,100,,\n")
    before = (worked / "worklog.csv").read_bytes()
    for names in ((*SEVERAL, wrong), (wrong, *SEVERAL)):
        result = several(worked, *names)
        assert result.exit_code == 2, result.output
        assert says in result.stderr
        assert (worked / "worklog.csv").read_bytes() == before


def test_what_is_named_twice_is_written_once(worked: Path, plan: SeasonPlan) -> None:
    first, second, *_ = days_of(plan, VISIT)
    words = [str(second), str(first), VISIT, VISIT, "--hours", "20", "--as-of", str(second)]
    result = CliRunner().invoke(app, ["log", str(worked), *words])
    assert result.exit_code == 0, result.output
    rows = logged(worked)
    assert [row["date"] for row in rows] == sorted(row["date"] for row in rows)
    told = {(row["task"], row["date"]) for row in rows}
    assert len(told) == len(rows)
    of_first, of_second = (by_then(plan, VISIT, day) for day in (first, second))
    assert told >= {(task_id, str(first)) for task_id in of_first}
    assert told >= {(t, str(second)) for t in of_second if of_first.get(t) != of_second[t]}
    assert len(rows) == len(of_first) + sum(of_first.get(t) != w for t, w in of_second.items())
    assert sum(float(row["hours"]) for row in rows) == pytest.approx(20, abs=1e-9)
    assert result.stderr.count("note: before it comes") <= 1, "and told once"


def test_a_plot_whose_id_begins_with_a_figure_is_no_day(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site", plot_id="1st-plot")
    assert done(site, "--percent", 100, task="1st-plot.release").exit_code == 0
    assert {row["task"].partition(".")[0] for row in logged(site)} == {"1st-plot"}
