"""What makes a risk less sure than its figures look is said."""

from collections.abc import Iterable
from datetime import date

import pytest

from scheduler.frost import climate_of, risk_notices
from scheduler.frost.risk import risk_of
from scheduler.terms import Level, Notice, Season
from tests.frost.records import ask, made, milwaukee, with_frosts


def _codes(notices: Iterable[Notice]) -> dict[str, Level]:
    return {notice.code: notice.level for notice in notices}


@pytest.mark.parametrize(
    ("own_last", "code", "level"),
    [(None, "frost-unknown", Level.WARNING), ("05-10", "frost-own-dates", Level.NOTE)],
)
def test_a_risk_without_a_record_says_so(own_last: str | None, code: str, level: Level) -> None:
    risk = risk_of(
        None,
        threshold_c=0.0,
        offset_c=0.0,
        tolerance=0.1,
        season=Season(date(2027, 1, 1), 30),
        southern=False,
        own_last=own_last,
    )
    (notice,) = risk_notices(risk, "hollow")
    assert (notice.code, notice.level, notice.about) == (code, level, "hollow")


def test_a_tolerance_finer_than_the_record_is_told() -> None:
    record = made(1990, 12)
    assert "frost-tolerance-fine" not in _codes(risk_notices(ask(record), "p"))
    risk = ask(record, tolerance=0.03)  # 0.5 / 12 is more
    assert _codes(risk_notices(risk, "p"))["frost-tolerance-fine"] is Level.WARNING
    assert not risk.ever_closed
    assert "frost-no-free-season" not in _codes(risk_notices(risk, "p"))


def test_an_alpine_plot_is_told_that_no_season_is_free() -> None:
    risk = ask(made(1990, 30, mean_c=-2.0, swing_c=6.0))
    assert _codes(risk_notices(risk, "p"))["frost-no-free-season"] is Level.WARNING


def test_a_warm_plot_is_told_that_frosts_are_rare() -> None:
    risk = ask(made(1985, 25, mean_c=22.0, swing_c=4.0, noise_c=1.0))
    assert _codes(risk_notices(risk, "p"))["frost-rare"] is Level.NOTE


def test_an_old_record_is_told() -> None:
    assert "frost-record-old" not in _codes(risk_notices(ask(milwaukee()), "p"))
    risk = ask(milwaukee(date(2010, 12, 31)))
    assert _codes(risk_notices(risk, "p"))["frost-record-old"] is Level.WARNING


def test_dates_that_have_moved_by_more_than_their_error_are_told() -> None:
    early = [date(year, 4, 1 + year % 5) for year in range(1971, 1986)]
    late = [date(year, 4, 20 + year % 5) for year in range(1986, 2001)]
    moved = ask(with_frosts(early + late, date(1970, 8, 1), date(2000, 8, 1)))
    assert moved.last_frost.recent_days is not None
    assert moved.last_frost.recent_days > 5
    told = [n for n in risk_notices(moved, "p") if n.code == "frost-dates-shifting"]
    assert len(told) == 1
    assert "later" in told[0].says
    steady = [date(year, 4, 10 + year % 5) for year in range(1971, 2001)]
    still = ask(with_frosts(steady, date(1970, 8, 1), date(2000, 8, 1)))
    assert "frost-dates-shifting" not in _codes(risk_notices(still, "p"))


def test_the_first_freeze_of_milwaukee_has_moved_later() -> None:
    # autumns 2006-2020 against 1991-2020: 5 days, with an error of 3.3
    risk = ask(milwaukee())
    assert risk.first_frost.recent_days == 5
    assert risk.first_frost.shifting
    assert not risk.last_frost.shifting


@pytest.mark.parametrize(("n_years", "level"), [(9, Level.WARNING), (12, Level.NOTE), (20, None)])
def test_few_seasons_are_told_with_the_record(n_years: int, level: Level | None) -> None:
    codes = _codes(climate_of(made(1990, n_years)).notices)
    assert codes.get("station-few-seasons") is level
