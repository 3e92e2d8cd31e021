"""What a plot's frost risk rests on."""

import re
from datetime import date, timedelta
from pathlib import Path

import pytest

from scheduler.holding import read_holding
from scheduler.reasons import SeasonPlan
from scheduler.season import Outlook, outlook_of
from tests.sites import AS_OF, ROOT, edit, new_site

STATION = ROOT / "sites" / "branasol" / "station.csv"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A site with the invented record of the demo."""
    folder = new_site(tmp_path / "site")
    (folder / "station.csv").write_bytes(STATION.read_bytes())
    edit(folder, "site.toml", "stations = []", 'stations = ["station.csv"]')
    return folder


def _outlook(site: Path, as_of: date = AS_OF) -> Outlook:
    return outlook_of(read_holding(site, as_of), as_of)


def _by_hand(site: Path, offset: str) -> None:
    edit(site, "plots.toml", "frost_offset_c = 0.0 ", f"{offset} ")


def test_the_hollow_of_the_demo_stays_open_weeks_after_its_slope(branasol: SeasonPlan) -> None:
    ends = {
        plot: known.risk.closes_after(date(2027, 3, 1))
        for plot, known in branasol.placed.outlook.plots.items()
    }
    assert ends["fondal"] is not None
    assert ends["ladeira"] is not None
    assert ends["fondal"] - ends["ladeira"] >= timedelta(weeks=3)


def test_the_tenderest_thing_exposed_sets_the_threshold_and_is_named(
    klipskadu: SeasonPlan,
) -> None:
    """Banana in leaf at 1 C, achira and tagasaste at 0: plants.toml, each with its source."""
    vlei, rant = klipskadu.placed.outlook.plots["vlei"], klipskadu.placed.outlook.plots["rant"]
    assert vlei.risk.threshold_c == 1.0
    assert [one.plant for one in vlei.tenderest] == ["banana"]
    assert rant.risk.threshold_c == 0.0
    assert "tagasaste" in [one.plant for one in rant.tenderest]


def test_the_growers_own_threshold_goes_first_that_of_the_plot_before_the_sites(
    site: Path,
) -> None:
    edit(site, "site.toml", "period_seasons = 30", "threshold_c = -1.0\nperiod_seasons = 30")
    known = _outlook(site).plots["first-plot"]
    assert (known.risk.threshold_c, known.tenderest) == (-1.0, ())
    _by_hand(site, "threshold_c = -2.5")
    assert _outlook(site).plots["first-plot"].risk.threshold_c == -2.5


def test_without_tender_work_a_frost_is_a_frost(site: Path) -> None:
    edit(site, "plan-2027.toml", '"dormant", "release", "dry-summer", "year"', '"dormant"')
    known = _outlook(site).plots["first-plot"]
    assert known.exposed == ()
    assert known.risk.threshold_c == 0.0


def test_a_logger_gives_the_offset_and_its_spread(branasol: SeasonPlan) -> None:
    """The demo's invented logger was drawn at -0.6, spread 0.7: make_frost_files.py."""
    offset = branasol.placed.outlook.plots["novo"].offset
    assert offset.basis == "logger"
    assert offset.n_nights == 88  # 89 days, less the first night, of which half is missing
    assert offset.offset_c == pytest.approx(-0.6, abs=0.2)
    assert offset.spread_c == pytest.approx(0.7, abs=0.2)
    assert branasol.placed.outlook.plots["novo"].risk.offset_spread_c == offset.spread_c


def _log(site: Path, days: int, less_c: float) -> None:
    lines = (line for line in STATION.read_text("utf-8").splitlines() if line[0] in "12")
    minima = dict(line.split(",")[:2] for line in lines)
    rows = [
        f"{day} {hour:02d}:00,{float(minima[str(day)]) - less_c:.2f}\n"
        for day in (date(2026, 2, 1) + timedelta(days=n) for n in range(days + 1))
        for hour in range(24)
    ]
    (site / "logger.csv").write_text("timestamp,temp_c\n" + "".join(rows), encoding="utf-8")


def test_the_growers_word_goes_before_the_logger_but_a_colder_logger_is_told(site: Path) -> None:
    _log(site, 20, less_c=6.0)
    _by_hand(site, 'frost_offset_c = -1.0\nlogger = "logger.csv"')
    outlook = _outlook(site)
    assert outlook.plots["first-plot"].offset.offset_c == -1.0
    assert "frost-offset-warm" in [notice.code for notice in outlook.notices]


def test_a_logger_that_stood_too_short_leaves_the_plot_as_the_station_and_says_so(
    site: Path,
) -> None:
    _log(site, 10, less_c=2.0)
    _by_hand(site, 'logger = "logger.csv"')
    outlook = _outlook(site)
    assert outlook.plots["first-plot"].offset.basis == "as the station"
    assert "frost-overlap-short" in [notice.code for notice in outlook.notices]


def test_height_is_a_last_resort_and_flagged(site: Path) -> None:
    """3 K per km at most: 2,941 nights Canberra to Mt Ginini, 2.7 (frost.toml)."""
    edit(site, "site.toml", "period_seasons = 30", "station_elev_m = 400\nperiod_seasons = 30")
    _by_hand(site, "elev_m = 600")
    outlook = _outlook(site)
    known = outlook.plots["first-plot"]
    assert (known.offset.basis, known.offset.offset_c) == ("elevation", -0.6)
    assert "frost-offset-guessed" in [notice.code for notice in outlook.notices]


def test_no_adjustment_is_applied_unless_chosen(site: Path) -> None:
    assert _outlook(site).plots["first-plot"].offset.offset_c == 0.0
    _by_hand(
        site,
        'adjustment = [{ id = "hollow", by_c = -2 }, { id = "slope", by_c = 1.5, height_m = 40 }]',
    )
    outlook = _outlook(site)
    # -2 for the hollow, 1.5 for each 100 m over 40 m
    assert outlook.plots["first-plot"].offset.offset_c == pytest.approx(-1.4)
    assert "frost-adjustment-outside" not in [notice.code for notice in outlook.notices]


def test_a_choice_outside_its_published_range_is_told(site: Path) -> None:
    _by_hand(site, 'adjustment = [{ id = "canopy", by_c = 4.0 }]')
    assert "frost-adjustment-outside" in [notice.code for notice in _outlook(site).notices]


def _forecast(site: Path, issued: date, *minima_c: float) -> None:
    rows = "".join(
        f"{issued},{issued + timedelta(days=n)},{low_c}\n"
        for n, low_c in enumerate(minima_c, start=1)
    )
    (site / "forecast.csv").write_text("issued,date,tmin_c\n" + rows, encoding="utf-8")
    text = (site / "site.toml").read_text("utf-8")
    if '\nforecast = "' not in text:
        edit(site, "site.toml", "period_seasons", 'forecast = "forecast.csv"\nperiod_seasons')


def test_a_logger_in_another_unit_is_left_out_and_said_so(site: Path) -> None:
    _log(site, 60, less_c=-25.0)
    _by_hand(site, 'logger = "logger.csv"')
    outlook = _outlook(site)
    codes = [notice.code for notice in outlook.notices]
    assert {"frost-logger-odd", "frost-offset-unknown"} <= set(codes)
    assert outlook.plots["first-plot"].offset.offset_c == 0.0


def test_an_adjustment_on_top_of_a_logger_is_told(site: Path) -> None:
    _log(site, 60, less_c=1.0)
    _by_hand(site, 'logger = "logger.csv" ')
    measured_c = _outlook(site).plots["first-plot"].offset.offset_c
    edit(
        site,
        "plots.toml",
        'logger = "logger.csv" ',
        'logger = "logger.csv"\nadjustment = [{ id = "hollow", by_c = -2 }]',
    )
    outlook = _outlook(site)
    assert outlook.plots["first-plot"].offset.offset_c == pytest.approx(measured_c - 2.0)
    assert "frost-adjustment-twice" in [notice.code for notice in outlook.notices]


def test_a_choice_by_height_is_held_against_its_range_for_each_100_m(site: Path) -> None:
    """At most 6.2 degrees per 100 m: Hocevar and Martsolf 1971 (frost.toml)."""
    _by_hand(site, 'adjustment = [{ id = "slope", by_c = 9.0, height_m = 40 }]')
    assert "frost-adjustment-outside" in [notice.code for notice in _outlook(site).notices]


def test_a_threshold_colder_than_the_stock_laid_open_is_told(site: Path) -> None:
    edit(site, "site.toml", "period_seasons = 30", "threshold_c = -3.0\nperiod_seasons = 30")
    said = [n.says for n in _outlook(site).notices if n.code == "frost-threshold-cold"]
    assert len(said) == 1
    assert "0 °C" in said[0]


def test_until_when_is_told_although_the_record_ended_in_another_season(site: Path) -> None:
    known = _outlook(site, date(2027, 10, 20)).plots["first-plot"]
    closes = known.risk.closes_after(date(2027, 12, 20))
    assert closes is not None
    assert closes.year == 2028
    assert known.risk.chance_after(closes) > 0.10
    assert known.risk.chance_after(closes + timedelta(days=1)) <= 0.10
    assert known.frost_seen(date(2027, 10, 20)) is None


def test_a_record_without_springs_tells_no_last_frost(site: Path) -> None:
    """What nobody has seen cannot be told: no season is used, and the window is held open."""
    lines = (site / "station.csv").read_text("utf-8").splitlines()
    kept = [x for x in lines if x[:1] not in "12" or x[5:7] not in ("03", "04", "05")]
    (site / "station.csv").write_text("\n".join(kept), encoding="utf-8")
    outlook = _outlook(site)
    risk = outlook.frost["first-plot"]
    assert risk.basis != "record"
    assert "station-no-season" in [notice.code for notice in outlook.notices]


def test_a_forecast_in_another_unit_is_left_out_and_said_so(site: Path) -> None:
    as_of = date(2026, 11, 25)
    _forecast(site, as_of, 35.0, 33.0)  # degrees F
    outlook = _outlook(site, as_of)
    assert outlook.plots["first-plot"].ahead.nights == ()
    assert "forecast-unlikely" in [notice.code for notice in outlook.notices]


def test_a_cold_forecast_opens_the_window_that_the_rules_look_at(site: Path) -> None:
    as_of = date(2027, 5, 20)
    assert not _outlook(site, as_of).frost["first-plot"].is_open(as_of)
    _forecast(site, as_of, 6.0, -2.0, 6.0)
    risk = _outlook(site, as_of).frost["first-plot"]
    assert risk.is_open(as_of)
    assert risk.closes_after(as_of) == date(2027, 5, 22)


def test_an_old_forecast_says_nothing_of_tonight(site: Path) -> None:
    as_of = date(2027, 5, 20)
    _forecast(site, date(2027, 5, 1), -9.0, -9.0)
    outlook = _outlook(site, as_of)
    assert not outlook.frost["first-plot"].is_open(as_of)
    assert "forecast-old" in [notice.code for notice in outlook.notices]


def test_without_news_the_outlook_is_the_same_on_every_later_day(site: Path) -> None:
    """Else a calendar would be rewritten each morning for nothing."""
    early, late = (_outlook(site, day).frost["first-plot"] for day in (AS_OF, date(2027, 3, 1)))
    assert (early.open == late.open).all()
    assert early.chance_on_or_after == pytest.approx(late.chance_on_or_after)


def test_a_record_too_short_to_tell_its_warmest_day_takes_that_of_its_hemisphere(
    site: Path,
) -> None:
    """24 January and 24 July: Utah Climate Center, freeze table help."""
    rows = "".join(f"2026-0{month}-01,{month}\n" for month in range(1, 10))
    (site / "station.csv").write_text("date,tmin_c\n" + rows, encoding="utf-8")
    splits = []
    for lat, last, first in (("46.5", "05-10", "10-15"), ("-33.5", "10-15", "05-10")):
        text = (site / "site.toml").read_text("utf-8")
        text = re.sub(r"lat_deg = \S+", f"lat_deg = {lat}", text)
        text = re.sub(r'own_last = "\S+"', f'own_last = "{last}"', text)
        text = re.sub(r'own_first = "\S+"', f'own_first = "{first}"', text)
        (site / "site.toml").write_text(text, encoding="utf-8")
        climate = _outlook(site).climate
        assert climate is not None
        splits.append(climate.cycle.split)
    assert splits == ["07-24", "01-24"]
