"""The days and instants of the sky, for people and programs."""

import math
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from scheduler.sky import Sky
from scheduler.words import phrases
from scheduler.words.table import Record, Table, table_of

WIDTH = 7  # cells of the disc from rim to rim; odd, so that its middle has a cell


def sky_record(sky: Sky) -> Record:
    """Instants and days of the sky for a program."""
    sun, ground, civil, moon = sky.sun, sky.ground_light, sky.civil_light, sky.moon
    columns: dict[str, Any] = {
        "sunrise": sun.rises, "sunset": sun.sets,
        "civil_dawn": civil.rises, "civil_dusk": civil.sets,
        "ground_dawn": ground.rises, "ground_dusk": ground.sets,
        "moonrise": moon.rises, "moonset": moon.sets,
        "sun_state": sun.states, "moon_state": moon.states,
        "day_length_h": sun.hours_up, "ground_light_h": ground.hours_up,
        "lit_fraction": sky.lit_fraction, "elongation_deg": sky.elongation_deg,
        "waxing": sky.waxing, "winter_months": sky.winter_months,
    }  # fmt: skip
    days = [
        {"date": day, **{name: column[at] for name, column in columns.items()}}
        for at, day in enumerate(sky.season)
    ]
    events = [
        {
            "event": event.event,
            "utc": event.utc.isoformat().replace("+00:00", "Z"),
            "local": event.local,
        }
        for event in sky.events
    ]
    return {"events": events, "days": days}


def sky_tables(sky: Sky) -> Iterator[Table]:
    """The days of a span, then its instants."""
    southern = sky.place.southern
    yield table_of(
        "Sun and Moon",
        range(sky.season.n_days),
        {
            "day": lambda at: f"{sky.season.date_of(at):%a %Y-%m-%d}",
            "sunrise": lambda at: _clock_times(sky.sun.rises[at]) or sky.sun.states[at].value,
            "sunset": lambda at: _clock_times(sky.sun.sets[at]),
            "light": lambda at: f"{sky.sun.hours_up[at]:.1f} h",
            "moon": lambda at: disc_of(float(sky.elongation_deg[at]), southern=southern),
            "": lambda at: "waxing" if sky.waxing[at] else "waning",
            "rises": lambda at: _clock_times(sky.moon.rises[at]),
            "sets": lambda at: _clock_times(sky.moon.sets[at]),
        },
        phrases.MOON_CAUTION,
    )
    yield table_of(
        "Marks of the sky",
        sky.events,
        {
            "day": lambda event: f"{event.local:%a %Y-%m-%d}",
            "time": lambda event: f"{event.local:%H:%M}",
            "what": lambda event: phrases.EVENT_WORDS[event.event],
        },
    )


def _clock_times(times: tuple[datetime, ...]) -> str:
    return " ".join(f"{time:%H:%M}" for time in times)


def disc_of(elongation_deg: float, *, southern: bool) -> str:
    """A slice through the Moon's disc from its left to its right rim: ``#`` lit, ``.`` dark.

    North of the tropics the Moon stands in the south and waxes from the right; seen from the
    south it waxes from the left. The edge of the light crosses the middle of the disc at
    cos(elongation) of the radius; the elongation is the Moon's ecliptic longitude minus the
    Sun's, degrees: 0 new, 180 full.

    >>> disc_of(90.0, southern=False), disc_of(90.0, southern=True), disc_of(180.0, southern=False)
    ('(...####)', '(####...)', '(#######)')
    """
    waxing = elongation_deg % 360 < 180  # half a round
    edge = math.cos(math.radians(elongation_deg))
    at = [2 * (cell + 0.5) / WIDTH - 1 for cell in range(WIDTH)]
    lit = [(x > edge - 1e-9) if waxing else (x < -edge + 1e-9) for x in at]
    return "(" + "".join("#" if on else "." for on in (lit[::-1] if southern else lit)) + ")"
