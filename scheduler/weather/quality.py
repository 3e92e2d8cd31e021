"""What in a record looks wrong: told, never changed.

What cannot be right in a single line (a date twice, a value never read on Earth, a
minimum above its maximum) is found in reading, in ``station``. Here a record is
looked at as a whole.
"""

from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.terms import DaySpan, Level, Notice, Season, spans_of
from scheduler.weather.station import Record

# A run of equal minima as long as this is a sensor that stands still. In 41 years of daily
# minima read to whole degrees F the longest run was 5 days: measured on the record of
# Milwaukee, GHCN-Daily USW00014839.
STUCK_DAYS = 7

# Colder, or warmer, than both neighbours by more: in the same record at most 12.2 degrees C.
SPIKE_C = 15.0

# From one day to the next: the largest change in the same record was 18.9 degrees C.
STEP_C = 25.0

# A gap worth telling; shorter ones are counted only.
LONG_GAP_DAYS = 10

_MAX_NAMED = 3


def quality_notices(record: Record) -> tuple[Notice, ...]:
    """Stuck values, jumps and gaps of a record, each with a count and the first few dates.

    Args:
        record: daily minima.

    Returns:
        At most one notice of each kind.
    """
    found = (
        ("station-stuck", _stuck(record), f"The same minimum for {STUCK_DAYS} days or more"),
        ("station-jump", _jumps(record), "Jumps that weather hardly makes"),
    )
    notices = [
        Notice(code, Level.WARNING, record.name, _said(words, spans))
        for code, spans, words in found
        if spans
    ]
    gap = _gap_notice(record)
    return (*notices, gap) if gap else tuple(notices)


def _said(words: str, spans: tuple[DaySpan, ...]) -> str:
    times = "once" if len(spans) == 1 else f"{len(spans)} times"
    return f"{words}, {times}: {_named(spans)}. Look at the sensor."


def _stuck(record: Record) -> tuple[DaySpan, ...]:
    tmin_c = record.tmin_c
    same = np.concatenate((tmin_c[1:] == tmin_c[:-1], [False]))
    runs = spans_of(record.season, same)
    # a run of n equal steps has n + 1 equal days
    longer = [DaySpan(run.first, _next(record.season, run.last)) for run in runs]
    return tuple(run for run in longer if run.n_days >= STUCK_DAYS)


def _next(season: Season, day: date) -> date:
    return season.date_of(season.day_of(day) + 1)


def _jumps(record: Record) -> tuple[DaySpan, ...]:
    change = np.diff(record.tmin_c)
    up, down = change[:-1], -change[1:]
    spike = np.zeros(record.season.n_days, dtype=np.bool_)
    spike[1:-1] = (np.sign(up) == np.sign(down)) & (np.minimum(np.abs(up), np.abs(down)) > SPIKE_C)
    spike[1:] |= np.abs(change) > STEP_C
    return spans_of(record.season, spike)


def _gap_notice(record: Record) -> Notice | None:
    gone: NDArray[np.bool_] = np.isnan(record.tmin_c)
    if not gone.any():
        return None
    gaps = spans_of(record.season, gone)
    long = [gap for gap in gaps if gap.n_days > LONG_GAP_DAYS]
    says = f"{int(gone.sum())} days of {gone.size} are missing, in {len(gaps)} gaps"
    if long:
        says += f"; {len(long)} last more than {LONG_GAP_DAYS} days: {_named(tuple(long))}"
    level = Level.WARNING if long else Level.NOTE
    return Notice("station-gaps", level, record.name, says + ".")


def _named(spans: tuple[DaySpan, ...]) -> str:
    """The first few spans, and how many more there are."""
    words = [
        f"{span.first}" if span.n_days == 1 else f"{span.first} to {span.last}"
        for span in spans[:_MAX_NAMED]
    ]
    more = len(spans) - _MAX_NAMED
    return ", ".join(words) + (f" and {more} more" if more > 0 else "")
