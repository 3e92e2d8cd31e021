"""Time kept spare for rain: counted again by hand, and who of grower and record goes first."""

import csv
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from scheduler.files import FaultyFilesError
from scheduler.holding import read_holding
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.season import SpareTime, spare_time_of, spare_words
from scheduler.season.spare import rain_days
from scheduler.terms import Basis, Level, Season
from scheduler.weather import Record, read_record
from tests.sites import AS_OF, ROOT, asks_for, edit, new_site
from tests.truth.make_station_records import MODELS, Model, record_text

pytestmark = pytest.mark.usefixtures("plans_once")

AS_OF_OPTION = ("--as-of", AS_OF.isoformat())
STATED = ("crew.toml", "# spare_share = 0.15", "spare_share = 0.2")
FIVE_YEARS = Season.between(date(2020, 1, 1), date(2024, 12, 31))


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def wet_in_december(day: date) -> str:
    """7 mm on every third day of December, 4.9 mm on all other days."""
    return "7" if day.month == 12 and day.day % 3 == 0 else "4.9"


def with_rain(
    site: Path, told: Callable[[date], str] = wet_in_december, days: Season = FIVE_YEARS
) -> Path:
    """The site with a station record that has a column of rain."""
    rows = (f"{day},{5 + 4 * np.cos(day.month):.1f},{told(day)}" for day in days)
    text = "\n".join(("date,tmin_c,rain_mm", *rows, ""))
    (site / "station.csv").write_text(text, encoding="utf-8")
    edit(site, "site.toml", "stations = []", 'stations = ["station.csv"]')
    return site


def spare_of(site: Path) -> SpareTime:
    return spare_time_of(read_holding(site, AS_OF))


def counted(rows: list[tuple[str, str]], wet_mm: float) -> list[tuple[int, int]]:
    """Days and wet days of each month, of days as text and amounts as text; plain counting."""
    answer = []
    for month in range(1, 13):
        mine = [float(mm) for day, mm in rows if int(day[5:7]) == month and mm]
        answer.append((len(mine), len([mm for mm in mine if mm >= wet_mm])))
    return answer


def pairs_of(record: Record, wet_mm: float) -> list[tuple[int, int]]:
    told = rain_days(record, wet_mm, 1)
    assert told is not None
    return list(zip(told.n_days.tolist(), told.n_wet.tolist(), strict=True))


# Seattle, 2012 to 2015: seattle-weather.csv of the package vega_datasets (NOAA daily records).
# Days with 5 mm or more, January to December, counted from that file with awk.
SEATTLE_WET = [29, 26, 33, 26, 15, 8, 3, 9, 11, 33, 31, 39]


def test_wet_days_of_seattle_are_those_counted_from_its_file() -> None:
    spec = find_spec("vega_datasets")
    if spec is None or spec.origin is None:
        pytest.skip("vega_datasets is not installed")
    path = Path(spec.origin).parent / "_data" / "seattle-weather.csv"
    with path.open(newline="", encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    text = [f"{r['date'].replace('/', '-')},{r['temp_min']},{r['precipitation']}" for r in rows]
    record, faults = read_record("seattle.csv", ["date,tmin_c,rain_mm", *text])
    assert record is not None, faults
    told = pairs_of(record, 5)
    assert [wet for _, wet in told] == SEATTLE_WET
    assert sum(days for days, _ in told) == 1461
    for wet_mm in (0.1, 1.0, 12.7):
        rain = [(r["date"], r["precipitation"]) for r in rows]
        assert pairs_of(record, wet_mm) == counted(rain, wet_mm)


def test_the_shares_of_the_demo_are_those_of_its_file(branasol: SeasonPlan) -> None:
    lines = (ROOT / "sites/branasol/station.csv").read_text("utf-8").splitlines()
    rows = [line.split(",") for line in lines if line[0] in "12"]
    spare = branasol.placed.outlook.spare
    for share, kept, (days, wet) in zip(
        spare.rain.shares if spare.rain else (),
        spare.shares,
        counted([(day, rain) for day, _, rain in rows], 5.0),
        strict=True,
    ):
        assert abs(share - wet / days) <= 0.005
        assert abs(kept - wet / days) <= 0.03
        assert round(kept * 20, 6).is_integer()
    assert spare.basis is Basis.MEASURED
    assert spare.shares[[11, 0, 1]].min() >= 2 * spare.shares[[5, 6, 7]].max() > 0


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.site)
def test_the_demo_records_are_those_of_their_models_and_rain_changes_no_minimum(
    model: Model,
) -> None:
    text = (ROOT / "sites" / model.site / "station.csv").read_text("utf-8")
    assert record_text(model) == text
    days = [line for line in text.splitlines() if line[0] in "12"]
    dry = record_text(replace(model, rain=None)).splitlines()
    assert [",".join(day.split(",")[:2]) for day in days] == dry[-len(days) :]


def test_the_hours_of_the_crew_are_shorter_by_the_share_of_the_month(site: Path) -> None:
    asks_for(with_rain(site), "walk-plots")
    holding = read_holding(site, AS_OF)
    plan = plan_season(holding, AS_OF)
    dry = replace(holding, crew=replace(holding.crew, spare_share=0.0))
    whole = plan_season(dry, AS_OF)
    december = np.array([day.month == 12 for day in plan.placed.season])
    assert plan.placed.problem.workers
    for mine, before in zip(
        plan.placed.problem.workers, whole.placed.problem.workers, strict=True
    ):
        assert (before.hours[december] > 0).any()
        # ten days of 31, 32 %, in steps of 5 %
        np.testing.assert_allclose(mine.hours[december], 0.7 * before.hours[december])
        np.testing.assert_array_equal(mine.hours[~december], before.hours[~december])
        assert (mine.hours > 0).sum() == (before.hours > 0).sum(), "no day is closed"


def test_the_growers_own_share_goes_first_and_names_the_records(site: Path) -> None:
    edit(with_rain(site), *STATED)
    spare = spare_of(site)
    assert spare.basis is Basis.PLANNED
    assert spare.shares.tolist() == [0.2] * 12
    says = spare_words(spare)
    assert "20 % of the crew's hours, all year" in says
    assert "By the rain of your record it would be 30 % of the hours in December" in says


def test_a_stated_share_is_told_without_a_record_too(site: Path) -> None:
    edit(site, *STATED)
    assert spare_words(spare_of(site)) == (
        "Rain allowance as you set it: 20 % of the crew's hours, all year (spare_share in "
        "crew.toml)."
    )


def test_only_months_that_tell_something_are_compared(site: Path) -> None:
    with_rain(site, lambda day: "" if day.month < 3 else wet_in_december(day))
    assert "30 % of the hours in December down to 0 % in March" in spare_words(spare_of(site))
    edit(site, *STATED)
    assert "30 % of the hours in December down to 0 % in March" in spare_words(spare_of(site))


def test_the_growers_nought_goes_first_too(site: Path) -> None:
    edit(with_rain(site), STATED[0], STATED[1], "spare_share = 0.0")
    spare = spare_of(site)
    assert spare.shares.tolist() == [0.0] * 12
    assert "none, all year" in spare_words(spare)


def test_without_rain_and_without_a_word_all_hours_count_and_it_says_so(site: Path) -> None:
    """15 %: common practice, no source; it is no share of the tool's own choosing."""
    says = (
        "There is no rain allowance: site.toml names no record with rain under stations. To "
        "allow for rain, set spare_share = 0.15 at the head of crew.toml"
    )
    assert spare_words(spare_of(site)).startswith(says)
    rows = "".join(f"{day},5.0\n" for day in FIVE_YEARS)
    (site / "station.csv").write_text(f"date,tmin_c\n{rows}", encoding="utf-8")
    edit(site, "site.toml", "stations = []", 'stations = ["station.csv"]')
    spare = spare_of(site)
    assert (spare.basis, spare.rain, spare.shares.tolist()) == (None, None, [0.0] * 12)
    assert spare_words(spare).startswith(says)


def test_that_no_time_is_kept_spare_is_a_note_and_no_warning(site: Path) -> None:
    (told,) = (n for n in plan_season(read_holding(site, AS_OF), AS_OF).notices
               if n.code == "spare-time")  # fmt: skip
    assert (told.level, told.about) == (Level.NOTE, "crew.toml")
    code, out, err = ran("check", site, *AS_OF_OPTION)
    assert (code, err) == (0, "")
    assert out.startswith("No warnings.\nnote: crew.toml: There is no rain allowance")


def test_whoever_follows_the_advice_is_told_no_more_of_it(site: Path) -> None:
    """The line as it is told, put where it is told to be; and a nought that is meant."""
    line = spare_words(spare_of(site)).partition("set ")[2].partition(" at the head")[0]
    for stated, share in ((line, 0.15), ("spare_share = 0.0", 0.0)):
        edit(site, "crew.toml", "# spare_share = 0.15", stated)
        spare = spare_of(site)
        assert spare.shares.tolist() == [share] * 12
        assert "There is no rain allowance" not in spare_words(spare)
        edit(site, "crew.toml", stated, "# spare_share = 0.15")


def test_days_without_a_value_do_not_count(site: Path) -> None:
    def told(day: date) -> str:
        """Of December only days 1 to 20 are read, and the even ones are wet."""
        if day.month != 12:
            return "0"
        return "" if day.day > 20 else "6" if day.day % 2 == 0 else "0"

    rain = spare_of(with_rain(site, told)).rain
    assert rain is not None
    assert (rain.n_days[11], rain.n_wet[11], rain.shares[11]) == (100, 50, 0.5)


def test_a_month_with_too_few_days_tells_nothing_and_says_so(site: Path) -> None:
    """80 days are enough, 79 are not; both figures stand in rates.toml."""

    def told(day: date) -> str:
        few = 2 if day.month == 3 and day.year == 2020 else 1
        return "" if day.month in (3, 4) and day.day > 17 - few else "8"

    spare = spare_of(with_rain(site, told))
    assert spare.rain is not None
    assert spare.rain.n_days[[2, 3]].tolist() == [79, 80]
    assert spare.shares[[2, 3]].tolist() == [0.0, 0.5]
    assert "Fewer than 80 days of March have their rain read" in spare_words(spare)


def test_a_short_record_tells_nothing(site: Path) -> None:
    two_years = Season.between(date(2020, 1, 1), date(2021, 12, 31))
    spare = spare_of(with_rain(site, lambda _: "9", two_years))
    assert spare.basis is None
    assert not spare.shares.any()
    assert "too few to go by" in spare_words(spare)


def test_no_more_than_half_is_kept_spare_and_it_says_where_that_bites(site: Path) -> None:
    def told(day: date) -> str:
        """January has 5 mm on 60 % of its days, February on half of them."""
        share = {1: 18.6, 2: 14.0}.get(day.month, 0.0)
        return "5.0" if day.day <= share else "0"

    spare = spare_of(with_rain(site, told))
    assert spare.shares[:3].tolist() == [0.5, 0.5, 0.0]
    assert "more days in January, but more than 50 %" in spare_words(spare)


def test_rain_of_just_the_threshold_counts_and_a_site_may_set_another(site: Path) -> None:
    with_rain(site, lambda day: "5.0" if day.day <= 10 else "4.9")
    assert spare_of(site).shares[3] == pytest.approx(0.35)  # ten days of thirty, 33 %
    (site / "rules.toml").write_text(
        '[[figure]]\nid = "rain-stops-work"\nvalue = 5.1\nunit = "mm"\nsource = "my own"\n',
        encoding="utf-8",
    )
    assert not spare_of(site).shares.any()


def test_a_record_in_inches_counts_the_same_days() -> None:
    """An access export in degrees F has its rain in inches: 0.20 inch are 5.08 mm."""
    head = '# unit: F\n"STATION","DATE","NAME","TMIN","PRCP"'.splitlines()
    rows = [f'"X1","2014-01-{day:02d}","A","28","{rain}"'
            for day, rain in ((1, "0.20"), (2, "0.19"), (3, "5.00"), (4, ""))]  # fmt: skip
    record, faults = read_record("station.csv", [*head, *rows])
    assert record is not None, faults
    assert pairs_of(record, 5)[0] == (3, 2)


def test_months_are_those_of_the_calendar_in_leap_years_too() -> None:
    days = Season.between(date(2019, 2, 27), date(2020, 3, 1))
    rain = {day: 10.0 if day == date(2020, 2, 29) else 0.0 for day in days}
    record = Record.of("made", dict.fromkeys(days, 5.0), rain_mm=rain)
    assert pairs_of(record, 5)[1:3] == [(31, 1), (32, 0)]


def test_rain_that_is_no_amount_is_one_fault_a_line() -> None:
    for text in ("inf", "-inf", "much"):
        record, (fault,) = read_record("x.csv", ["date,tmin_c,rain_mm", f"2027-01-01,1.0,{text}"])
        assert record is None
        assert (fault.field, fault.allowed) == ("rain", "an amount of rain, or nothing")


def test_a_threshold_of_nought_is_a_fault(site: Path) -> None:
    (site / "rules.toml").write_text(
        '[[figure]]\nid = "rain-stops-work"\nvalue = 0\nunit = "mm"\nsource = "x"\n',
        encoding="utf-8",
    )
    with pytest.raises(FaultyFilesError) as error:
        read_holding(site, AS_OF)
    (fault,) = error.value.faults
    assert (fault.file, fault.field) == ("rules.toml", "value")


def test_the_notice_is_a_note_and_the_same_on_any_day(branasol: SeasonPlan) -> None:
    (told,) = (n for n in branasol.notices if n.code == "spare-time")
    assert (told.level, told.about) == (Level.NOTE, "crew.toml")
    assert told.says.startswith(
        "Rain allowance from your record: 25 % of the hours in January down to 5 % in June; about "
        "so many of the days from 1995 to 2026 (11446 with their rain read) had 5 mm or more."
    )
    later = date(2027, 3, 1)
    holding = read_holding(ROOT / "sites" / "branasol", later)
    assert spare_words(spare_time_of(holding)) == told.says


def ran(*args: object) -> tuple[int, str, str]:
    result = CliRunner().invoke(app, [str(arg) for arg in args])
    return result.exit_code, result.stdout, result.stderr


def test_check_and_roster_tell_it_and_programs_get_the_shares(site: Path) -> None:
    asks_for(with_rain(site), "walk-plots")
    code, out, _ = ran("check", site, *AS_OF_OPTION)
    assert "note: crew.toml: Rain allowance from your record: 30 %" in out
    assert code == ("No warnings." not in out)
    noted = json.loads(ran("check", site, *AS_OF_OPTION, "--json")[1])
    assert [n["level"] for n in noted if n["code"] == "spare-time"] == ["note"]
    assert "Rain allowance from your record: 30 %" in ran("plan", "--full", site, *AS_OF_OPTION)[1]
    told = json.loads(ran("plan", "--full", site, *AS_OF_OPTION, "--json")[1])["spare_time"]
    assert (told["basis"], told["shares"]) == ("measured", [0.0] * 11 + [0.3])
    assert told["rain"]["n_wet"] == [0] * 11 + [50]


def test_record_tells_the_days_by_month(site: Path) -> None:
    with_rain(site)
    _, out, _ = ran("frost", site, "--history", *AS_OF_OPTION)
    assert "December   155        50            32 %   30 %" in out
    rain = json.loads(ran("frost", site, "--history", *AS_OF_OPTION, "--json")[1])["spare_time"][
        "rain"
    ]
    assert (rain["first"], rain["last"]) == ("2020-01-01", "2024-12-31")
    assert rain["shares"] == [0.0] * 11 + [0.32]
