"""A new site's files: what was answered, and notes on what else may be said; the next plan.

Decided: a new site holds nothing that nobody has answered. Held by
tests/test_new.py::test_nothing_of_an_example_passes_as_mine
"""

import json
import math
import re
import textwrap
from collections.abc import Iterable, MutableMapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import count
from pathlib import Path
from typing import Any

import tomlkit
from jinja2 import Environment, PackageLoader, StrictUndefined

from scheduler.files import Fault, FaultyFilesError, csv_text, fields, marked, write_whole
from scheduler.holding.crew import Person
from scheduler.holding.plan import Closed, OwnDate, Plan, each_later, years_later
from scheduler.holding.plots import CountedStock
from scheduler.holding.references import groups_of
from scheduler.holding.site_files import MADE_BY_START, package_book, read_holding

REST_MONTH = {False: 12, True: 6}  # in which the rest season begins, by whether it is the south
LEAST_LEFT_DAYS = 45  # a growing year that is over sooner is not begun any more


@dataclass(frozen=True)
class NewPlot:
    """A plot as its grower tells it."""

    id: fields.Slug
    name: fields.Name
    area_m2: fields.GroundM2
    planted: fields.Year
    n_lines: int = 0  # tree lines; 0 where nobody has said
    line_m: float = 0.0  # length of each
    offset_c: fields.OffsetC = 0.0  # plot minus station on a frosty night, degrees C
    guessed_lines: bool = False

    def with_lines(self, side_m: float | None = None) -> "NewPlot":
        """The plot with tree lines; where none were told, as they usually lie, along its side."""
        if self.n_lines:
            return self
        side_m = side_m or math.sqrt(self.area_m2)
        n_lines = max(1, round(self.area_m2 / side_m / package_book().figure("line-spacing")))
        return replace(self, n_lines=n_lines, line_m=round(side_m, 1), guessed_lines=True)


@dataclass(frozen=True)
class Answers:
    """What has to be known of a new site."""

    site_id: fields.Slug
    name: fields.Name
    lat_deg: fields.LatDeg
    lon_deg: fields.LonDeg
    elev_m: fields.ElevM
    zone: fields.Zone
    plots: tuple[NewPlot, ...]
    people: tuple[Person, ...]
    stock: tuple[CountedStock, ...]  # plot, plant and count; a group where the kind is not known
    as_of: date  # today
    works_alone: bool = False
    hires_climber: bool = False
    moon: bool = False
    emergency: str = ""
    station: str = ""  # name of the station file in the folder; empty for none
    own_last: str = ""  # usual frost dates, MM-DD; empty where not known
    own_first: str = ""
    own_doubt_days: int = 0

    @property
    def crew_days(self) -> tuple[str, ...]:
        """The days of the week on which anybody works."""
        worked = {day for person in self.people for day in person.days}
        return tuple(day for day in fields.WEEKDAYS if day in worked)


def growing_year(lat_deg: float, as_of: date) -> date:
    """First day of the growing year: of the rest season, in December or in June.

    It is the year that today lies in, or the coming one where that begins in six weeks.

    >>> growing_year(43.0, date(2027, 3, 10)), growing_year(-33.9, date(2027, 5, 1))
    (datetime.date(2026, 12, 1), datetime.date(2027, 6, 1))
    """
    soon = as_of + timedelta(days=LEAST_LEFT_DAYS)
    begin = date(soon.year, REST_MONTH[lat_deg < 0], 1)
    return begin if begin <= soon else years_later(begin, -1)


def starter_files(answers: Answers) -> dict[str, bytes]:
    """The files of a new site, by name."""
    rules = package_book()
    first = growing_year(answers.lat_deg, answers.as_of)
    last = years_later(first, 1) - timedelta(days=1)
    values = {
        "answers": answers,
        "first": first,
        "last": last,
        "own_dates": (
            ("own_last", _quoted(answers.own_last) if answers.own_last else "", '"05-10"'),
            ("own_first", _quoted(answers.own_first) if answers.own_first else "", '"10-20"'),
            ("own_doubt_days", answers.own_doubt_days or "", "14"),
        ),
        "plants": _comment_lines(rules.plants),
        "groups": _comment_lines(groups_of(rules)),
    }
    files = {name: _filled(name, values) for name in (*MADE_BY_START, "rules.toml")}
    files["stock.csv"] += _stock_rows(answers.stock)
    files[f"plan-{last.year}.toml"] = _filled("plan.toml", values)
    return files


def _filled(name: str, values: dict[str, object]) -> bytes:
    templates = Environment(
        loader=PackageLoader("scheduler.holding", "new_site"),
        undefined=StrictUndefined,
        trim_blocks=True,
        keep_trailing_newline=True,
        autoescape=False,  # noqa: S701  # TOML, where each text is quoted
    )
    templates.filters["quoted"] = _quoted
    # bytes that are no text come out as they were typed; reading them back refuses them
    return templates.get_template(name).render(values).encode("utf-8", "surrogateescape")


def _quoted(text: str) -> str:
    """A TOML string; it escapes what JSON does."""
    return json.dumps(text, ensure_ascii=False)


def _comment_lines(names: Iterable[str]) -> str:
    text = textwrap.fill(", ".join(sorted(names)), 94, break_on_hyphens=False)
    return text.replace("\n", "\n# ")


def _stock_rows(stock: Sequence[CountedStock]) -> bytes:
    columns = ["plot", "plant", "count", *(["group"] if any(row.group for row in stock) else [])]
    rows = ((row.plot, marked(row.plant), row.count, row.group) for row in stock)
    text = csv_text([columns, *(cells[: len(columns)] for cells in rows)])
    return text.encode("utf-8", "surrogateescape")


def write_new_site(folder: Path, files: dict[str, bytes], as_of: date) -> None:
    """Write the files of a new site, given by name, once they have been read and found good.

    The folder is made if need be; it may not hold a site already.

    Raises:
        FaultyFilesError: a file of that name stands there, or what the files say is not
            allowed; nothing is written.
        OSError: the folder cannot be written.
    """
    read_holding(folder, as_of, edited=files)
    refuse_what_is_there(folder, files)
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        write_whole(folder / name, content)


def refuse_what_is_there(folder: Path, names: Iterable[str]) -> None:
    """Raise ``FaultyFilesError`` where a file of one of some names stands in a folder."""
    there = [name for name in names if (folder / name).exists()]
    if there:
        raise FaultyFilesError(
            Fault(str(folder / name), "", "", "a file that is already there", "an empty folder")
            for name in there
        )


@dataclass(frozen=True)
class NextPlan:
    """The plan of the following season, as a file."""

    file: str
    content: bytes
    left_behind: tuple[str, ...]  # own dates and closed days that do not recur, in words


def next_plan(plan: Plan, text: str) -> NextPlan:
    """The plan after one, made of its file: a year later, with what recurs.

    Own dates and closed days that hold every year stand a year later; others are left behind.
    Where the plan goes on by itself, the new one takes its place from there on.

    Args:
        plan: the last plan that stands in the file.
        text: the file.
    """
    first = plan.season.last + timedelta(days=1)
    document, left = tomlkit.parse(text), list[str]()
    document["first"] = first
    document.pop("taken_up", None)
    if plan.whole.last is not None:
        document["last"] = years_later(plan.whole.last, 1)
    year = re.compile(rf"\b{plan.season.last.year}\b")
    document["title"] = year.sub(str(plan.season.last.year + 1), plan.whole.title)
    tables: dict[str, tuple[OwnDate | Closed, ...]] = {
        "own_date": plan.whole.own_date,
        "closed": plan.whole.closed,
    }
    for table, told in tables.items():
        for at, each in reversed(list(enumerate(told))):
            if each.every_year:
                _moved(document[table][at], each, first)
            else:
                left.insert(0, f"{getattr(each, 'task', 'closed days')}: {each.why}")
                del document[table][at]
        if told and not document[table]:
            del document[table]
    ends = document.get("last") or years_later(first, 1) - timedelta(days=1)
    # notes that speak of the days of the plan before
    notes = re.compile(r"^# *(last|taken_up) *=.*\n", re.MULTILINE)
    content = notes.sub("", tomlkit.dumps(document)).encode()
    return NextPlan(f"plan-{ends.year}.toml", content, tuple(left))


def _moved(entry: MutableMapping[str, Any], told: OwnDate | Closed, first: date) -> None:
    """Put the days of an entry where they next are in a plan that begins on a day."""
    begins = min(told.days, default=first)
    n_years = next(n for n in count() if years_later(begins, n) >= first)
    for key, day in vars(each_later(told, n_years)).items():
        if isinstance(day, date) and key in entry:
            entry[key] = day
