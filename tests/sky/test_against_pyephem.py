"""PyEphem as an independent peer: another theory (VSOP 87, Moshier), other code."""

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime

import ephem
import numpy as np
import pytest

from scheduler.sky.clock import tt_of_utc
from scheduler.sky.daylight import LightLimit
from scheduler.sky.events import EventName
from tests.sky.instants import PHASES, SEASONS, events_between, rise_set

# PyEphem puts its own delta T between the even time of its theory and the clock; taking it
# off and ours on again compares the skies, not the clocks.


def ours_tt_d(event_utc: datetime) -> float:
    return float(tt_of_utc(np.array([event_utc.timestamp()]))[0])


def theirs_tt_d(when: ephem.Date) -> float:
    dublin_d: float = float(when) + ephem.delta_t(when) / 86400
    return dublin_d - (2451545.0 - 2415020.0)


def walk(step: Callable[[ephem.Date], ephem.Date], year: int) -> Iterator[ephem.Date]:
    when = step(ephem.Date(f"{year}/1/1"))
    while when.datetime().year == year:
        yield when
        when = step(ephem.Date(when + 0.01))


STEPS = {
    EventName.NEW_MOON: ephem.next_new_moon,
    EventName.FIRST_QUARTER: ephem.next_first_quarter_moon,
    EventName.FULL_MOON: ephem.next_full_moon,
    EventName.LAST_QUARTER: ephem.next_last_quarter_moon,
    EventName.MARCH_EQUINOX: ephem.next_vernal_equinox,
    EventName.JUNE_SOLSTICE: ephem.next_summer_solstice,
    EventName.SEPTEMBER_EQUINOX: ephem.next_autumn_equinox,
    EventName.DECEMBER_SOLSTICE: ephem.next_winter_solstice,
}


@pytest.mark.parametrize("year", [1924, 1987, 2026, 2048])
@pytest.mark.parametrize("name", [*PHASES, *SEASONS])
def test_phases_and_seasons(name: EventName, year: int) -> None:
    theirs = [theirs_tt_d(when) for when in walk(STEPS[name], year)]
    events = events_between(datetime(year, 1, 1, tzinfo=UTC), datetime(year + 1, 1, 1, tzinfo=UTC))
    ours = [ours_tt_d(event.utc) for event in events if event.event is name]
    # Measured: phases differ by up to 2.1 s (2000-2052), seasons by 12.5 s, and 15.3 in 1924.
    assert np.array(ours) * 86400 == pytest.approx(
        np.array(theirs) * 86400, abs=4.0 if name in PHASES else 20.0
    )


@pytest.mark.parametrize(("lat_deg", "lon_deg"), [(0.0, 0.0), (-34.0, 151.0), (59.0, -3.0)])
def test_rises_and_sets(lat_deg: float, lon_deg: float) -> None:
    """Up to 60 degrees within two seconds: horizons of -34' and -50', no air of its own."""
    first = date(2024, 2, 1)
    found = rise_set(lat_deg, lon_deg, first, 40)
    for limit, body, horizon, use_center in (
        (LightLimit.SUN_RIM, ephem.Sun(), "-0:50", True),
        (LightLimit.CIVIL_LIGHT, ephem.Sun(), "-6", True),
        (LightLimit.MOON_RIM, ephem.Moon(), "-0:34", False),
    ):
        observer = ephem.Observer()
        observer.lat, observer.lon = str(lat_deg), str(lon_deg)
        observer.pressure, observer.horizon = 0, horizon
        for rising, step in ((True, observer.next_rising), (False, observer.next_setting)):
            ours = found[limit, rising]
            theirs: list[float] = []
            observer.date = ephem.Date("2024/2/1")
            while len(theirs) < len(ours):
                when = step(body, use_center=use_center)
                theirs.append(when.datetime().replace(tzinfo=UTC).timestamp())
                observer.date = ephem.Date(when + 0.01)
            # Its delta T is some 5 s from the measured one, which moves the sky by as much
            # as the Moon goes in 5 s: a sixth of a second, and its own search stops early.
            assert ours == pytest.approx(np.array(theirs), abs=2.5 if limit != 3 else 8.0)
