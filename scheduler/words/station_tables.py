"""A station record as tables of words and as plain values for programs."""

from collections.abc import Iterator
from datetime import date
from typing import Any

from scheduler.frost import Calibration, DatesAt, FrostDates, HalfMonth, StationReport
from scheduler.terms import day_words
from scheduler.words.sheet import Table

SIDE_WORDS = {
    "last": "chance of another frost on or after a day",
    "first": "chance that the first frost has come by a day",
}
TEST_CAUTION = (
    "Tested on the record itself: chances told from the earlier seasons alone, looked at in the "
    "later ones. Days of one season go together, so a few seasons are a small test."
)


def station_tables(report: StationReport) -> Iterator[Table]:
    """The record, its seasons, dates by chance, severity, and how true the chances were."""
    yield _seasons(report)
    yield _dates(report)
    yield _severity(report)
    for tested in report.tested:
        yield _tested(tested)


def _seasons(report: StationReport) -> Table:
    record, nights = report.record, dict(report.nights)
    years = report.climate.start_years
    last, first = report.seasons.last, report.seasons.first
    last_by, first_by = last.by_label, first.by_label
    winter_of = {at: str(years[row]) for at, row in zip(last.labels, last.rows, strict=True)}
    labels = sorted({*last_by, *first_by})
    missing = sum(record.tmin_c != record.tmin_c)
    return Table(
        f"{record.name}: {day_words(record.season.first)} to {day_words(record.season.last)}",
        ("season", "last frost", "first frost", "frost nights of the winter before"),
        tuple(
            (
                label,
                _day(last_by, label),
                _day(first_by, label),
                str(nights.get(winter_of.get(label, ""), "-")),
            )
            for label in labels
        ),
        tuple(
            filter(
                None,
                (
                    f"Frost is {report.threshold_c:g} °C or colder at the station. Seasons are "
                    f"cut at the warmest day, {report.climate.cycle.split} (month-day).",
                    f"{missing} of {record.season.n_days} days have no value.",
                    _left_out(report),
                    _free(report),
                ),
            )
        ),
    )


def _left_out(report: StationReport) -> str:
    left_out = report.seasons.left_out
    return f"Left out for missing days: {', '.join(left_out)}." if left_out else ""


def _free(report: StationReport) -> str:
    free, mean = report.free_season, report.mean_nights
    nights = f"{mean:.0f} frost nights a winter on average. " if mean is not None else ""
    if free is None:
        return nights.strip()
    return (
        f"{nights}The season without frost lasts {free.p50:.0f} days in half of the years, "
        f"{free.p90:.0f} in nine of ten; the shortest was {free.shortest:.0f}."
    )


def _day(by_label: dict[str, date | None], label: str) -> str:
    if label not in by_label:
        return "-"
    day = by_label[label]
    return f"{day:%m-%d}" if day else "none"


def _dates(report: StationReport) -> Table:
    return Table(
        "Dates by chance (month-day)",
        (
            "at or below",
            *(f"last {chance}" for chance in ("50 %", "10 %", "5 %")),
            "sure to",
            *(f"first {chance}" for chance in ("50 %", "10 %", "5 %")),
            "sure to",
        ),
        tuple(
            (f"{at.threshold_c:g} °C", *_three(at.last), *_three(at.first)) for at in report.dates
        ),
        (
            "A last frost comes later than the date, a first frost earlier, in so many years of a "
            "hundred. Sure to: standard error of the 10 % date, days.",
        ),
    )


def _three(dates: FrostDates) -> tuple[str, ...]:
    told = (dates.p50, dates.p10, dates.p05)
    error = "-" if dates.error_days is None else f"{dates.error_days:.1f}"
    return (*(day or "-" for day in told), error)


def _severity(report: StationReport) -> Table:
    return Table(
        "Coldest night of each half-month",
        ("half-month", "usual", "one year in ten", "coldest seen", "on", "years"),
        tuple(
            (
                f"{half.month:02d}-{'01' if half.half == 1 else '16'}",
                *(f"{c + 0.0:.1f} °C" for c in (half.p50_c, half.p10_c, half.lowest_c)),
                day_words(half.lowest_on),
                str(half.n_years),
            )
            for half in report.severity
        ),
    )


def _tested(tested: Calibration) -> Table:
    return Table(
        f"Were the chances true? The {SIDE_WORDS[tested.side]}",
        ("stated", "came true", "cases"),
        tuple(
            (f"{one.stated:.0%}", f"{one.observed:.0%}", str(one.n_cases)) for one in tested.bins
        ),
        (
            f"Told from {tested.n_trained} seasons, tested on {tested.n_tested}, "
            f"{tested.tested[0]} to {tested.tested[1]}.",
            f"Mean squared error (Brier score) {tested.brier:.3f}; saying 50 % always "
            f"{tested.brier_even:.3f}; saying what last year did {tested.brier_previous:.3f}.",
            TEST_CAUTION,
        ),
    )


def station_record(report: StationReport) -> dict[str, Any]:
    """The same for programs."""
    return {
        "record": report.record.name,
        "first": report.record.season.first.isoformat(),
        "last": report.record.season.last.isoformat(),
        "threshold_c": report.threshold_c,
        "split": report.climate.cycle.split,
        "left_out": list(report.seasons.left_out),
        "last_frosts": _iso_dates(report.seasons.last.by_label),
        "first_frosts": _iso_dates(report.seasons.first.by_label),
        "frost_nights": dict(report.nights),
        "free_season": None
        if report.free_season is None
        else {
            "p50_days": report.free_season.p50,
            "p90_days": report.free_season.p90,
            "shortest_days": report.free_season.shortest,
        },
        "dates": [_dates_at(at) for at in report.dates],
        "severity": [_half(half) for half in report.severity],
        "tested": [_tested_record(tested) for tested in report.tested],
    }


def _iso_dates(by_label: dict[str, date | None]) -> dict[str, str | None]:
    return {label: day.isoformat() if day else None for label, day in by_label.items()}


def _dates_at(at: DatesAt) -> dict[str, Any]:
    return {
        "threshold_c": at.threshold_c,
        **{
            f"{side}_frost": {
                "p50": dates.p50,
                "p10": dates.p10,
                "p05": dates.p05,
                "error_days": dates.error_days,
            }
            for side, dates in (("last", at.last), ("first", at.first))
        },
    }


def _half(half: HalfMonth) -> dict[str, Any]:
    return {
        "month": half.month,
        "half": half.half,
        "p50_c": half.p50_c,
        "p10_c": half.p10_c,
        "lowest_c": half.lowest_c,
        "lowest_on": half.lowest_on.isoformat(),
        "n_years": half.n_years,
    }


def _tested_record(tested: Calibration) -> dict[str, Any]:
    return {
        "side": tested.side,
        "n_trained": tested.n_trained,
        "n_tested": tested.n_tested,
        "seasons": list(tested.tested),
        "brier": round(tested.brier, 4),
        "brier_even": round(tested.brier_even, 4),
        "brier_previous": round(tested.brier_previous, 4),
        "bins": [
            {
                "stated": round(one.stated, 4),
                "observed": round(one.observed, 4),
                "n_cases": one.n_cases,
            }
            for one in tested.bins
        ],
    }
