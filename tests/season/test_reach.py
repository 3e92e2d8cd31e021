"""Warnings of frost that can reach planned work, and of nights that want covers."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from scheduler.frost import reach_of, reach_words
from scheduler.reasons import SeasonPlan
from scheduler.terms import Level
from scheduler.words.phrases import frost_warning
from tests.sites import ROOT, add, asks_for, edit, new_site, own_date, planned


@pytest.fixture
def site(tmp_path: Path) -> Path:
    folder = new_site(tmp_path / "site")
    (folder / "station.csv").write_bytes((ROOT / "sites/branasol/station.csv").read_bytes())
    edit(folder, "site.toml", "stations = []", 'stations = ["station.csv"]')
    return folder


def _set(site: Path, task: str, day: date) -> None:
    own_date(site, f"first-plot.{task}", on=day)


def _says(plan: SeasonPlan, code: str) -> list[str]:
    return [notice.says for notice in plan.notices if notice.code == code]


def test_the_warning_says_by_how_many_days_what_chance_and_which_plants(site: Path) -> None:
    _set(site, "cut-medium", date(2027, 4, 1))
    plan = planned(site)
    risk = plan.placed.outlook.frost["first-plot"]
    (told,) = [n for n in plan.notices if n.code == "frost-window-open"]
    assert told.about == "first-plot.release", "once for the visit"
    assert "first-plot.cut-medium" in told.also
    closes = risk.closes_after(date(2027, 4, 1))
    assert closes is not None
    words = told.says
    assert words.startswith("The release visit of First plot lays open on 1 Apr 2027")
    early = (closes - date(2027, 3, 31)).days
    chance = round(100 * risk.chance_after(date(2027, 4, 1)))
    assert f"{early} days before the frost window there is over" in words
    assert f"the chance of another frost from that day on is {chance} %" in words
    assert "Frost can hurt new growth of" in words


@pytest.mark.parametrize(
    ("task", "plants"),
    [
        ("lay-coarse", "Frost can hurt "),  # thick mulch on the line
        ("plant-alleys", "young alley plants"),
        ("cut-medium", "new growth of"),
    ],
)
def test_mulch_planting_and_cuts_in_an_open_window_are_each_within_reach(
    site: Path, task: str, plants: str
) -> None:
    plan = planned(site)
    known, kind = plan.placed.outlook.plots["first-plot"], plan.placed.tasks[f"first-plot.{task}"]
    day = plan.placed.season.day_of(date(2027, 4, 1))
    reach = reach_of(kind, (day,), plan.placed.season, known, plan.placed.holding)
    assert reach is not None
    assert reach.weeks is None
    assert plants in reach_words(reach, "It", plan.placed.holding)
    summer = plan.placed.season.day_of(date(2027, 7, 1))
    assert reach_of(kind, (summer,), plan.placed.season, known, plan.placed.holding) is None


def test_new_growth_that_would_meet_the_autumns_frost_is_warned_of(site: Path) -> None:
    """The window is closed on the day, but not for the 8 weeks of common practice after it."""
    day, task = date(2027, 10, 1), "first-plot.second-cut-support"
    asks_for(site, "cut-medium", "second-cut-support")
    own_date(site, task, on=day)
    plan = planned(site)
    risk = plan.placed.outlook.frost["first-plot"]
    assert not risk.is_open(day)
    (told,) = [n for n in plan.notices if n.code == "frost-in-new-growth"]
    assert told.about == "first-plot.dry-summer"
    assert "stays tender for 8 weeks" in told.says
    assert "new growth of" in told.says
    reach = plan.placed.frost_reach(task)
    assert reach is not None
    within = risk.chance_within(56)[plan.placed.season.day_of(day)]
    assert reach.chance == pytest.approx(float(within))


def test_work_that_waits_for_the_window_is_not_warned_of(site: Path) -> None:
    plan = planned(site)
    assert not _says(plan, "frost-window-open")
    assert not _says(plan, "frost-in-new-growth")


def _with_lemons(site: Path, plant: str = "lemon") -> None:
    add(site, "stock.csv", f"first-plot,A,{plant},low,fruit,retained,4,5,2,2,,\n")


def _forecast(site: Path, issued: date, *minima_c: float) -> None:
    rows = "".join(
        f"{issued},{issued + timedelta(days=n)},{low_c}\n"
        for n, low_c in enumerate(minima_c, start=1)
    )
    (site / "forecast.csv").write_text("issued,date,tmin_c\n" + rows, encoding="utf-8")
    if '\nforecast = "' not in (site / "site.toml").read_text("utf-8"):
        edit(site, "site.toml", "period_seasons", 'forecast = "forecast.csv"\nperiod_seasons')


def test_tender_stock_is_covered_on_the_evening_before_a_hard_night(site: Path) -> None:
    """Lemon hardened and at rest: -3.5 C, see plants.toml."""
    _with_lemons(site)
    as_of = date(2027, 1, 10)
    _forecast(site, as_of, 4.0, -6.0, 4.0)
    plan = planned(site, as_of)
    (errand,) = [e for e in plan.errands if e.kind == "protect"]
    assert errand.id == "first-plot.protect-tender"
    assert errand.on == date(2027, 1, 11)  # the night to the 12th
    assert "lemon" in errand.title
    (notice,) = [n for n in plan.notices if n.code == "frost-night"]
    assert notice.level is Level.WARNING  # tomorrow


@pytest.mark.parametrize(
    ("plant", "height_m", "covered"),
    [
        ("avocado", "1.4", True),
        ("lemon", "1.4", True),
        ("orange", "3.5", True),
        ("avocado", "3.6", False),  # out of reach
        ("feijoa", "1.4", False),  # hardy enough
    ],
)
def test_low_fruit_trees_that_frost_kills_are_covered(
    site: Path, plant: str, height_m: str, covered: bool
) -> None:
    """Fleece over young citrus and avocado: common practice, no source."""
    (site / "stock.csv").write_text(
        "plot,plant,stratum,role,cut_system,count,stem_cm,height_m,crown_m\n"
        f"first-plot,{plant},medium,fruit,retained,4,3,{height_m},1\n",
        encoding="utf-8",
    )
    as_of = date(2027, 1, 10)
    _forecast(site, as_of, -9.0)
    plan = planned(site, as_of)
    assert ("first-plot.cover-tender" in plan.placed.tasks) is covered
    assert ("first-plot.uncover-tender" in plan.placed.tasks) is covered
    assert any(errand.kind == "protect" for errand in plan.errands) is covered


def test_late_covers_come_before_what_can_wait_and_say_that_they_are_late(site: Path) -> None:
    """Short work would else go first, because the waiting of all visits is what is summed."""
    _with_lemons(site)
    asks_for(site, "year", "dormant")
    opens = planned(site).placed.outlook.frost["first-plot"].opens_on(date(2027, 8, 1))
    assert opens is not None
    covers = "first-plot.cover-tender"
    plan = planned(site, opens + timedelta(days=10))
    stint = plan.placed.stints[covers]
    assert stint.first == min(other.first for other in plan.placed.stints.values())
    hurry = {visit.id: visit.hurry for visit in plan.placed.problem.visits}
    assert len(hurry) > 1
    assert hurry.pop(covers) > max(hurry.values())
    (words,) = _says(plan, "cover-late")
    assert "is late: frost may come any night" in words
    assert "WARNING: Cover tender" in frost_warning(covers, stint.days, plan)
    in_time = planned(site, opens - timedelta(days=20))
    assert in_time.placed.stints[covers].last < in_time.placed.season.day_of(opens)
    assert not _says(in_time, "cover-late")
    assert {visit.hurry for visit in in_time.placed.problem.visits} == {1}


def test_a_hard_night_further_ahead_is_a_note(site: Path) -> None:
    _with_lemons(site)
    as_of = date(2027, 1, 10)
    _forecast(site, as_of, 4.0, 4.0, -7.0)
    (notice,) = [n for n in planned(site, as_of).notices if n.code == "frost-night"]
    assert notice.level is Level.NOTE


def test_covers_that_are_on_are_not_asked_for_again_until_a_later_night(site: Path) -> None:
    _with_lemons(site)
    as_of = date(2027, 1, 10)
    _forecast(site, as_of, -6.0, 4.0, 4.0, -7.0)
    add(site, "worklog.csv", "2027-01-10,2027,first-plot.protect-tender,100,0.5,\n")
    (errand,) = [e for e in planned(site, as_of).errands if e.kind == "protect"]
    assert errand.on == date(2027, 1, 13)


def _done(site: Path, day: str, *tasks: str) -> None:
    rows = "".join(f"{day},2027,first-plot.{task},100,2,\n" for task in tasks)
    add(site, "worklog.csv", rows)


def test_what_was_planted_or_cut_lately_is_covered_too(site: Path) -> None:
    as_of = date(2027, 5, 10)
    _forecast(site, as_of, -4.0)
    before = planned(site, as_of).errands
    assert not [e for e in before if e.kind == "protect"]
    _done(site, "2027-05-01", "plant-alleys", "trim-shrubs")
    (errand,) = [e for e in planned(site, as_of).errands if e.kind == "protect"]
    assert "young alley plants" in errand.title


def test_hardy_stock_cut_lately_is_covered_while_its_growth_is_soft(site: Path) -> None:
    """Strawberry tree stands -12 C at rest, its new growth -2: plants.toml."""
    _with_lemons(site, "strawberry-tree")
    as_of = date(2027, 1, 10)
    _forecast(site, as_of, -5.0)
    assert not [e for e in planned(site, as_of).errands if e.kind == "protect"]
    _done(site, "2026-12-20", "cut-evergreen-fruit:strawberry-tree")
    (errand,) = [e for e in planned(site, as_of).errands if e.kind == "protect"]
    assert "strawberry" in errand.title


def test_after_its_tender_weeks_new_planting_is_no_longer_watched(site: Path) -> None:
    as_of = date(2027, 5, 10)
    _forecast(site, as_of, -4.0)
    _done(site, "2027-03-01", "plant-alleys")
    assert not [e for e in planned(site, as_of).errands if e.kind == "protect"]


def test_hardy_stock_is_not_covered(site: Path) -> None:
    as_of = date(2027, 1, 10)
    _forecast(site, as_of, -6.0)
    assert not [e for e in planned(site, as_of).errands if e.kind == "protect"]


def test_an_own_date_that_breaks_a_rule_is_warned_of_and_says_which(site: Path) -> None:
    _set(site, "cut-dormant-fruit:apple", date(2027, 5, 20))
    (words,) = _says(planned(site), "own-date-against-rule")
    assert "is set for your own date, 20 May 2027, against: " in words
    assert "dormant" in words


def test_frost_that_an_own_date_meets_is_said_once(site: Path) -> None:
    _set(site, "cut-medium", date(2027, 4, 1))
    plan = planned(site)
    assert _says(plan, "frost-window-open")
    assert not [w for w in _says(plan, "own-date-against-rule") if "waits until" in w]


def test_covers_taken_off_in_an_open_window_are_warned_of(site: Path) -> None:
    _with_lemons(site)
    _set(site, "uncover-tender", date(2027, 3, 1))
    (words,) = _says(planned(site), "own-date-against-rule")
    assert "covers stay on until" in words


def test_an_own_date_within_all_rules_is_not_warned_of(site: Path) -> None:
    _set(site, "cut-medium", date(2027, 6, 2))
    assert not _says(planned(site), "own-date-against-rule")
