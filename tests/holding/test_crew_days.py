"""Single days in ``crew.toml``: away, extra, booked; and what may stand there."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from scheduler.files import Fault, FaultyFilesError
from scheduler.holding import read_holding
from scheduler.reasons import SeasonPlan
from tests.sites import AS_OF, add, edit, new_site, own_date, planned

LEAD = "lead_days = 28           # days of notice they need"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def faults_of(site: Path) -> tuple[Fault, ...]:
    with pytest.raises(FaultyFilesError) as refused:
        read_holding(site, AS_OF)
    return refused.value.faults


def hours_of(plan: SeasonPlan, name: str, day: date) -> float:
    (worker,) = [worker for worker in plan.placed.problem.workers if worker.name == name]
    return float(worker.hours[plan.placed.season.day_of(day)])


def test_an_extra_day_is_a_day_of_work_beside_those_of_the_week(site: Path) -> None:
    saturday, sunday = date(2027, 5, 15), date(2027, 5, 16)
    assert hours_of(planned(site), "Ilka", saturday) == 0
    edit(site, "crew.toml", "off = []", f"extra = [{{ first = {saturday}, last = {saturday} }}]")
    plan = planned(site)
    assert hours_of(plan, "Ilka", saturday) == 6
    assert hours_of(plan, "Ilka", sunday) == 0
    assert hours_of(plan, "Helper", saturday) == 0


def test_an_extra_day_may_have_hours_of_its_own_but_no_more_than_daylight(site: Path) -> None:
    """Sunset to sunrise nobody cuts: 29 CFR 1910.266(d)(5), as rules.toml has it."""
    monday, winter = date(2027, 5, 17), date(2026, 12, 21)
    told = (f"{{ first = {monday}, last = {monday}, hours = 9.5 }}, "
            f"{{ first = {winter}, last = {winter}, hours = 12 }}")  # fmt: skip
    edit(site, "crew.toml", "off = []", f"extra = [{told}]")
    plan = planned(site)
    assert hours_of(plan, "Ilka", monday) == 9.5
    day_length_h = float(plan.placed.outlook.sky.sun.hours_up[plan.placed.season.day_of(winter)])
    assert hours_of(plan, "Ilka", winter) == pytest.approx(day_length_h)
    assert day_length_h < 9


def test_work_that_had_no_room_is_done_on_an_extra_day(site: Path) -> None:
    """The grower's own day is a Sunday; nobody works then, until somebody says so."""
    sunday, weeding = date(2027, 5, 16), "first-plot.weed-lines"
    own_date(site, weeding, on=sunday)
    plan = planned(site)
    assert "first-plot.release" in plan.placed.roster.left_out
    assert weeding in plan.placed.left_out
    edit(site, "crew.toml", "off = []", f"extra = [{{ first = {sunday}, last = {sunday} }}]")
    plan = planned(site)
    assert plan.placed.season.date_of(plan.placed.stints[weeding].first) == sunday
    assert plan.placed.left_out == ()


def test_hire_can_come_on_an_extra_day_but_not_without_notice(site: Path) -> None:
    soon, saturday = date(2026, 12, 5), date(2027, 5, 15)
    days = ", ".join(f"{{ first = {day}, last = {day} }}" for day in (soon, saturday))
    edit(site, "crew.toml", LEAD, f"{LEAD}\nextra = [{days}]")
    plan = planned(site)
    (kit,) = [kit for kit in plan.placed.problem.kits if kit.id == "climber"]
    units = {
        day: kit.units[plan.placed.season.day_of(day)]
        for day in (soon, saturday, date(2027, 5, 8))
    }
    assert units == {soon: 1, saturday: 1, date(2027, 5, 8): 0}
    window = plan.placed.windows["first-plot.cut-dormant-tall"]
    assert "hire-notice" in {r.rule_id for r in window.closing(plan.placed.season.day_of(soon))}


def test_days_off_are_taken_out_as_before(site: Path) -> None:
    whole = planned(site)
    edit(site, "crew.toml", "off = []", "off = [{ first = 2027-05-10, last = 2027-05-14 }]")
    spared = planned(site)
    lost = np.array([w.hours for w in whole.placed.problem.workers]) - np.array(
        [w.hours for w in spared.placed.problem.workers]
    )
    assert np.flatnonzero(lost.sum(axis=0)).tolist() == [
        whole.placed.season.day_of(date(2027, 5, day)) for day in range(10, 15)
    ]


REVERSED = "{ first = 2027-05-16, last = 2027-05-12 }"
MISTYPED = "{ first = 2072-05-12, last = 2072-05-16 }"
GONE_BY = "{ first = 2025-05-12, last = 2025-05-16 }"


@pytest.mark.parametrize(
    ("old", "new", "table", "field", "allowed"),
    [
        ("off = []", f"extra = [{REVERSED}]", "[[person]] Ilka extra", "last", "2027-05-16 or"),
        ("off = []", f"off = [{REVERSED}]", "[[person]] Ilka off", "last", "2027-05-16 or later"),
        (LEAD, f"booked = [{REVERSED}]", "[[hire]] climber booked", "last", "2027-05-16 or later"),
        (LEAD, f"extra = [{REVERSED}]", "[[hire]] climber extra", "last", "2027-05-16 or later"),
        (
            "off = []",
            "off = [{ first = 2027-05-10, last = 2027-05-20 }]\n"
            "extra = [{ first = 2027-05-20, last = 2027-05-21 }]",
            "[[person]] Ilka extra", "first", "days that are not off",
        ),
        (
            "off = []",
            "extra = [{ first = 2027-05-20, last = 2027-05-20, hours = 4 },\n"
            "{ first = 2027-05-17, last = 2027-05-20, hours = 8 }]",
            "[[person]] Ilka extra", "first", "each day once",
        ),
        (
            "off = []", "extra = [{ first = 2027-05-20, last = 2027-05-20, hours = 13 }]",
            "[[person]] 1 (Ilka) [[extra]] 1", "hours", "at most 12",
        ),
        (
            LEAD, 'booked = [{ first = 2027-05-20, last = 2027-05-20, visit = "spring" }]',
            "[[hire]] 1 (climber) [[booked]] 1", "visit", "release",
        ),
        (
            LEAD, "booked = [{ last = 2027-05-20 }]",
            "[[hire]] 1 (climber) [[booked]] 1", "first", "this key is needed",
        ),
    ],
)  # fmt: skip
def test_days_that_cannot_be_meant_are_answered_with_file_table_and_field(
    site: Path, old: str, new: str, table: str, field: str, allowed: str
) -> None:
    edit(site, "crew.toml", old, new)
    found = [fault for fault in faults_of(site) if (fault.table, fault.field) == (table, field)]
    assert [fault.file for fault in found] == ["crew.toml"]
    assert allowed in found[0].allowed


def test_days_of_any_plan_of_the_site_are_allowed(site: Path) -> None:
    """What is booked for next winter stands beside what was booked for this one."""
    edit(
        site, "crew.toml", LEAD, f"{LEAD}\nbooked = [{{ first = 2028-01-10, last = 2028-01-10 }}]"
    )
    assert "day-in-no-plan" in {notice.code for notice in planned(site).notices}
    text = (site / "plan-2027.toml").read_text(encoding="utf-8")
    later = text.replace("2027-11-30", "2028-11-30").replace("first = 2026-", "first = 2027-", 1)
    assert later != text
    (site / "plan-2028.toml").write_text(later, encoding="utf-8")
    assert "day-in-no-plan" not in {notice.code for notice in planned(site).notices}


def test_holidays_that_have_gone_by_do_no_harm(site: Path) -> None:
    edit(site, "crew.toml", "off = []", "off = [{ first = 2020-05-10, last = 2020-05-14 }]")
    assert read_holding(site, AS_OF).crew.person[0].off[0].span.n_days == 5


def test_one_day_needs_no_last_day(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    add(site, "plan-2027.toml", '\n[[closed]]\nfirst = 2027-05-12\nwhy = "rain"\n')
    (closed,) = read_holding(site, AS_OF).plan.says.closed
    assert (closed.first, closed.last) == (date(2027, 5, 12), date(2027, 5, 12))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("off = []", f"extra = [{MISTYPED}]", "[[person]] Ilka extra: 2072-05-12, 2072-05-16"),
        (LEAD, f"booked = [{MISTYPED}]", "[[hire]] climber booked: 2072-05-12, 2072-05-16"),
        (LEAD, f"booked = [{GONE_BY}]", ""),
        ("off = []", f"off = [{MISTYPED}]", ""),
    ],
)
def test_days_of_no_plan_stop_nothing_and_those_to_come_are_asked_about(
    site: Path, old: str, new: str, told: str
) -> None:
    """They may lie in a plan that nobody has made yet."""
    edit(site, "crew.toml", old, new)
    says = [n.says for n in planned(site).notices if n.code == "day-in-no-plan"]
    assert len(says) == bool(told)
    assert all(told in each and "--next" in each for each in says)
