"""What happens in the field, as changes to the grower's files.

A change is told by the fields of a form. It is made anew from them whenever it is tried or kept,
so that it always meets the files as they are then.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import isfinite
from pathlib import Path
from typing import Any

import tomlkit

from scheduler.desk.stock_edits import (
    NEW,
    OUT,
    STOCK_FILE,
    RowChangedError,
    stock_table,
    stock_with,
)
from scheduler.desk.toml_edits import Entry, with_changed, with_entry, without_entry
from scheduler.holding import LOG_FILE, Holding, log_with
from scheduler.season import NotLoggedError, Placed, Published, Said, recorded, ticked
from scheduler.stand import tasks_of
from scheduler.terms import day_words, span_words
from scheduler.weather import with_nights

Form = Mapping[str, Sequence[str]]  # the values of each field
CREW_FILE, SITE_FILE = "crew.toml", "site.toml"
_STOCK_FIELD = re.compile(r"stock\.([0-9a-f]{16}|new)\.(\w+)")
_NIGHT = re.compile(r"(\d{4}-\d\d-\d\d)[\s,;]+(-?\d+(?:[.,]\d+)?)")
_ISSUED_NIGHT = re.compile(r"(\d{4}-\d\d-\d\d)[\s,;]+(\d{4}-\d\d-\d\d)[\s,;]+(-?\d+(?:[.,]\d+)?)")


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
        return f"plan-{self.holding.plan.id}.toml"

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


def change_of(form: Form, site: SiteFiles) -> SiteEdit:
    """The change that a form tells.

    Raises:
        UnclearError: something is missing or cannot be read.
        FaultyFilesError: a file has a form in which the change cannot be made.
    """
    kind = _KINDS.get(_one(form, "kind"))
    if kind is None:
        raise UnclearError("The form names nothing that can be recorded here.")
    return kind(form, site)


def _rain(form: Form, site: SiteFiles) -> SiteEdit:
    first = _day(form, "first", site.as_of)
    last = _day(form, "last", first)
    if last < first:
        raise UnclearError(f"The last day, {day_words(last)}, comes before {day_words(first)}.")
    why = _one(form, "why") or "rain"
    entry: dict[str, Any] = {"first": first, "last": last, "why": why}
    if last == first:
        del entry["last"]
    if all(_is_closed(day, site) for day in _days(first, last)):
        raise UnclearError(f"{span_words(first, last)}: closed already, for all work.")
    files = {
        site.plan_file: with_entry(site.read(site.plan_file), site.plan_file, "closed", entry)
    }
    return SiteEdit(f"No work on {span_words(first, last)}: {why}.", files)


def _days(first: date, last: date) -> Iterator[date]:
    return (first + timedelta(days=n) for n in range((last - first).days + 1))


def _is_closed(day: date, site: SiteFiles) -> bool:
    closed = site.holding.plan.says.closed
    return any(day in each.span for each in closed if not (each.types or each.plots))


def _away(form: Form, site: SiteFiles) -> SiteEdit:
    name, first = _one(form, "person"), _day(form, "first", site.as_of)
    last = _day(form, "last", first)
    people = [person.name for person in site.holding.crew.person]
    if name not in people:
        raise UnclearError(f"Nobody of the crew is called {name!r}.")
    if last < first:
        raise UnclearError(f"The last day, {day_words(last)}, comes before {day_words(first)}.")

    def add_days_off(person: Entry) -> None:
        person.setdefault("off", tomlkit.array())
        person["off"].append(tomlkit.inline_table() | {"first": first, "last": last})

    at = people.index(name)
    files = {CREW_FILE: with_changed(site.read(CREW_FILE), CREW_FILE, "person", at, add_days_off)}
    return SiteEdit(f"{name} is away: {span_words(first, last)}.", files)


def _own_day(form: Form, site: SiteFiles) -> SiteEdit:
    visit, how = _one(form, "visit"), _one(form, "how")
    own = [each.task for each in site.holding.plan.says.own_date]
    if visit not in {*own, *(task.visit_id for task in tasks_of(site.holding))}:
        raise UnclearError("Choose the visit that the day is for.")
    name, content = site.plan_file, site.read(site.plan_file)
    if how == "none":
        if visit not in own:
            raise UnclearError("No day of your own is set for that visit.")
        files = {name: without_entry(content, name, "own_date", own.index(visit))}
        return SiteEdit(f"{visit}: no day of your own any more.", files)
    words = {"on": "begins on", "not_before": "not before", "not_after": "finished by"}.get(how)
    if words is None:
        raise UnclearError("Say whether it begins on that day, not before it, or is done by it.")
    day, why = _day(form, "day", None), _one(form, "why") or "the grower's word"

    def set_day(entry: Entry) -> None:
        for key in ("on", "not_before", "not_after"):
            entry.pop(key, None)
        entry[how], entry["why"] = day, why

    if visit in own:
        edited = with_changed(content, name, "own_date", own.index(visit), set_day)
    else:
        edited = with_entry(content, name, "own_date", {"task": visit, how: day, "why": why})
    return SiteEdit(f"{visit}: {words} {day_words(day)}; {why}.", {name: edited})


def _done(form: Form, site: SiteFiles) -> SiteEdit:
    what, steps = _one(form, "what"), tuple(form.get("step", ()))
    if not what:
        raise UnclearError("Choose the visit that was worked on.")
    if "steps" in form and not steps:
        raise UnclearError("Tick the steps that are done.")
    percent = 100 if _one(form, "all") else None
    hours, note = _hours(form), _one(form, "note")
    said = Said(_day(form, "on", site.as_of), percent, None, hours, note)
    try:
        if steps:
            told = ticked(site.placed, what, steps, said)
        else:
            told = recorded(site.holding, [what], said, site.as_of, site.published)
    except NotLoggedError as error:
        raise UnclearError(*error.args) from error
    rows = "; ".join(f"{entry.task} {entry.percent} %" for entry in told.entries)
    worked = "" if hours is None else f", {hours:g} person-hours"
    words = f"Done on {day_words(said.on)}{worked}: {rows}."
    return SiteEdit(words, {LOG_FILE: log_with(site.folder, told.entries)}, told.words)


def _stock(form: Form, site: SiteFiles) -> SiteEdit:
    old = site.read(STOCK_FILE)
    edits = _stock_edits(form, stock_table(old).columns)
    try:
        new = stock_with(old, edits)
    except RowChangedError as error:
        raise UnclearError(
            "A row was changed by somebody else meanwhile; look at the table again."
        ) from error
    if new == old:
        raise UnclearError("Nothing in the table is changed.")
    gone = sum(OUT in edit for edit in edits.values())
    kept = len(edits) - gone - (NEW in edits)
    counts = ((kept, "changed"), (gone, "taken out"), (int(NEW in edits), "added"))
    words = ", ".join(f"{n} {word}" for n, word in counts if n)
    fewer = {
        f"stock.{mark}.{column}": [told]
        for mark, edit in edits.items()
        for column, told in edit.items()
    }
    return SiteEdit(f"Stock: rows {words}.", {STOCK_FILE: new}, form={"kind": ["stock"], **fewer})


def _stock_edits(form: Form, columns: Sequence[str]) -> dict[str, dict[str, str]]:
    """The cells that are told anew, by mark of the row; ``was`` tells how they were seen."""
    rows: dict[str, dict[str, str]] = {}
    for field, values in form.items():
        if found := _STOCK_FIELD.fullmatch(field):
            rows.setdefault(found[1], {})[found[2]] = values[0]
    edits = {}
    for mark, told in rows.items():
        seen = dict(zip(columns, told.pop("was", "").split("\t"), strict=False))
        edit = {
            column: cell for column, cell in told.items() if cell.strip() != seen.get(column, "")
        }
        if edit:
            edits[mark] = edit
    return edits


def _forecast(form: Form, site: SiteFiles) -> SiteEdit:
    nights = _nights(_one(form, "nights"), _day(form, "issued", site.as_of))
    name = site.holding.site.frost.forecast
    files: dict[str, bytes] = {}
    if name is None:
        name = "forecast.csv"

        def add_forecast(frost: Entry) -> None:
            frost["forecast"] = name

        files[SITE_FILE] = with_changed(site.read(SITE_FILE), SITE_FILE, "frost", 0, add_forecast)
    old = site.read(name) or b"issued,date,tmin_c\n"
    files = {name: with_nights(old, name, nights), **files}
    coldest = min(float(tmin) for _, _, tmin in nights)
    words = f"Forecast: {len(nights)} nights, the coldest {coldest:g} °C at the station."
    return SiteEdit(words, files)


def _nights(text: str, issued: date) -> list[tuple[str, str, str]]:
    """Day of issue, day and minimum of each line; a header is passed over."""
    nights, wrong = [], []
    for line in text.splitlines():
        said = line.strip()
        if found := _ISSUED_NIGHT.fullmatch(said):
            nights.append((found[1], found[2], found[3].replace(",", ".")))
        elif found := _NIGHT.fullmatch(said):
            nights.append((str(issued), found[1], found[2].replace(",", ".")))
        elif said and not said.startswith(("#", "issued", "date")):
            wrong.append(f"{said[:60]!r}: a night is written as 2027-04-28 -1.5")
    if wrong or not nights:
        raise UnclearError(*wrong or ["Write a night a line, as 2027-04-28 -1.5"])
    return nights


_KINDS: Mapping[str, Callable[[Form, SiteFiles], SiteEdit]] = {
    "rain": _rain,
    "away": _away,
    "own-day": _own_day,
    "done": _done,
    "stock": _stock,
    "forecast": _forecast,
}


def _one(form: Form, field: str) -> str:
    """The value of a field, on one line but for the forecast; empty where there is none."""
    values = form.get(field, ())
    text = values[0] if values else ""
    return text if field == "nights" else " ".join(text.split())


def _day(form: Form, field: str, usual: date | None) -> date:
    text = _one(form, field)
    if not text and usual is not None:
        return usual
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise UnclearError(f"{text!r} is no day; write it as 2027-05-01.") from error


def _hours(form: Form) -> float | None:
    text = _one(form, "hours").replace(",", ".")
    if not text:
        return None
    try:
        hours = float(text)
    except ValueError as error:
        raise UnclearError(f"{text!r} is no number of person-hours.") from error
    if not (isfinite(hours) and hours >= 0):
        raise UnclearError(f"{text}: a number of person-hours is needed, 0 or more.")
    return hours
