"""What in a record looks wrong: told, never changed.

What cannot be right in a single line (a date twice, a value never read on Earth, a
minimum above its maximum) is found in reading, in ``station``. Here a record is
looked at as a whole.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta

import numpy as np

from scheduler.terms import DaySpan, Level, Notice, spans_of
from scheduler.weather.station import Record, first_few

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


def quality_notices(record: Record) -> Iterator[Notice]:
    """Stuck values, jumps and gaps of a record, each with a count and the first few dates."""
    for code, spans, words in (
        ("station-stuck", _stuck(record), f"The same minimum for {STUCK_DAYS} days or more"),
        ("station-jump", _jumps(record), "Jumps that weather hardly makes"),
    ):
        if spans:
            times = "once" if len(spans) == 1 else f"{len(spans)} times"
            says = f"{words}, {times}: {_named(spans)}. Look at the sensor."
            yield Notice(code, Level.WARNING, record.name, says)
    gone = np.isnan(record.tmin_c)
    gaps = spans_of(record.season, gone)
    if gaps:
        long = [gap for gap in gaps if gap.n_days > LONG_GAP_DAYS]
        says = f"{int(gone.sum())} days of {gone.size} are missing, in {len(gaps)} gaps"
        if long:
            says += f"; {len(long)} last more than {LONG_GAP_DAYS} days: {_named(long)}"
        level = Level.WARNING if long else Level.NOTE
        yield Notice("station-gaps", level, record.name, says + ".")


def _stuck(record: Record) -> list[DaySpan]:
    tmin_c = record.tmin_c
    same = np.concatenate((tmin_c[1:] == tmin_c[:-1], [False]))
    runs = spans_of(record.season, same)
    # a run of n equal steps has n + 1 equal days
    longer = [DaySpan(run.first, run.last + timedelta(days=1)) for run in runs]
    return [run for run in longer if run.n_days >= STUCK_DAYS]


def _jumps(record: Record) -> tuple[DaySpan, ...]:
    change = np.diff(record.tmin_c)
    up, down = change[:-1], -change[1:]
    spike = np.zeros(record.season.n_days, dtype=np.bool_)
    spike[1:-1] = (np.sign(up) == np.sign(down)) & (np.minimum(np.abs(up), np.abs(down)) > SPIKE_C)
    spike[1:] |= np.abs(change) > STEP_C
    return spans_of(record.season, spike)


def _named(spans: Sequence[DaySpan]) -> str:
    return first_few([f"{s.first}" if s.n_days == 1 else f"{s.first} to {s.last}" for s in spans])
