"""Writes the invented logger, forecasts and evenings of the demo site branasol.

No logger stood there, and nobody made these forecasts. They are drawn around the invented
station record, by the models and the seed that stand here. Run from the top of the project,
after make_station_records.py:

    python tests/truth/make_frost_files.py
"""

import math
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np

SITE = Path("sites") / "branasol"
SEED = 20261127
# The plot minus the station on a night, and how it varies, degrees C.
PLOT_C, PLOT_SPREAD_C = -0.6, 0.7
LOGGED = (date(2026, 2, 1), date(2026, 4, 30))
FORECAST = (date(2026, 3, 10), date(2026, 5, 10))
# Forecast minus outcome: its mean and its spread by night ahead, degrees C.
BIAS_C, ERRORS_C = 0.6, (1.2, 1.4, 1.7, 2.0, 2.3, 2.6, 2.9)
LATEST = (date(2026, 11, 25), (1.5, -1.0, -4.0, -2.5, 1.0, 3.0, 4.0))
N_EVENINGS = 24
# The night's minimum from temperature and dew point two hours after sunset.
ON_TEMPERATURE, ON_DEW_POINT, START_C, LEFT_C = 0.72, 0.18, -4.6, 0.9

NOTE = "# INVENTED. {what}; drawn by tests/truth/make_frost_files.py, seed {seed}\n"


def station() -> dict[date, float]:
    """The invented record by day."""
    lines = (SITE / "station.csv").read_text("utf-8").splitlines()
    rows = (line.split(",") for line in lines if line[:2] in ("19", "20"))
    return {date.fromisoformat(day): float(low_c) for day, low_c, *_ in rows}


def days_between(first: date, last: date) -> list[date]:
    """Every day, both ends included."""
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def logger_text(tmin_c: dict[date, float], rng: np.random.Generator) -> str:
    """Hourly readings: the night's minimum at 6, eleven degrees more at 15 o'clock."""
    lines = [NOTE.format(what="A logger in O Novo that nobody put there", seed=SEED)]
    lines.append("timestamp,temp_c\n")
    for day in days_between(*LOGGED):
        low_c = tmin_c[day] + PLOT_C + PLOT_SPREAD_C * rng.standard_normal()
        for hour in range(24):
            wave = (1 - math.cos(2 * math.pi * (hour - 6) / 24)) / 2
            now = datetime(day.year, day.month, day.day, hour)  # noqa: DTZ001  # a logger's own clock
            lines.append(f"{now:%Y-%m-%d %H:%M},{low_c + 11 * wave:.1f}\n")
    return "".join(lines)


def forecast_text(tmin_c: dict[date, float], rng: np.random.Generator) -> str:
    """A forecast each evening of a spring, and the latest one."""
    lines = [NOTE.format(what="Forecasts that nobody made", seed=SEED), "issued,date,tmin_c\n"]
    for issued in days_between(*FORECAST):
        for lead, error_c in enumerate(ERRORS_C, start=1):
            day = issued + timedelta(days=lead)
            told_c = tmin_c[day] + BIAS_C + error_c * rng.standard_normal()
            lines.append(f"{issued},{day},{told_c:.1f}\n")
    issued, minima = LATEST
    ahead = enumerate(minima, start=1)
    lines += [f"{issued},{issued + timedelta(days=n)},{low_c}\n" for n, low_c in ahead]
    return "".join(lines)


def evenings_text(tmin_c: dict[date, float], rng: np.random.Generator) -> str:
    """Clear evenings that lead, by a straight line and some noise, to the recorded minima."""
    lines = [NOTE.format(what="Evenings that nobody read", seed=SEED)]
    lines.append("date,temperature_c,dew_point_c,tmin_c\n")
    cold = sorted(day for day in days_between(*LOGGED) if tmin_c[day] < 3)[:N_EVENINGS]
    for day in cold:
        dew_c = tmin_c[day] - 1 + 1.5 * rng.standard_normal()
        left_c = LEFT_C * rng.standard_normal()
        at_two_c = (tmin_c[day] - START_C - ON_DEW_POINT * dew_c - left_c) / ON_TEMPERATURE
        lines.append(f"{day},{at_two_c:.1f},{min(dew_c, at_two_c):.1f},{tmin_c[day]:.1f}\n")
    return "".join(lines)


if __name__ == "__main__":
    record, random = station(), np.random.default_rng(SEED)
    for name, text in (
        ("logger-novo.csv", logger_text(record, random)),
        ("forecast.csv", forecast_text(record, random)),
        ("evenings.csv", evenings_text(record, random)),
    ):
        (SITE / name).write_text(text, encoding="utf-8")
        print("wrote", SITE / name)
