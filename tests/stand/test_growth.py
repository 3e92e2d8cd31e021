"""Growing back after a cut, and the warmth it is counted by."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.holding import RuleBook, Stock
from scheduler.holding.site_files import package_rules
from scheduler.stand import too_soon_months
from scheduler.stand.canopy import first_day, grown_share, is_full_again
from scheduler.stand.warmth import Warmth
from scheduler.terms import Season
from scheduler.weather import Record

BOOK = RuleBook.of(package_rules())
CUT = date(2026, 6, 1)


def row(**changes: object) -> Stock:
    told: dict[str, object] = {
        "plot": "low", "plant": "tagasaste", "stratum": "medium", "role": "support",
        "cut_system": "pollard", "count": 1, "stem_cm": 12.0, "height_m": 4.0, "crown_m": 3.0,
        "last_cut": CUT,
    }  # fmt: skip
    return Stock(**(told | changes))  # type: ignore[arg-type]  # columns by name


def record(n_years: int = 6) -> Record:
    """Minima of a plain sine: 10 C in mid-July, -2 C in mid-January."""
    season = Season.between(date(2015, 1, 1), date(2015 + n_years, 12, 31))
    of_year = np.array([day.timetuple().tm_yday for day in season])
    tmin_c = 4.0 - 6.0 * np.cos(2 * np.pi * (of_year - 15) / 365.25)
    return Record("invented", season, tmin_c)


def full_again(stock: Stock, warmth: Warmth) -> date:
    assert stock.last_cut is not None
    return first_day(stock.last_cut, lambda day: is_full_again(stock, day, BOOK, warmth))


def test_tagasaste_is_full_again_after_three_to_five_months() -> None:
    """lucernetreefarm.wordpress.com and florancefarms.com: 3 to 5 months to full."""
    full = full_again(row(), Warmth(None))
    assert 3 <= (full - CUT).days / 30.4 <= 5
    assert grown_share(row(), full - timedelta(days=1), BOOK, Warmth(None)) < 1.0


def test_what_a_cut_leaves_is_what_the_cut_system_says() -> None:
    """Evergreen support keeps a fifth of its leaf; a coppiced stool keeps nothing."""
    assert grown_share(row(), CUT, BOOK, Warmth(None)) == pytest.approx(0.20)
    assert grown_share(row(cut_system="coppice"), CUT, BOOK, Warmth(None)) == 0.0
    assert grown_share(row(cut_system="none"), CUT, BOOK, Warmth(None)) == 1.0
    assert grown_share(row(last_cut=None), CUT, BOOK, Warmth(None)) == 1.0


def test_a_mean_year_holds_twelve_months_of_warmth() -> None:
    months = Warmth(record()).months(date(2031, 1, 1), date(2032, 1, 1), 3.0)
    assert months == pytest.approx(12, abs=0.05)


def test_summer_grows_back_faster_than_winter() -> None:
    warmth = Warmth(record())
    summer = warmth.months(date(2030, 6, 1), date(2030, 9, 1), 3.0)
    winter = warmth.months(date(2030, 12, 1), date(2031, 3, 1), 3.0)
    assert summer > 3 > 0.5 > winter
    late = row(last_cut=date(2030, 10, 15))
    early = row(last_cut=date(2030, 5, 1))
    waits = [full_again(r, warmth) for r in (early, late)]
    assert waits[0] - date(2030, 5, 1) < waits[1] - date(2030, 10, 15)


def test_days_of_the_record_count_as_they_were_not_as_they_are_on_the_mean() -> None:
    old = record()
    warm = old.tmin_c.copy()
    june = Season.between(date(2018, 6, 1), date(2018, 7, 1))
    at = slice((june.first - old.season.first).days, (june.last - old.season.first).days)
    warm[at] += 5.0
    told = Warmth(Record("warm June", old.season, warm))
    assert told.months(date(2018, 6, 1), date(2018, 7, 1), 3.0) > 1.2 * told.months(
        date(2030, 6, 1), date(2030, 7, 1), 3.0
    )


def test_with_maxima_the_mean_of_the_day_counts() -> None:
    """Degree days of the mean of minimum and maximum, above a base so much warmer as the mean
    lies above the night (5 C: common practice, no source)."""
    plain = record()
    told, even = (
        Record("invented", plain.season, plain.tmin_c, tmax_c=plain.tmin_c + range_c)
        for range_c in (16.0, 10.0)
    )
    span = (date(2030, 6, 1), date(2030, 9, 1))
    # means 8 C above the night count like nights 3 C warmer
    as_if = Warmth(plain, 5.0).months(*span, 0.0)
    assert Warmth(told, 5.0).months(*span, 3.0) == pytest.approx(as_if)
    assert as_if < 0.95 * Warmth(plain, 5.0).months(*span, 3.0)
    assert Warmth(even, 5.0).months(*span, 3.0) == pytest.approx(
        Warmth(plain, 5.0).months(*span, 3.0)
    )


def test_a_record_too_short_or_too_cold_falls_back_on_the_calendar() -> None:
    season = Season(date(2020, 1, 1), 100)
    short = Warmth(Record("short", season, np.full(100, 8.0)))
    cold = Warmth(record())
    for warmth, base_c in ((short, 3.0), (cold, 30.0)):
        months = warmth.months(date(2026, 1, 1), date(2026, 7, 1), base_c)
        assert months == pytest.approx(181 / 30.4375)


def test_cut_sooner_than_the_kind_stands_is_said() -> None:
    """Tithonia cut every two weeks: nine in ten died (Partey 2011, Agrofor. Syst. 83:181)."""
    tithonia = row(plant="tithonia")
    months = too_soon_months(tithonia, CUT + timedelta(days=14), BOOK)
    assert months == pytest.approx(0.46, abs=0.01)
    assert too_soon_months(tithonia, CUT + timedelta(days=31), BOOK) is None


def test_gliricidia_and_its_like_are_never_cut_monthly() -> None:
    """Duguma, Kang and Okali 1988: cut monthly a quarter died."""
    assert BOOK.regrowths["tender-support"].least_months > 1


def test_every_kind_that_is_cut_has_its_regrowth() -> None:
    never_cut = {"ground-crop"}
    for plant in BOOK.plants.values():
        assert plant.group in never_cut or BOOK.regrowth_of(plant.id) is not None, plant.id


@given(st.sampled_from(sorted(BOOK.plants)), st.integers(0, 4000), st.integers(0, 400))
def test_crowns_only_grow_back_until_they_are_cut(plant: str, days: int, more: int) -> None:
    warmth = Warmth(None)
    some = grown_share(row(plant=plant), CUT + timedelta(days=days), BOOK, warmth)
    later = grown_share(row(plant=plant), CUT + timedelta(days=days + more), BOOK, warmth)
    assert 0 <= some <= later <= 1
