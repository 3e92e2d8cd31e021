"""The sky room against skyfield's tuned searches and PyEphem, in one run.

Run ``python -m tests.bench.bench_sky``. It prints

* one site-year of everything: milliseconds and ratios to both peers, whose rounds are
  interleaved with ours, so that a slow moment of the machine is shared.

Our figure is that of :func:`scheduler.sky.sky_of` with its caches emptied: reading the
kernel, all events, all rises, sets, hours of light, states, and every instant as a local
``datetime``. The peers stop at their own kinds of instants, in UTC, and do less: no light
at -3 degrees, no day tables.
"""

import statistics
import time
from collections.abc import Callable, Iterable
from contextlib import closing
from datetime import date
from importlib.resources import as_file, files
from typing import Any

import ephem
from skyfield import almanac
from skyfield.iokit import Loader
from skyfield.jpllib import SpiceKernel
from skyfield.searchlib import find_discrete
from skyfield.toposlib import wgs84

from scheduler.sky import ephemeris, events, sky_of
from scheduler.terms import Place, Season

YEAR = 2027
LAT_DEG, LON_DEG = 45.0, 7.0
ROUNDS = 9
SECOND_D = 1 / 86400


def ours() -> int:
    """One site-year of everything, from nothing; the number of instants."""
    ephemeris.positions.cache_clear()
    events._instants.cache_clear()
    return ours_again()


def ours_again() -> int:
    """The same for a further site in the same season."""
    sky = sky_of(Place(LAT_DEG, LON_DEG, "Europe/Rome"), Season(date(YEAR, 1, 1), 365))
    lists = (
        times
        for course in (sky.sun, sky.civil_light, sky.moon)
        for times in (course.rises, course.sets)
    )
    return len(sky.events) + sum(len(day) for days in lists for day in days)


class Skyfield:
    """Skyfield 1.5x with the searches and settings that serve it best."""

    def __init__(self, kernel: Any) -> None:
        self.kernel = kernel
        self.scale = Loader(".").timescale(builtin=True)
        self.ends = self.scale.utc(YEAR, 1, 1), self.scale.utc(YEAR + 1, 1, 1)
        self.observer = kernel["earth"] + wgs84.latlon(LAT_DEG, LON_DEG)

    def events(self) -> int:
        """Phases and seasons; how many."""
        states = almanac.moon_phases(self.kernel), almanac.seasons(self.kernel)
        return sum(len(find_discrete(*self.ends, one, epsilon=SECOND_D)[0]) for one in states)

    def rise_set(self) -> int:
        """Rise, set and civil twilight by the library's fast searches; how many."""
        count = 0
        for body, horizon_deg in (("sun", None), ("sun", -6.0), ("moon", None)):
            for search in (almanac.find_risings, almanac.find_settings):
                _, real = search(
                    self.observer, self.kernel[body], *self.ends, horizon_degrees=horizon_deg
                )
                count += int(real.sum())
        return count


class PyEphem:
    """PyEphem 4.2, whose arithmetic is in C."""

    phases = (
        ephem.next_new_moon,
        ephem.next_first_quarter_moon,
        ephem.next_full_moon,
        ephem.next_last_quarter_moon,
    )
    seasons = (
        ephem.next_vernal_equinox,
        ephem.next_summer_solstice,
        ephem.next_autumn_equinox,
        ephem.next_winter_solstice,
    )
    first, last = ephem.Date(f"{YEAR}/1/1"), ephem.Date(f"{YEAR + 1}/1/1")

    def events(self) -> int:
        """Phases and seasons; how many."""
        return sum(len(list(self._walk(step))) for step in (*self.phases, *self.seasons))

    def _walk(self, step: Callable[[Any], Any]) -> Iterable[float]:
        """All instants of one kind in the year."""
        when = step(self.first)
        while when < self.last:
            yield when
            when = step(ephem.Date(when + 1))

    def rise_set(self) -> int:
        """Rise, set and civil twilight, one after another; how many."""
        observer = ephem.Observer()
        observer.lat, observer.lon, observer.pressure = str(LAT_DEG), str(LON_DEG), 0
        count = 0
        for body, horizon in (
            (ephem.Sun(), "-0:50"),
            (ephem.Sun(), "-6"),
            (ephem.Moon(), "-0:34"),
        ):
            observer.horizon = horizon
            use_center = not isinstance(body, ephem.Moon)
            for step in (observer.next_rising, observer.next_setting):
                observer.date = self.first
                while (when := step(body, use_center=use_center)) < self.last:
                    observer.date = when + 0.01
                    count += 1
        return count


def timed(work: Callable[[], int]) -> tuple[float, int]:
    """Milliseconds and the number of instants found."""
    begin = time.perf_counter()
    count = work()
    return (time.perf_counter() - begin) * 1000, count


def one_site_year(kernel: Any) -> None:
    """Everything of one site-year, all peers in turn, medians and ratios."""
    skyfield, pyephem = Skyfield(kernel), PyEphem()
    work: dict[str, Callable[[], int]] = {
        "this room, cold": ours,
        "this room, again": ours_again,
        "skyfield tuned: events": skyfield.events,
        "skyfield tuned: rise, set, civil": skyfield.rise_set,
        "PyEphem: events": pyephem.events,
        "PyEphem: rise, set, civil": pyephem.rise_set,
    }
    rounds = [{name: timed(do) for name, do in work.items()} for _ in range(ROUNDS + 1)][1:]
    print(f"one site-year of everything, {LAT_DEG} N {LON_DEG} E, {YEAR}, {ROUNDS} rounds")
    for name in work:
        spent = [one[name][0] for one in rounds]
        print(f"  {name:34} {statistics.median(spent):8.1f} ms  {rounds[0][name][1]:5} instants")
    for peer, limit in (("skyfield tuned", 10), ("PyEphem", 8)):
        ratios = [
            sum(spent for name, (spent, _) in one.items() if name.startswith(peer))
            / one["this room, cold"][0]
            for one in rounds
        ]
        print(
            f"  {peer} takes {statistics.median(ratios):.1f} times as long "
            f"(least {min(ratios):.1f}; asked for: {limit})"
        )


def main() -> None:
    """All of it."""
    with (
        as_file(files("skyfield_data") / "data" / "de421.bsp") as path,
        closing(SpiceKernel(str(path))) as kernel,
    ):
        one_site_year(kernel)


if __name__ == "__main__":
    main()
