"""Plans that go on year after year, and what stands in each of their years."""

from datetime import date
from pathlib import Path

import pytest

from scheduler.files import FaultyFilesError
from scheduler.holding import read_holding
from scheduler.terms import DaySpan
from tests.sites import AS_OF, add, edit, new_site, planned

LAST = "last = 2027-11-30"


@pytest.fixture
def on_and_on(tmp_path: Path) -> Path:
    """A site whose plan begins on 1 December 2026 and has no end."""
    site = new_site(tmp_path / "site")
    edit(site, "plan-2027.toml", LAST, "#")
    return site


@pytest.mark.parametrize(
    ("as_of", "plan_id", "first"),
    [
        (AS_OF, "2027", date(2026, 12, 1)),
        (date(2027, 11, 30), "2027", date(2026, 12, 1)),
        (date(2027, 12, 1), "2028", date(2027, 12, 1)),
        (date(2031, 5, 1), "2031", date(2030, 12, 1)),
    ],
)
def test_each_year_has_a_plan_of_its_own(
    on_and_on: Path, as_of: date, plan_id: str, first: date
) -> None:
    holding = read_holding(on_and_on, as_of)
    assert (holding.plan.id, holding.plan.season.first) == (plan_id, first)
    assert holding.plan.file == "plan-2027.toml"
    following = holding.following
    assert following is not None
    assert (following.season.first - holding.plan.season.last).days == 1
    assert read_holding(on_and_on, as_of, following.id).plan.season == following.season


def test_it_ends_where_another_begins(on_and_on: Path) -> None:
    text = (on_and_on / "plan-2027.toml").read_text(encoding="utf-8")
    other = text.replace("first = 2026-12-01", "first = 2028-10-01")
    (on_and_on / "plan-hill.toml").write_text(other, encoding="utf-8")
    plans = read_holding(on_and_on, date(2028, 11, 1)).plans
    assert [(plan.id, plan.season.last) for plan in plans] == [
        ("2027", date(2027, 11, 30)),
        ("2028", date(2028, 9, 30)),
        ("hill", date(2029, 9, 30)),
        ("hill-2", date(2030, 9, 30)),
    ]


def test_it_ends_with_the_tables_of_the_sky(on_and_on: Path) -> None:
    last = read_holding(on_and_on, date(2053, 8, 1))
    assert (last.plan.season.last, last.following) == (date(2053, 8, 31), None)


def test_an_own_date_holds_in_its_year_and_in_each_where_it_says_so(on_and_on: Path) -> None:
    add(
        on_and_on,
        "plan-2027.toml",
        """
[[own_date]]
task = "first-plot.weed-lines"
not_before = 2027-05-20
why = "helpers"
[[own_date]]
task = "first-plot.weed-lines"
not_before = 2028-06-01
why = "helpers again"
[[own_date]]
task = "first-plot.walk-plots"
on = 2027-03-01
every_year = true
why = "the day of the feast"
[[closed]]
first = 2027-06-24
last = 2027-06-26
every_year = true
why = "the feast"
""",
    )
    told = {}
    for plan in read_holding(on_and_on, AS_OF).plans:
        own = [(date_.on or date_.not_before, date_.why) for date_ in plan.says.own_date]
        told[plan.id] = (own, [days.span for days in plan.says.closed])
    assert told == {
        "2027": (
            [(date(2027, 5, 20), "helpers"), (date(2027, 3, 1), "the day of the feast")],
            [DaySpan(date(2027, 6, 24), date(2027, 6, 26))],
        ),
        "2028": (
            [(date(2028, 6, 1), "helpers again"), (date(2028, 3, 1), "the day of the feast")],
            [DaySpan(date(2028, 6, 24), date(2028, 6, 26))],
        ),
    }


def own_day(site: Path, day: str) -> None:
    entry = f'[[own_date]]\ntask = "first-plot.weed-lines"\non = {day}\nwhy = "a slip"\n'
    add(site, "plan-2027.toml", f"\n{entry}")


def test_an_own_date_before_the_plan_is_a_fault(on_and_on: Path) -> None:
    own_day(on_and_on, "2026-05-20")
    with pytest.raises(FaultyFilesError, match=r"weed-lines, field on: found 2026-05-20"):
        read_holding(on_and_on, AS_OF)


def test_one_that_no_year_holds_yet_is_asked_about(on_and_on: Path) -> None:
    own_day(on_and_on, "2072-05-20")
    notices = [n for n in planned(on_and_on).notices if n.code == "day-in-no-plan"]
    assert [(n.about, "2072-05-20" in n.says) for n in notices] == [("plan-2027.toml", True)]


def test_plants_are_as_old_as_they_are_in_each_plan(on_and_on: Path) -> None:
    row = "first-plot,alder,,,4\n"
    (on_and_on / "stock.csv").write_text(f"plot,plant,line,note,count\n{row}", encoding="utf-8")
    now = read_holding(on_and_on, AS_OF)
    assert now.following is not None
    then = now.in_plan(now.following)
    assert then.stock == read_holding(on_and_on, AS_OF, "2028").stock
    assert then.stock[0].height_m > now.stock[0].height_m


def test_the_plan_after_is_checked_too(on_and_on: Path) -> None:
    text = (on_and_on / "plan-2027.toml").read_text(encoding="utf-8")
    other = text.replace("2026-12-01", "2027-12-01").replace('"release"', '"relase"')
    (on_and_on / "plan-2028.toml").write_text(other, encoding="utf-8")
    with pytest.raises(FaultyFilesError, match=r"plan-2028.toml.*relase"):
        read_holding(on_and_on, AS_OF)


def test_two_plans_of_one_id_are_refused(on_and_on: Path) -> None:
    text = (on_and_on / "plan-2027.toml").read_text(encoding="utf-8")
    other = text.replace("first = 2026-12-01", "first = 2028-06-01")
    (on_and_on / "plan-2028.toml").write_text(other, encoding="utf-8")
    for as_of in (AS_OF, date(2028, 7, 1)):
        with pytest.raises(
            FaultyFilesError, match=r"plan-2028.toml: found '2028', which a year of"
        ):
            read_holding(on_and_on, as_of)


@pytest.mark.parametrize("told", ["2027-05-21", "2029-05-21", "2026-05-21"])
def test_a_day_that_recurs_holds_whatever_year_it_is_told_of(on_and_on: Path, told: str) -> None:
    entry = f'task = "first-plot.weed-lines"\non = {told}\nevery_year = true\nwhy = "x"\n'
    add(on_and_on, "plan-2027.toml", f"\n[[own_date]]\n{entry}")
    for year in (2027, 2029, 2031):
        (own,) = read_holding(on_and_on, date(year, 3, 1)).plan.says.own_date
        assert own.on == date(year, 5, 21)


def test_closed_days_over_the_turn_of_the_year_recur_on_both_sides(on_and_on: Path) -> None:
    days = "first = 2026-11-25\nlast = 2026-12-05\nevery_year = true\nwhy = 'market'\n"
    add(on_and_on, "plan-2027.toml", f"\n[[closed]]\n{days}")
    spans = [days.span for days in read_holding(on_and_on, AS_OF).plan.says.closed]
    assert spans == [
        DaySpan(date(2026, 11, 25), date(2026, 12, 5)),
        DaySpan(date(2027, 11, 25), date(2027, 12, 5)),
    ]


def test_an_own_span_over_the_turn_of_the_year_is_clipped_to_each_season(on_and_on: Path) -> None:
    days = "not_before = 2027-11-20\nnot_after = 2027-12-10\nevery_year = true\nwhy = 'x'\n"
    add(on_and_on, "plan-2027.toml", f'\n[[own_date]]\ntask = "first-plot.weed-lines"\n{days}')
    told = [
        (own.not_before, own.not_after)
        for own in read_holding(on_and_on, date(2028, 3, 1)).plan.says.own_date
    ]
    assert told == [(date(2028, 11, 20), None)]
