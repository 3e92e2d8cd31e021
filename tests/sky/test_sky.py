"""All of the sky for one site, by civil day."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.sky import Sky, SkyRangeError, sky_of
from scheduler.sky.civil_sky import BodyState
from scheduler.sky.clock import tt_of_utc
from scheduler.sky.ephemeris import NODES_PER_DAY, nodes_of, positions
from scheduler.sky.events import EventName, Look
from scheduler.sky.events import look_at as looked_at
from scheduler.terms import Place, Season
from tests.sky.instants import events_between

# An invented garden in the hills of central Europe and its mirror image.
NORTH = Place(47.5, 13.0, "Europe/Vienna")
SOUTH = Place(-47.5, 13.0, "Europe/Vienna")
YEAR = Season(date(2026, 1, 1), 365)


@pytest.fixture(scope="module")
def north() -> Sky:
    return sky_of(NORTH, YEAR)


@pytest.fixture(scope="module")
def south() -> Sky:
    return sky_of(SOUTH, YEAR)


def look_at(when: datetime, *, terrestrial: bool = False) -> Look:
    nodes = nodes_of(when.date(), when.date())
    posix_s = np.array([when.timestamp()])
    tt_days = (posix_s - 946728000) / 86400 if terrestrial else tt_of_utc(posix_s)
    return looked_at(positions(*nodes), tt_days * NODES_PER_DAY - nodes[0])


def test_every_array_has_the_days_of_the_season_and_is_read_only(north: Sky) -> None:
    courses = (north.sun, north.ground_light, north.civil_light, north.moon)
    ours = [value for value in vars(north).values() if isinstance(value, np.ndarray)]
    arrays = [*ours, *(course.hours_up for course in courses)]
    assert len(arrays) == 7
    for array in arrays:
        assert array.shape == (365,)
        assert not array.flags.writeable
    assert all(len(course.rises) == len(course.sets) == 365 for course in courses)
    assert len(north.sun.states) == len(north.moon.states) == 365


def test_the_days_agree_with_the_lists(north: Sky) -> None:
    """Day length is sunset less sunrise, and less than the light that frames it."""
    for day in range(365):
        (rise,), (down,) = north.sun.rises[day], north.sun.sets[day]
        assert north.sun.hours_up[day] == pytest.approx(
            (down.astimezone(UTC) - rise.astimezone(UTC)) / timedelta(hours=1), abs=1e-6
        )
    assert (north.sun.hours_up < north.ground_light.hours_up).all()


def test_local_times_carry_the_zone(north: Sky) -> None:
    assert north.sun.rises[0][0].utcoffset() == timedelta(hours=1)
    assert north.sun.rises[180][0].utcoffset() == timedelta(hours=2)
    assert north.sun.rises[0][0].tzinfo == ZoneInfo("Europe/Vienna")


def test_events_are_those_whose_local_date_lies_in_the_season(north: Sky) -> None:
    begin = datetime(2026, 1, 1, tzinfo=ZoneInfo("Europe/Vienna"))
    end = datetime(2027, 1, 1, tzinfo=ZoneInfo("Europe/Vienna"))
    plain = events_between(begin.astimezone(UTC), end.astimezone(UTC))
    assert [(e.event, e.utc) for e in north.events] == [(e.event, e.utc) for e in plain]
    assert all(event.local == event.utc for event in north.events)


def test_an_event_belongs_to_the_date_on_the_local_clock() -> None:
    # New moon 2024-02-09 22:59 UT (US Naval Observatory): 10 February at 0 h 28 in Nepal's
    # neighbour India, the 9th, a minute before midnight, in Paris.
    season = Season(date(2024, 2, 9), 1)
    paris = sky_of(Place(48.9, 2.3, "Europe/Paris"), season)
    kolkata = sky_of(Place(22.6, 88.4, "Asia/Kolkata"), season)
    assert EventName.NEW_MOON in [event.event for event in paris.events]
    assert EventName.NEW_MOON not in [event.event for event in kolkata.events]


@pytest.mark.parametrize(
    ("zone", "clock", "name"),
    [
        # Phases within a minute of local midnight (found with skyfield; a table rounded to
        # minutes or made with another delta T may show the neighbouring date).
        ("Etc/UTC", "2031-12-21 00:00:33", "first_quarter"),
        ("Europe/Paris", "2024-02-09 23:59:10", "new_moon"),
        ("America/New_York", "2021-01-13 00:00:10", "new_moon"),
        ("Asia/Kolkata", "2033-05-21 23:59:00", "last_quarter"),
        ("Asia/Kolkata", "2052-02-01 00:00:25", "new_moon"),
        ("Australia/Sydney", "2040-04-12 00:00:15", "new_moon"),
    ],
)
def test_a_phase_on_the_edge_of_a_date_is_of_its_own_date(
    zone: str, clock: str, name: str
) -> None:
    when = datetime.fromisoformat(clock)
    sky = sky_of(Place(30.0, 10.0, zone), Season(when.date(), 1))
    event = next(event for event in sky.events if event.event == name)
    assert abs((event.local.replace(tzinfo=None) - when).total_seconds()) < 2


def test_mirrored_sites_swap_their_seasons_and_keep_their_phases(north: Sky, south: Sky) -> None:
    assert north.events == south.events
    assert (north.lit_fraction == south.lit_fraction).all()
    assert (north.waxing == south.waxing).all()
    assert (north.elongation_deg == south.elongation_deg).all()
    assert (north.winter_months + 6) % 12 == pytest.approx(south.winter_months, abs=1e-9)
    # Half a year apart the mirrored sites have the same day, but for the Earth's orbit, whose
    # two halves differ by some days.
    assert north.sun.hours_up[:180] == pytest.approx(south.sun.hours_up[183:363], abs=0.25)


def test_the_season_clock_runs_from_one_winter_solstice_to_the_next(north: Sky) -> None:
    # Solstices and equinoxes of 2026: 03-20 14:46, 06-21 08:24, 09-23 00:05, 12-21 20:50 UT.
    by_date = {YEAR.date_of(day): value for day, value in enumerate(north.winter_months)}
    assert by_date[date(2026, 3, 20)] < 3 < by_date[date(2026, 3, 21)]
    assert by_date[date(2026, 6, 21)] == pytest.approx(6, abs=0.01)
    assert by_date[date(2026, 9, 22)] < 9 < by_date[date(2026, 9, 23)]
    assert by_date[date(2026, 12, 21)] > 11.97
    assert by_date[date(2026, 12, 22)] < 0.03
    steps = np.diff(north.winter_months) % 12
    # 30 degrees take 29.4 to 31.5 days; two noons stand 23 to 25 hours apart.
    assert 0.0304 < steps.min() < steps.max() < 0.0355


def test_the_moon_waxes_from_new_to_full(north: Sky) -> None:
    """By elongation, never by the lit fraction; at local noon of every day."""
    phases = [e for e in north.events if e.event in (EventName.NEW_MOON, EventName.FULL_MOON)]
    assert len(phases) > 20
    assert len(north.waxing) == YEAR.n_days
    for day, waxing in enumerate(north.waxing):
        noon = datetime(2026, 1, 1, 12, tzinfo=ZoneInfo("Europe/Vienna")) + timedelta(days=day)
        past = [event for event in phases if event.local <= noon]
        if past:
            assert waxing == (past[-1].event is EventName.NEW_MOON)


def test_lit_fraction_of_the_naval_observatory() -> None:
    # US Naval Observatory, fraction illuminated at 5 h UT, 2018-09-09 to 09-18, as quoted in
    # skyfield 1.55, tests/test_almanac.py.
    published = [0, 0, 0.03, 0.08, 0.15, 0.24, 0.33, 0.43, 0.52, 0.62]
    days = [datetime(2018, 9, 9, 5, tzinfo=UTC) + timedelta(days=n) for n in range(10)]
    assert [round(float(look_at(day).lit_fraction[0]), 2) for day in days] == published


def test_lit_fraction_of_meeus_example_48() -> None:
    # Meeus, Astronomical Algorithms, 2nd ed., example 48.a: 1992-04-12, 0 h TD, phase angle
    # 69.0756 degrees, so that (1 + cos i) / 2 = 0.6786.
    look = look_at(datetime(1992, 4, 12, tzinfo=UTC), terrestrial=True)
    assert look.lit_fraction[0] == pytest.approx(0.6786, abs=0.001)


def test_light_at_the_phases() -> None:
    """Half lit is not quarter: at the quarters 0.5012 to 0.5014 of the disc is lit."""
    events = events_between(datetime(2026, 1, 1, tzinfo=UTC), datetime(2027, 1, 1, tzinfo=UTC))
    assert len(events) > 40
    for event in events:
        look = look_at(event.utc)
        if event.event in (EventName.FIRST_QUARTER, EventName.LAST_QUARTER):
            assert 0.5011 < look.lit_fraction[0] < 0.5015
            turn = 90 if event.event is EventName.FIRST_QUARTER else 270
            assert look.elongation_deg[0] == pytest.approx(turn, abs=1e-5)
        elif event.event is EventName.FULL_MOON:
            assert look.lit_fraction[0] > 0.998
            assert look.elongation_deg[0] == pytest.approx(180, abs=1e-5)
        elif event.event is EventName.NEW_MOON:
            assert look.lit_fraction[0] < 0.002


@given(
    lat_deg=st.floats(-90, 90),
    lon_deg=st.floats(-180, 180),
    first=st.dates(date(1900, 1, 1), date(2053, 9, 1)),
    zone=st.sampled_from(["Etc/UTC", "Asia/Tokyo", "America/Denver", "Pacific/Kiritimati"]),
    horizon_deg=st.floats(0, 45),
)
@settings(max_examples=40, deadline=None)
def test_what_holds_everywhere(
    lat_deg: float, lon_deg: float, first: date, zone: str, horizon_deg: float
) -> None:
    sky = sky_of(Place(lat_deg, lon_deg, zone, horizon_deg), Season(first, 30))
    tiny = 1e-9
    for light_h in (sky.sun.hours_up, sky.ground_light.hours_up):
        assert ((light_h > -tiny) & (light_h < 25 + tiny)).all()
    assert (sky.sun.hours_up <= sky.ground_light.hours_up + tiny).all()
    assert ((sky.lit_fraction >= 0) & (sky.lit_fraction <= 1)).all()
    assert ((sky.winter_months >= 0) & (sky.winter_months < 12)).all()
    assert ((np.diff(sky.elongation_deg) % 360 > 9) | (np.diff(sky.elongation_deg) == 0)).all()
    for day, (rise, down, state) in enumerate(
        zip(sky.sun.rises, sky.sun.sets, sky.sun.states, strict=True)
    ):
        assert (state is BodyState.RISES_OR_SETS) == bool(rise or down)
        assert abs(len(rise) - len(down)) <= 1
        if state is BodyState.DOWN_ALL_DAY:
            assert sky.sun.hours_up[day] == pytest.approx(0, abs=tiny)
        if state is BodyState.UP_ALL_DAY:
            assert sky.sun.hours_up[day] > 21
    for rise, down, state in zip(sky.moon.rises, sky.moon.sets, sky.moon.states, strict=True):
        assert (state is BodyState.RISES_OR_SETS) == bool(rise or down)
        assert abs(len(rise) - len(down)) <= 1


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Etc/GMT+12", "Etc/UTC"])
def test_the_first_and_the_last_days_are_served_in_every_zone(zone: str) -> None:
    place = Place(10.0, 20.0, zone)
    for first in (date(1900, 1, 1), date(2053, 9, 28)):
        sky = sky_of(place, Season(first, 3))
        assert [len(day) for day in sky.sun.rises] == [1, 1, 1]


@pytest.mark.parametrize(
    ("first", "last", "n_solstices"),
    [(date(1900, 1, 1), date(1924, 12, 31), 25), (date(2029, 1, 1), date(2053, 9, 30), 24)],
)
def test_many_years_in_one_season_at_both_ends_of_those_covered(
    first: date, last: date, n_solstices: int
) -> None:
    season = Season.between(first, last)
    sky = sky_of(NORTH, season)
    assert all(len(day) == 1 for day in sky.sun.rises)
    assert [sum(map(len, days)) for days in (sky.sun.rises, sky.sun.sets)] == [season.n_days] * 2
    # As many moonrises as days less one for every lunation of 29.530589 days.
    rises = sum(map(len, sky.moon.rises))
    assert rises == pytest.approx(season.n_days * (1 - 1 / 29.530589), abs=2)
    assert len([e for e in sky.events if e.event is EventName.DECEMBER_SOLSTICE]) == n_solstices


@pytest.mark.parametrize(
    "season",
    [
        Season(date(1899, 12, 31), 1),
        Season(date(1899, 12, 31), 400),
        Season(date(2053, 10, 1), 1),
        Season(date(2053, 9, 30), 2),
        Season(date(2200, 1, 1), 1),
    ],
)
def test_a_season_beyond_the_ephemeris_is_refused_by_even_a_day(season: Season) -> None:
    with pytest.raises(SkyRangeError, match=r"\d is outside the years .* from 1900-01-01 to"):
        sky_of(NORTH, season)
    assert issubclass(SkyRangeError, ValueError)


def test_a_zone_that_is_none_is_refused() -> None:
    with pytest.raises(ZoneInfoNotFoundError):
        sky_of(Place(0.0, 0.0, "Europe/Nowhere"), Season(date(2026, 1, 1), 1))


def test_the_sky_of_a_part_is_part_of_the_sky(north: Sky) -> None:
    part = sky_of(NORTH, Season(date(2026, 5, 10), 31))
    begin = YEAR.day_of(date(2026, 5, 10))
    assert part.sun.hours_up == pytest.approx(north.sun.hours_up[begin : begin + 31], abs=1e-9)
    assert (part.elongation_deg == north.elongation_deg[begin : begin + 31]).all()
    assert set(part.events) <= set(north.events)
    both = zip(part.moon.rises, north.moon.rises[begin : begin + 31], strict=True)
    assert any(part.moon.rises)
    for ours, theirs in both:
        assert [a.replace(microsecond=0) for a in ours] == [
            b.replace(microsecond=0) for b in theirs
        ]
