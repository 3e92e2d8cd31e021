"""Which tasks make up a visit, and the grower's own days for the whole of it or for a step."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from scheduler.holding import LogEntry, read_holding
from scheduler.reasons import SeasonPlan
from scheduler.roster.check import faults_in
from scheduler.season.roster_problem import grouped
from scheduler.stand import tasks_of
from scheduler.windows import Link, links_between
from tests.reasons.test_conflicts import wait_for
from tests.sites import AS_OF, add, append_to_log, edit, new_site, own_date, planned

RELEASE, SUMMER = "first-plot.release", "first-plot.dry-summer"
STEPS = tuple(
    f"first-plot.{kind}"
    for kind in (
        "weed-lines", "cut-medium", "trim-shrubs", "lay-coarse", "lay-fine", "plant-alleys",
    )
)  # fmt: skip


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def days_of(plan: SeasonPlan, *task_ids: str) -> list[date]:
    """The days of some tasks, ascending."""
    days = {day for task_id in task_ids for day in plan.placed.stints[task_id].days}
    return [plan.placed.season.date_of(day) for day in sorted(days)]


def told(plan: SeasonPlan, about: str) -> dict[str, str]:
    """What is said of a visit, by code."""
    return {notice.code: notice.says for notice in plan.notices if notice.speaks_of(about)}


# ---- what makes up a visit


def test_a_visit_is_the_steps_of_a_plot_in_order_and_other_work_stands_alone(site: Path) -> None:
    holding = read_holding(site, AS_OF)
    tasks = tasks_of(holding)
    groups = grouped(tasks, links_between(tasks, holding.rules))
    assert groups[RELEASE] == STEPS
    assert sorted(task_id for ids in groups.values() for task_id in ids) == sorted(
        task.id for task in tasks
    )
    for apart in ("cut-dormant-fruit:apple", "walk-plots"):
        assert groups[f"first-plot.{apart}"] == (f"first-plot.{apart}",)
    assert groups["holding.order-plants"] == ("holding.order-plants",)


def test_visits_that_wait_for_one_another_are_worked_as_one(site: Path) -> None:
    """A task of the grower's own stands between two steps of the release."""
    add(site, "rules.toml", '[[task]]\nid = "measure"\ntitle = "Measure"\nvisit = "year"\n'
        'order = 400\nrate = "short"\nteam = { hands = 1 }\nafter = [{ task = "cut-medium" }]\n'
        'how = "With a tape."\nsource = "the grower"\n')  # fmt: skip
    wait_for(site, "lay-coarse", "measure")
    plan = planned(site)
    cut, own, lay = (f"first-plot.{kind}" for kind in ("cut-medium", "measure", "lay-coarse"))
    ids = plan.placed.groups[RELEASE]
    assert set(ids) == {*STEPS, own}
    assert ids.index(cut) < ids.index(own) < ids.index(lay)
    assert plan.placed.visit_of[own] == RELEASE
    assert own not in plan.placed.visits
    stints = plan.placed.stints
    assert stints[cut].last <= stints[own].first <= stints[own].last <= stints[lay].first
    assert faults_in(plan.placed.problem, plan.placed.roster) == ()


def test_longer_rings_of_visits_are_joined_too(site: Path) -> None:
    tasks = tasks_of(read_holding(site, AS_OF))
    names = ("walk-plots", "weed-light", "collect-leaves")
    some = [replace(task) for task in tasks if task.type.id in names]
    one, two, three = (task.id for task in some)
    ring = [Link(a, b, 0, None) for a, b in ((one, two), (two, three), (three, one))]
    (ids,) = grouped(some, ring).values()
    assert sorted(ids) == sorted((one, two, three))
    apart = grouped(some, ring[:2])
    assert sorted(apart) == sorted((one, two, three))


# ---- the grower's own days


def test_a_day_for_a_visit_is_the_day_on_which_it_begins(site: Path) -> None:
    day = date(2027, 5, 27)
    assert days_of(planned(site), *STEPS)[0] < day
    own_date(site, RELEASE, on=day)
    plan = planned(site)
    assert days_of(plan, *STEPS)[0] == day
    assert days_of(plan, STEPS[0])[0] == day
    assert "own-date-against-rule" not in told(plan, RELEASE)


def test_a_day_for_a_visit_against_a_rule_is_warned_of(site: Path) -> None:
    edit(site, "plan-2027.toml", "without = []", 'without = ["second-cut-support"]')
    own_date(site, SUMMER, on=date(2027, 2, 3))
    plan = planned(site)
    task = "first-plot.top-up-mulch"
    assert days_of(plan, task) == [date(2027, 2, 3)]
    says = told(plan, task)["own-date-against-rule"]
    assert "is set for your own date, 3 Feb 2027, against: belongs to the dry-summer visit" in says


def test_a_day_for_a_visit_that_its_later_steps_cannot_keep_leaves_it_out_and_says_so(
    site: Path,
) -> None:
    """The lines are not weeded in April to be cut in May, when frost is over."""
    own_date(site, RELEASE, on=date(2027, 4, 22))
    plan = planned(site)
    assert set(STEPS) <= set(plan.placed.left_out)
    (says,) = (n.says for n in plan.notices if n.about == RELEASE and "own date" in n.says)
    assert "your own date for it is 22 Apr 2027" in says
    assert "is past (from 11 May 2027 on)" in says
    assert "give up your own date (it could begin on 12 May 2027)" in says


def test_after_a_step_on_a_day_of_the_growers_own_the_rest_may_wait_for_frost(site: Path) -> None:
    """To leave it out for the longer wait would be worse: common practice, no source."""
    day, cut, lay = date(2027, 4, 22), STEPS[1], STEPS[3]
    own_date(site, cut, on=day)
    plan = planned(site)
    assert days_of(plan, cut)[0] == day
    assert days_of(plan, lay)[0] >= date(2027, 5, 11)
    assert "frost-window-open" in told(plan, RELEASE)


@pytest.mark.parametrize("name", [RELEASE, *STEPS[:1], *STEPS[-1:]])
def test_earliest_and_latest_days_hold_for_a_whole_visit_or_for_one_step(
    site: Path, name: str
) -> None:
    first, last = date(2027, 5, 24), date(2027, 6, 4)
    mine = STEPS if name == RELEASE else (name,)
    before = days_of(planned(site), *mine)
    assert not all(first <= day <= last for day in before)
    own_date(site, name, not_before=first, not_after=last)
    after = days_of(planned(site), *mine)
    assert first <= after[0] <= after[-1] <= last


def test_a_day_for_a_visit_that_is_begun_holds_no_more(site: Path) -> None:
    day = date(2027, 5, 27)
    own_date(site, RELEASE, on=day)
    late = day + timedelta(days=1)
    gone = planned(site, late)
    assert "your own day for it, 27 May 2027, has gone by" in told(gone, RELEASE)["own-date-past"]
    append_to_log(site, [LogEntry(date=day, plan="2027", task=STEPS[0])])
    plan = planned(site, late)
    assert "own-date-past" not in told(plan, RELEASE)
    assert days_of(plan, *STEPS[1:])[0] >= late


def test_a_day_for_other_work_that_has_gone_by_plans_nothing_in_the_past(site: Path) -> None:
    day, walk = date(2027, 9, 3), "first-plot.walk-plots"
    own_date(site, walk, on=day)
    gone = planned(site, day + timedelta(days=1))
    assert walk in gone.placed.left_out
    assert "your own day for it, 3 Sep 2027, has gone by" in told(gone, walk)["own-date-past"]
    append_to_log(site, [LogEntry(date=day, plan="2027", task=walk, percent=50)])
    rest = planned(site, day + timedelta(days=1))
    assert days_of(rest, walk)[0] > day, "what was begun then goes on"


def test_a_day_set_for_work_that_the_plan_has_not_is_warned_of(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    own_date(site, "first-plot.cut-stone-fruit:plums", on="2027-07-10")
    (notice,) = (n for n in planned(site).notices if n.code == "own-date-unknown")
    assert notice.says.endswith("Did you mean first-plot.cut-stone-fruit:plum?")
