"""A station record: what it says of frost and rain, and the time kept spare for rain."""

import math
from collections.abc import Iterator
from datetime import date

from scheduler.frost import Calibration, FrostDates, StationReport
from scheduler.season import SpareTime, share_words, spare_words
from scheduler.terms import day_words, month_words
from scheduler.words.table import Record, Table, picked, table_of

SIDE_WORDS = {
    "last": "chance of another frost on or after a day",
    "first": "chance that the first frost has come by a day",
}
TEST_CAUTION = (
    "Tested on the record itself: chances from the earlier seasons alone, checked in the "
    "later ones. Days of one season go together, so a few seasons are a small test."
)


def station_record(report: StationReport) -> Record:
    """The record, its seasons, dates by chance, severity, and how true the chances were."""
    seasons = report.seasons
    chances = ("p50", "p10", "p05", "error_days")
    return {
        "record": report.record.name,
        "first": report.record.season.first,
        "last": report.record.season.last,
        "threshold_c": report.threshold_c,
        "split": report.climate.cycle.split,
        "left_out": seasons.left_out,
        "last_frosts": seasons.last.by_label,
        "first_frosts": seasons.first.by_label,
        "frost_nights": dict(report.nights),
        "free_season": report.free_season,
        "dates": [
            {
                "threshold_c": at.threshold_c,
                "last_frost": picked(at.last, *chances),
                "first_frost": picked(at.first, *chances),
            }
            for at in report.dates
        ],
        "severity": report.severity,
        "tested": report.tested,
    }


def station_tables(report: StationReport) -> Iterator[Table]:
    """The same as tables."""
    yield _seasons(report)
    yield _dates(report)
    yield _severity(report)
    yield from map(_tested, report.tested)


def _seasons(report: StationReport) -> Table:
    record, nights = report.record, dict(report.nights)
    years, last = report.climate.start_years, report.seasons.last
    last_by, first_by = last.by_label, report.seasons.first.by_label
    winter_of = {at: str(years[row]) for at, row in zip(last.labels, last.rows, strict=True)}
    missing = sum(record.tmin_c != record.tmin_c)
    left_out = report.seasons.left_out

    def on(by_label: dict[str, date | None], label: str) -> str:
        day = by_label.get(label)
        return f"{day:%m-%d}" if day else "none" if label in by_label else "-"

    return table_of(
        f"{record.name}: {day_words(record.season.first)} to {day_words(record.season.last)}",
        sorted({*last_by, *first_by}),
        {
            "season": lambda label: label,
            "last frost": lambda label: on(last_by, label),
            "first frost": lambda label: on(first_by, label),
            "frost nights of the winter before": lambda label: str(
                nights.get(winter_of.get(label, ""), "-")
            ),
        },
        f"Frost is {report.threshold_c:g} °C or colder at the station. Seasons are cut at the "
        f"warmest day, {report.climate.cycle.split} (month-day).",
        f"{missing} of {record.season.n_days} days have no value.",
        f"Left out for missing days: {', '.join(left_out)}." if left_out else "",
        _free(report),
    )


def _free(report: StationReport) -> str:
    free, counts = report.free_season, [n for _, n in report.nights]
    nights = ""
    if counts:
        nights = f"{sum(counts) / len(counts):.0f} frost nights a winter on average. "
    if free is None:
        return nights.strip()
    return (
        f"{nights}The season without frost lasts {free.p50_days:.0f} days in half of the years, "
        f"{free.p90_days:.0f} in nine of ten; the shortest was {free.shortest_days:.0f}."
    )


def _dates(report: StationReport) -> Table:
    return Table(
        "Dates by chance (month-day)",
        ("at or below", "last 50 %", "last 10 %", "last 5 %", "sure to",
         "first 50 %", "first 10 %", "first 5 %", "sure to"),
        tuple(
            (f"{at.threshold_c:g} °C", *_three(at.last), *_three(at.first)) for at in report.dates
        ),
        (
            "A last frost comes later than the date, a first frost earlier, in so many years of a "
            "hundred. Sure to: standard error of the 10 % date, days.",
        ),
    )  # fmt: skip


def _three(dates: FrostDates) -> tuple[str, ...]:
    error = "-" if dates.error_days is None else f"{dates.error_days:.1f}"
    return (*(day or "-" for day in (dates.p50, dates.p10, dates.p05)), error)


def _severity(report: StationReport) -> Table:
    return table_of(
        "Coldest night of each half-month",
        report.severity,
        {
            "half-month": lambda half: f"{half.month:02d}-{'01' if half.half == 1 else '16'}",
            "usual": lambda half: f"{half.p50_c + 0.0:.1f} °C",
            "one year in ten": lambda half: f"{half.p10_c + 0.0:.1f} °C",
            "coldest seen": lambda half: f"{half.lowest_c + 0.0:.1f} °C",
            "on": lambda half: day_words(half.lowest_on),
            "years": lambda half: str(half.n_years),
        },
    )


def _tested(tested: Calibration) -> Table:
    return table_of(
        f"Were the chances true? The {SIDE_WORDS[tested.side]}",
        tested.bins,
        {
            "stated": lambda row: f"{row.stated:.0%}",
            "came true": lambda row: f"{row.observed:.0%}",
            "cases": lambda row: str(row.n_cases),
        },
        f"From {tested.n_trained} seasons, tested on {tested.n_tested}, "
        f"{tested.seasons[0]} to {tested.seasons[1]}.",
        f"Mean squared error (Brier score) {tested.brier:.3f}; saying 50 % always "
        f"{tested.brier_even:.3f}; saying what last year did {tested.brier_previous:.3f}.",
        TEST_CAUTION,
    )


def rain_tables(spare: SpareTime) -> Iterator[Table]:
    """The days too wet for work by month; nothing where the record has no rain."""
    rain = spare.rain
    if rain is None:
        return
    shares = ["too few days" if math.isnan(s) else share_words(s) for s in rain.shares.tolist()]
    yield table_of(
        f"Days too wet for work, {rain.first.year} to {rain.last.year}",
        range(12),
        {
            "month": lambda at: month_words(at + 1),
            "days read": lambda at: str(rain.n_days[at]),
            f"{rain.wet_mm:g} mm or more": lambda at: str(rain.n_wet[at]),
            "share": lambda at: shares[at],
            "rain allowance": lambda at: share_words(float(spare.shares[at])),
        },
        spare_words(spare),
    )


def spare_record(spare: SpareTime) -> Record:
    """The spare time for a program: shares of the hours from January on, and the rain behind."""
    rain = spare.rain
    behind = rain and {
        "record": rain.name,
        **picked(rain, "first", "last", "wet_mm"),
        "least_days": rain.least,
        **picked(rain, "n_days", "n_wet", "shares"),
    }
    return {**picked(spare, "basis", "shares"), "rain": behind}
