"""Each kind of rule, on a site whose own frost dates are 10 May and 15 October."""

from datetime import date
from pathlib import Path
from typing import get_args, get_type_hints

import numpy as np
import pytest

from scheduler.holding import read_holding
from scheduler.holding.dayrules import Rule
from scheduler.season import outlook_of
from scheduler.stand import tasks_of
from scheduler.terms import Basis, DaySpan, Ruling, spans_of
from scheduler.windows import Facts, TaskWindow, window_of
from scheduler.windows.task_windows import SAYS
from tests.sites import AS_OF, ROOT, add, asks_for, edit, new_site, own_date


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def window(site: Path, kind: str, as_of: date = AS_OF) -> TaskWindow:
    holding = read_holding(site, as_of)
    outlook = outlook_of(holding, as_of)
    facts = Facts(holding, outlook.season, outlook.sky, outlook.frost, as_of)
    task = next(t for t in tasks_of(holding) if t.type.id == kind)
    return window_of(task, facts)


def ruling(site: Path, kind: str, rule: str, as_of: date = AS_OF) -> Ruling:
    found = [r for r in window(site, kind, as_of).rulings if r.rule_id == rule]
    assert len(found) == 1
    return found[0]


def closed(site: Path, kind: str, rule: str) -> list[tuple[date, date]]:
    season = read_holding(site, AS_OF).plan.season
    spans: tuple[DaySpan, ...] = spans_of(season, ruling(site, kind, rule).closed)
    return [(span.first, span.last) for span in spans]


def test_every_kind_of_rule_has_its_function() -> None:
    hints = [get_type_hints(rule)["kind"] for rule in get_args(get_args(Rule)[0])]
    kinds = [kind for hint in hints for kind in get_args(hint)]
    assert len(kinds) > 20
    assert sorted(kinds) == sorted(SAYS)


def test_exposing_work_waits_for_the_last_frost_and_stops_at_the_first(site: Path) -> None:
    assert closed(site, "cut-medium", "frost-release") == [
        (date(2026, 12, 1), date(2027, 5, 10)),
        (date(2027, 10, 15), date(2027, 11, 30)),
    ]


def test_new_growth_gets_eight_weeks_before_the_first_frost(site: Path) -> None:
    """8 weeks: common practice, no source."""
    assert closed(site, "second-cut-support", "harden-before-frost") == [
        (date(2027, 8, 20), date(2027, 10, 14))
    ]


def _lemons(site: Path) -> None:
    (site / "stock.csv").write_text(
        "plot,plant,stratum,role,cut_system,count,stem_cm,height_m,crown_m\n"
        "first-plot,lemon,low,fruit,retained,6,5,2,2\n",
        encoding="utf-8",
    )


def test_tender_stock_is_covered_in_the_two_weeks_before_the_first_frost(site: Path) -> None:
    _lemons(site)
    covers = ruling(site, "cover-tender", "cover-before-first-frost")
    season = read_holding(site, AS_OF).plan.season
    spans = spans_of(season, ~covers.closed)
    assert [(s.first, s.last) for s in spans] == [(date(2027, 10, 1), date(2027, 10, 14))]
    # a window is open today: what is told is the one that opens next
    assert "likely from 15 Oct 2027 on" in covers.words


@pytest.mark.parametrize(
    ("as_of", "last"),
    [
        (date(2027, 9, 30), date(2027, 10, 14)),  # still ahead: nobody plans to be late
        (date(2027, 10, 1), date(2027, 11, 30)),  # the two weeks have begun
        (date(2027, 11, 5), date(2027, 11, 30)),  # they have gone by, frost threatens still
    ],
)
def test_covers_are_wanted_late_rather_than_never(site: Path, as_of: date, last: date) -> None:
    """Common practice, no source. The plan ends on 30 November, the window stays open."""
    _lemons(site)
    covers = ruling(site, "cover-tender", "cover-before-first-frost", as_of)
    (span,) = spans_of(read_holding(site, AS_OF).plan.season, ~covers.closed)
    assert (span.first, span.last) == (date(2027, 10, 1), last)


def test_where_frost_never_comes_no_rule_speaks_of_covers_that_come_off(site: Path) -> None:
    _lemons(site)
    edit(site, "site.toml", 'own_last = "05-10"', 'threshold_c = -40\nstations = ["station.csv"]')
    (site / "station.csv").write_bytes((ROOT / "sites/branasol/station.csv").read_bytes())
    edit(site, "site.toml", "stations = []", "# its own record below")
    rules = {ruling.rule_id for ruling in window(site, "uncover-tender").rulings}
    assert "frost-uncover" in rules
    assert "frost-uncover-soon" not in rules


def test_only_a_rule_that_says_so_lets_work_be_late(site: Path) -> None:
    _lemons(site)
    (site / "rules.toml").write_text(
        '[[rule]]\nid = "cover-before-first-frost"\nkind = "before-first-frost"\n'
        'tasks = ["cover-tender"]\nweeks = 2\nwords = "in time"\nbasis = "measured"\n'
        'source = "common practice, no source"\n',
        encoding="utf-8",
    )
    covers = ruling(site, "cover-tender", "cover-before-first-frost", date(2027, 11, 5))
    (span,) = spans_of(read_holding(site, AS_OF).plan.season, ~covers.closed)
    assert span.last == date(2027, 10, 14)


@pytest.mark.parametrize(
    ("first_day", "spans"),
    [
        # own last frost 10 May: four weeks from the 11th on, common practice, no source
        ("2026-12-01", [(date(2027, 5, 11), date(2027, 6, 7))]),
        # the plan begins when the covers have been off for months, or for some days
        ("2027-07-01", []),
        ("2027-06-01", [(date(2027, 6, 1), date(2027, 6, 7))]),
    ],
)
def test_covers_come_off_in_the_weeks_after_the_last_frost_only(
    site: Path, first_day: str, spans: list[tuple[date, date]]
) -> None:
    _lemons(site)
    edit(site, "plan-2027.toml", "first = 2026-12-01", f"first = {first_day}")
    opened = window(site, "uncover-tender").spans
    assert [(span.first, span.last) for span in opened] == spans


def test_a_window_of_months_may_run_over_the_winter_solstice(site: Path) -> None:
    """Months after 21 December by the Sun's longitude: 11.5 is 5 December, 2.8 mid-March."""
    before, after = closed(site, "cut-dormant-fruit", "season-pome-fruit")
    assert before[0] == date(2026, 12, 1)
    assert date(2026, 12, 4) <= before[1] <= date(2026, 12, 8)
    assert date(2027, 3, 12) <= after[0] <= date(2027, 3, 18)
    assert after[1] == date(2027, 11, 30)


def test_own_dates_rest_on_the_plan_and_not_on_a_measurement(site: Path) -> None:
    assert ruling(site, "cut-medium", "frost-release").basis is Basis.PLANNED


def test_days_gone_by_are_closed(site: Path) -> None:
    past = ruling(site, "weed-lines", "not-past", date(2027, 4, 5))
    assert np.flatnonzero(~past.closed)[0] == (date(2027, 4, 5) - date(2026, 12, 1)).days


def test_hired_people_and_kit_need_their_notice(site: Path) -> None:
    """The starter's climbers want 28 days."""
    assert closed(site, "cut-dormant-tall", "hire-notice") == [
        (date(2026, 12, 1), date(2026, 12, 22))
    ]


def test_the_growers_own_dates_close_the_other_days(site: Path) -> None:
    days = {"not_before": date(2027, 4, 10), "not_after": date(2027, 4, 20)}
    own_date(site, "first-plot.weed-lines", **days)
    assert closed(site, "weed-lines", "own-dates") == [
        (date(2026, 12, 1), date(2027, 4, 9)),
        (date(2027, 4, 21), date(2027, 11, 30)),
    ]
    assert ruling(site, "weed-lines", "own-dates").words == "visitors"


@pytest.mark.parametrize(
    ("narrowed", "is_closed"),
    [
        ("", True),
        ('types = ["release"]', True),
        ('types = ["weed-lines"]', True),
        ('types = ["dormant"]', False),
        ('plots = ["first-plot"]', True),
    ],
)
def test_closed_days_hold_for_the_kinds_and_plots_they_name(
    site: Path, narrowed: str, is_closed: bool
) -> None:
    days = "\n[[closed]]\nfirst = 2027-04-12\nlast = 2027-04-16\n"
    add(site, "plan-2027.toml", f'{days}{narrowed}\nwhy = "village feast"\n')
    day = (date(2027, 4, 14) - date(2026, 12, 1)).days
    reasons = {r.words for r in window(site, "weed-lines").closing(day)}
    assert ("closed by the grower: village feast" in reasons) is is_closed


def test_stone_fruit_waits_for_its_harvest(site: Path) -> None:
    """Plums are picked by month 7.9, mid-August in the north: common practice, no source. Where
    the plan picks them, the cut waits for that instead."""
    assert "stone-fruit-after-harvest" not in {
        ruling.rule_id for ruling in window(site, "cut-stone-fruit").rulings
    }
    asks_for(site, "dry-summer")
    spans = closed(site, "cut-stone-fruit", "stone-fruit-after-harvest")
    assert spans[0][0] == date(2026, 12, 22)
    assert date(2027, 8, 12) <= spans[0][1] <= date(2027, 8, 20)


def test_own_dates_say_so_and_claim_no_chance(site: Path) -> None:
    words = ruling(site, "cut-medium", "frost-release").words
    assert "your own date of the last frost in First plot is past" in words
    assert "%" not in words


def test_overhead_work_wants_daylight(tmp_path: Path) -> None:
    """At 64 north the Sun is up for under 8 hours from November to the end of January."""
    north = new_site(tmp_path / "north", lat_deg=64.0, lon_deg=26.0, zone="Europe/Helsinki")
    spans = closed(north, "cut-dormant-tall", "daylight-overhead")
    assert spans[0][0] == date(2026, 12, 1)
    assert date(2027, 1, 25) <= spans[0][1] <= date(2027, 2, 20)
    south = new_site(tmp_path / "south")
    assert closed(south, "cut-dormant-tall", "daylight-overhead") == []


def test_the_moon_speaks_only_where_the_site_asks_for_it_and_never_closes(site: Path) -> None:
    rules = {r.rule_id for r in window(site, "cut-medium").rulings}
    assert "waning-moon" not in rules
    edit(site, "site.toml", "practice = false", "practice = true")
    moon = ruling(site, "cut-medium", "waning-moon")
    assert moon.basis is Basis.PRACTICE
    assert not moon.closed.any()
    assert 150 < np.count_nonzero(moon.points) < 215
    assert "grower practice, not established science" in moon.words


def test_no_rule_file_can_call_the_moon_anything_but_a_practice(site: Path) -> None:
    edit(site, "site.toml", "practice = false", "practice = true")
    (site / "rules.toml").write_text(
        '[[rule]]\nid = "waning-moon"\nkind = "waning-moon"\npoints = 9\nwords = "x"\n'
        'basis = "published"\nsource = "x"\n',
        encoding="utf-8",
    )
    assert ruling(site, "cut-medium", "waning-moon").basis is Basis.PRACTICE


def test_a_rule_of_one_group_says_nothing_of_another(site: Path) -> None:
    rules = {r.rule_id for r in window(site, "cut-stone-fruit").rulings}
    assert "season-stone-fruit" in rules
    assert "season-pome-fruit" not in rules


def test_open_days_are_those_that_no_ruling_closes(site: Path) -> None:
    cut = window(site, "cut-medium")
    assert cut.open.any()
    assert not cut.open.all()
    for day in range(cut.season.n_days):
        assert cut.open[day] == (not cut.closing(day))
