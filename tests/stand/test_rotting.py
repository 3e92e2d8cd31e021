"""How fast mulch rots by the warmth of the place, and what is left of what lay there."""

import math
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.files import FaultyFilesError
from scheduler.holding import Holding, Line, RuleBook, read_holding
from scheduler.holding.site_files import package_rules
from scheduler.stand import Rotting, Task, due_of, feed_day, left_of_old_cm, mulch_of, tasks_of
from scheduler.terms import Season
from scheduler.weather import Record
from tests.sites import AS_OF, edit, new_site

BOOK = RuleBook.of(package_rules())
EVEN = Rotting(None, BOOK)
ON = date(2027, 5, 20)
MEASURED = date(2026, 11, 20)


def of(mean_c: float, above_c: float | None = None) -> Rotting:
    """A record of three years with the same day throughout."""
    season = Season(date(2020, 1, 1), 1100)
    tmin_c = np.full(1100, mean_c - 5.0)
    tmax_c = None if above_c is None else np.full(1100, mean_c - 5.0 + 2 * above_c)
    return Rotting(Record("invented", season, tmin_c, tmax_c=tmax_c), BOOK)


@pytest.mark.parametrize(("mean_c", "days"), [(14, 94.0), (18, 65.0), (26, 31.0)])
def test_leucaena_leaf_rots_by_q10(mean_c: float, days: float) -> None:
    """31 days at 26 C (Budelman 1988); with the Q10 of 2.53 (Mackensen 2003) 94 at 14 and 65 at
    18, inside or near the 86 to 138 days of the cool Ethiopian highland (Lupwayi 1999)."""
    pace = EVEN.pace(np.array([float(mean_c), 26.0]))
    assert 31 * pace[1] / pace[0] == pytest.approx(days, rel=0.01)
    assert EVEN.pace(np.array([14.0]))[0] == 1.0
    # 26 C against 14 C: the factor 0.328
    assert 1 / EVEN.pace(np.array([26.0]))[0] == pytest.approx(0.328, abs=5e-4)


def test_a_warm_place_rots_faster_and_maxima_are_used_where_there_are_any() -> None:
    year = 365
    for rotting, by_hand in (
        (EVEN, 1.0),
        (of(14.0), 1.0),
        (of(24.0), 2.53),
        (of(14.0, above_c=10.0), 2.53**0.5),
    ):
        months = rotting.months(date(2031, 1, 1), year)
        assert months.shape == (year + 1,)
        assert months[0] == 0
        assert months[-1] == pytest.approx(by_hand * year / 30.4375, rel=1e-6)


def test_a_record_of_less_than_a_year_says_nothing_of_the_year() -> None:
    short = Rotting(Record("short", Season(ON, 100), np.full(100, 30.0)), BOOK)
    assert short.months(date(2031, 1, 1), 10)[-1] == pytest.approx(10 / 30.4375)


@given(st.floats(-20, 35), st.integers(0, 3000))
def test_time_only_rots_more(mean_c: float, n_days: int) -> None:
    months = of(mean_c).months(date(2030, 1, 1), n_days)
    assert (np.diff(months) > 0).all()


def line(cm: float | None = 8.0) -> Line:
    on = None if cm is None else MEASURED
    return Line(id="A", length_m=30.0, mulch_cm=cm, mulch_on=on)


def test_what_lay_there_rots_as_chips_do() -> None:
    """Chips half gone in 18 months: common practice, no source."""
    later = MEASURED + timedelta(days=548)
    left_cm = left_of_old_cm(line(), EVEN, later)
    assert left_cm == pytest.approx(8 * 0.5 ** (548 / 30.4375 / 18))
    assert left_of_old_cm(line(None), EVEN, later) is None
    assert left_of_old_cm(line(), EVEN, MEASURED) == 8.0


def test_a_measured_line_says_when_it_wants_feeding() -> None:
    """Thinner than 3 cm: common practice, no source."""
    day = feed_day(line(), EVEN, MEASURED)
    assert day is not None
    assert (day - MEASURED).days == math.ceil(18 * 30.4375 * math.log2(8 / 3))
    assert feed_day(line(2.0), EVEN, MEASURED) == MEASURED
    assert feed_day(line(None), EVEN, MEASURED) is None
    assert feed_day(line(), of(24.0), MEASURED) < day  # type: ignore[operator]  # both are days


def cuts_in(holding: Holding, visit: str) -> list[Task]:
    """What cuts in a visit of a holding of one plot."""
    return [task for task in tasks_of(holding) if task.type.cuts and task.type.visit == visit]


def test_old_mulch_makes_a_line_less_short_and_last_longer(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    before = read_holding(site, AS_OF)
    edit(site, "plots.toml", 'id = "A", ', 'id = "A", mulch_cm = 6, mulch_on = 2026-11-20, ')
    after = read_holding(site, AS_OF)
    bare, fed = (
        mulch_of(h.plots[0], cuts_in(h, "release"), h.stock, EVEN, ON)[0] for h in (before, after)
    )
    assert bare.old_cm == 0
    assert 4 < fed.old_cm < 6
    assert fed.short_kg < bare.short_kg
    assert fed.feed_on > bare.feed_on  # type: ignore[operator]  # both are days
    assert fed.layers == bare.layers
    for mulch in (bare, fed):
        days = (mulch.feed_early, mulch.feed_on, mulch.feed_late)
        assert all(days)
        assert sorted(days) == list(days)  # type: ignore[type-var]  # all are days


def test_what_an_earlier_visit_laid_counts_for_the_next(tmp_path: Path) -> None:
    holding = read_holding(new_site(tmp_path / "site"), AS_OF)
    plot, summer = holding.plots[0], ON + timedelta(days=60)
    spring = mulch_of(plot, cuts_in(holding, "release"), holding.stock, EVEN, ON)
    cuts = cuts_in(holding, "dry-summer")
    alone, after = (
        mulch_of(plot, cuts, holding.stock, EVEN, summer, before)[0] for before in ((), spring)
    )
    by_hand = sum(x.depth_cm * 0.5 ** (60 / 30.4375 / x.layer.half_life_months)
                  for x in spring[0].cover)  # fmt: skip
    assert alone.old_cm == 0
    assert after.old_cm == pytest.approx(by_hand)
    assert after.layers == alone.layers
    assert after.short_kg < alone.short_kg


def test_a_thin_line_is_a_reason_for_its_plot(tmp_path: Path) -> None:
    """Thinner than 3 cm: common practice, no source."""
    site = new_site(tmp_path / "site")
    for cm, thin in ((3.2, False), (2.0, True)):
        edit(site, "plots.toml", 'id = "A", ', f'id = "A", mulch_cm = {cm}, mulch_on = {AS_OF}, ')
        holding = read_holding(site, AS_OF)
        (due,) = due_of(holding, tasks_of(holding), AS_OF, {})
        assert ("A" in due.thin) is thin
        assert ("mulch is thin on A (2.0 cm left)" in due.reasons) is thin
        edit(site, "plots.toml", f"mulch_cm = {cm}, mulch_on = {AS_OF}, ", "")


def test_the_usual_half_life_lies_within_what_is_reported() -> None:
    for layer in BOOK.layers.values():
        assert layer.quick_months < layer.half_life_months < layer.slow_months


def test_a_depth_without_its_day_is_refused(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    edit(site, "plots.toml", 'id = "A", ', 'id = "A", mulch_cm = 6, ')
    with pytest.raises(FaultyFilesError, match="both mulch_cm and mulch_on"):
        read_holding(site, AS_OF)
