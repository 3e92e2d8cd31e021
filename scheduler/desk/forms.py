"""What a form tells, and the files that it meets: shared by all kinds of change."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from scheduler.holding import FIRST_PLAN_DAY, LAST_PLAN_DAY, Holding
from scheduler.season import Placed, Published, person_hours
from scheduler.terms import day_words

Form = Mapping[str, Sequence[str]]  # the values of each field


class UnclearError(Exception):
    """The form does not tell a change; the arguments say what is missing, a line each."""


@dataclass(frozen=True)
class SiteFiles:
    """The files that a change meets."""

    folder: Path  # where they are
    placed: Placed  # the season as they say it, as pages show it
    published: Published  # the days for which visits were last published

    @property
    def holding(self) -> Holding:
        """What they say."""
        return self.placed.holding

    @property
    def as_of(self) -> date:
        """Today."""
        return self.placed.outlook.as_of

    @property
    def plan_file(self) -> str:
        """Name of the file of the plan in force."""
        return self.holding.plan.file

    def read(self, name: str) -> bytes:
        """A file of the site; an empty one where there is none."""
        path = self.folder / name
        return path.read_bytes() if path.exists() else b""


@dataclass(frozen=True)
class SiteEdit:
    """A change to the files of a site."""

    words: str  # what it says, as a sentence
    files: Mapping[str, bytes]  # the files as they would be, by name
    notes: tuple[str, ...] = ()  # what is worth telling of it
    form: Form | None = None  # what tells the same in fewer fields, where there is such


def one_of(form: Form, field: str) -> str:
    """The value of a field, on one line; empty where there is none."""
    return " ".join(typed_in(form, field).split())


def typed_in(form: Form, field: str) -> str:
    """The value of a field as it was typed; empty where there is none."""
    values = form.get(field, ())
    return values[0] if values else ""


def day_of_form(form: Form, field: str, usual: date | None) -> date:
    """The day in a field, or the usual one where it is empty and there is one.

    Raises:
        UnclearError: it is none.
    """
    text = one_of(form, field)
    if not text and usual is not None:
        return usual
    try:
        day = date.fromisoformat(text)
    except ValueError as error:
        raise UnclearError(f"{text!r} is no day; write it as 2027-05-01.") from error
    if not FIRST_PLAN_DAY <= day <= LAST_PLAN_DAY:
        raise UnclearError(f"{text}: that is beyond any plan.")
    return day


def span_of_form(form: Form, usual: date | None) -> tuple[date, date]:
    """The days from ``first`` to ``last``; an empty last is the first.

    Raises:
        UnclearError: one is none, or they are the wrong way round.
    """
    first = day_of_form(form, "first", usual)
    last = day_of_form(form, "last", first)
    if last < first:
        raise UnclearError(f"The last day, {day_words(last)}, comes before {day_words(first)}.")
    return first, last


def hours_of_form(form: Form) -> float | None:
    """Person-hours worked; None where the field is empty.

    Raises:
        UnclearError: they are no number.
    """
    text = one_of(form, "hours")
    try:
        return person_hours(text) if text else None
    except ValueError as error:
        raise UnclearError(f"{error}.") from error
