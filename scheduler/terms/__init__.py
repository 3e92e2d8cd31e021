"""Words that all rooms share."""

from scheduler.terms.days import (
    N_SLOTS,
    DaySpan,
    Place,
    Season,
    day_words,
    days_words,
    frozen,
    month_day_words,
    month_words,
    numbered_runs,
    slot_of,
    span_words,
    spans_of,
)
from scheduler.terms.printing import percent_words, printable
from scheduler.terms.rulings import Basis, Level, Notice, Ruling
