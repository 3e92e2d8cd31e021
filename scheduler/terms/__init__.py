"""Words that all rooms share."""

from scheduler.terms.chances import percent_words
from scheduler.terms.days import DaySpan, Season, day_words, frozen, spans_of
from scheduler.terms.notices import Level, Notice
from scheduler.terms.place import Place
from scheduler.terms.rulings import Basis, Ruling

__all__ = [
    "Basis",
    "DaySpan",
    "Level",
    "Notice",
    "Place",
    "Ruling",
    "Season",
    "day_words",
    "frozen",
    "percent_words",
    "spans_of",
]
