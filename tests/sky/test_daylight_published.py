"""Rise, set and twilight against published tables."""

import re
from collections import defaultdict
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from numpy.typing import NDArray

from scheduler.sky import sky_of
from scheduler.sky.civil_sky import BodyState
from scheduler.sky.daylight import LightLimit
from scheduler.terms import Place, Season
from tests.sky.instants import rise_set

Rows = list[dict[str, str]]
Floats = NDArray[np.float64]
LIMIT = {
    "sunrise": (LightLimit.SUN_RIM, True),
    "sunset": (LightLimit.SUN_RIM, False),
    "civil_dawn": (LightLimit.CIVIL_LIGHT, True),
    "civil_dusk": (LightLimit.CIVIL_LIGHT, False),
    "moonrise": (LightLimit.MOON_RIM, True),
    "moonset": (LightLimit.MOON_RIM, False),
}


def times(
    lat_deg: float, lon_deg: float, first: date, last: date, limit: LightLimit, *, rising: bool
) -> Floats:
    """POSIX seconds of one kind of passage over some UTC days."""
    return rise_set(lat_deg, lon_deg, first, (last - first).days + 1)[limit, rising]


def assert_same(ours: Floats, published: list[datetime], within_s: float) -> None:
    theirs = np.array([when.timestamp() for when in published])
    assert len(ours) == len(theirs)
    assert np.abs(ours - theirs).max() <= within_s


def allowed_s(lat_deg: float) -> float:
    """How far a table to the minute may be off.

    Half a minute of rounding and some seconds of delta T below 62 degrees and, for the
    Moon, up to 85. At 88 and 89 degrees the Sun climbs so flat that a rounding of the
    altitude shows; at the poles only the count is told.
    """
    return 60.0 if abs(lat_deg) <= 85 else 65.0 if abs(lat_deg) <= 89 else 300.0


def test_rise_and_set_agree_with_the_naval_observatory(table: Callable[[str], Rows]) -> None:
    """No event lost or added at any latitude, the Moon at 85 N and the Sun at the poles too."""
    groups: dict[tuple[float, float, str], list[datetime]] = defaultdict(list)
    for row in table("riseset_usno.csv"):
        site = (float(row["lat_deg"]), float(row["lon_deg"]), row["event"])
        groups[site].append(datetime.fromisoformat(row["instant_utc"]))
    assert len(groups) >= 10
    for (lat_deg, lon_deg, event), published in groups.items():
        limit, rising = LIMIT[event]
        years = {when.year for when in published}
        first, last = date(min(years), 1, 1), date(max(years), 12, 31)
        ours = times(lat_deg, lon_deg, first, last, limit, rising=rising)
        # Their years are those of a local mean time and may end some hours from ours.
        near = (ours > published[0].timestamp() - 3600) & (ours < published[-1].timestamp() + 3600)
        assert np.count_nonzero(~near) <= 1
        assert_same(ours[near], published, allowed_s(lat_deg))


def test_boston_moon_of_1984(
    one_year_table: Callable[[str, int], tuple[list[datetime], list[datetime]]],
) -> None:
    # US Naval Observatory, "Rise and Set for the Moon for 1984", Boston; ephem 4.2.1.
    for published, rising in zip(
        one_year_table("riset_moon.txt", 1984), (True, False), strict=True
    ):
        begin, end = date(1984, 1, 1), date(1985, 1, 1)
        ours = times(42 + 19 / 60, -71 - 5 / 60, begin, end, LightLimit.MOON_RIM, rising=rising)
        year = (ours >= datetime(1984, 1, 1, 5, tzinfo=UTC).timestamp()) & (
            ours < datetime(1985, 1, 1, 5, tzinfo=UTC).timestamp()
        )
        assert len(published) > 350
        assert_same(ours[year], published, 45)


def test_atlanta_sun_of_2007(
    one_year_table: Callable[[str, int], tuple[list[datetime], list[datetime]]],
) -> None:
    # US Naval Observatory, "Rise and Set for the Sun for 2007", Atlanta; ephem 4.2.1.
    sky = sky_of(Place(33 + 46 / 60, -84 - 25 / 60, "Etc/GMT+5"), Season(date(2007, 1, 1), 365))
    rises, sets = one_year_table("riset_sun.txt", 2007)
    for ours, published in ((sky.sun.rises, rises), (sky.sun.sets, sets)):
        assert all(len(day) == 1 for day in ours)
        assert_same(np.array([day[0].timestamp() for day in ours]), published, 45)


def test_fairbanks_moon_day_by_day(wheel_lines: Callable[[str], list[str]]) -> None:
    """Three days up without rise or set, and a day that sets before it rises."""
    # US Naval Observatory, Fairbanks, June-July 2006, 8 h west; ephem 4.2.1.
    place = Place(64 + 48 / 60 + 36 / 3600, -147.75, "Etc/GMT+8")
    sky = sky_of(place, Season(date(2006, 6, 1), 45))
    seen = 0
    for line in wheel_lines("risettran_moon.txt"):
        day = re.match(r"2006 (Jun|Jul) (\d\d)", line)
        if day is None:
            continue
        seen += 1
        number = sky.season.day_of(date(2006, 6 if day[1] == "Jun" else 7, int(day[2])))
        for cell, ours in (
            (line[25:30], sky.moon.rises[number]),
            (line[59:64], sky.moon.sets[number]),
        ):
            published = re.fullmatch(r"(\d\d):(\d\d)", cell.strip())
            assert len(ours) == (published is not None)
            if published is not None:
                minutes = ours[0].hour * 60 + ours[0].minute + ours[0].second / 60
                assert minutes == pytest.approx(
                    int(published[1]) * 60 + int(published[2]), abs=0.75
                )
        if "*****" in line:
            assert sky.moon.states[number] is BodyState.UP_ALL_DAY
    assert seen == 21


@pytest.mark.parametrize(
    ("lat_deg", "lon_deg", "day", "event", "published"),
    [
        # US Naval Observatory one-day tables as quoted in skyfield 1.55,
        # tests/test_almanac.py: Bluffton, Ohio, and Defiance, Ohio.
        (40.8939, -83.8917, date(2018, 9, 12), "sunrise", "11:13"),
        (40.8939, -83.8917, date(2018, 9, 12), "sunset", "23:50"),
        (41.281944, -84.362778, date(2019, 11, 8), "civil_dawn", "11:48"),
        (41.281944, -84.362778, date(2019, 11, 8), "sunrise", "12:17"),
        (41.281944, -84.362778, date(2019, 11, 8), "sunset", "22:25"),
        (41.281944, -84.362778, date(2019, 11, 8), "civil_dusk", "22:54"),
        # An arc of 37 minutes at 70 N (the same file).
        (70.0, 0.0, date(2023, 2, 19), "moonrise", "11:28"),
        (70.0, 0.0, date(2023, 2, 19), "moonset", "12:05"),
    ],
)
def test_quoted_rises_and_sets(
    lat_deg: float, lon_deg: float, day: date, event: str, published: str
) -> None:
    limit, rising = LIMIT[event]
    ours = times(lat_deg, lon_deg, day, day, limit, rising=rising)
    when = datetime.fromisoformat(f"{day}T{published}Z")
    assert_same(ours, [when], 32)


def test_civil_twilight_agrees_with_the_tables(table: Callable[[str], Rows]) -> None:
    """Orlando is printed with its seconds cut off, Defiance rounded."""
    rows = [row for row in table("twilight.csv") if row["event"] in LIMIT]
    assert len(rows) == 16
    for row in rows:
        when = datetime.fromisoformat(row["instant_utc"])
        limit, rising = LIMIT[row["event"]]
        day = when.date()
        site = float(row["lat_deg"]), float(row["lon_deg"])
        ours = times(*site, day - timedelta(days=1), day + timedelta(days=1), limit, rising=rising)
        late_s = min((ours - when.timestamp()).tolist(), key=abs)
        least, most = (-2, 62) if row["lat_deg"] == "28.538" else (-31, 31)
        assert least < late_s < most, row
