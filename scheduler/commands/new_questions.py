"""What `scheduler new` asks, in order, and what it asks only because of an answer before.

Decided: the answer to a question and the option for it are the same text, and going back is to
forget the last answer. Held by tests/test_new.py::test_going_back_asks_once_more
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cache, partial
from pathlib import Path
from typing import Any

import typer
import tzfpy

from scheduler.commands import answers as typed
from scheduler.commands.door import refuse
from scheduler.commands.new_weather import (
    NEAR,
    STATION,
    fetched,
    number_of,
    stations_of,
    weather_in,
)
from scheduler.files import fields
from scheduler.holding import ANSWERS, NewPlot, Person, growing_year, kind_doubt, package_book

BACK = ("back", "<")
MID_SEASON_DAYS = 14  # of the growing year gone by, from which on it is asked what was done in it
ASKS = {
    "name": "Name of the holding",
    "place": "Where is it? Latitude and longitude as your phone's map shows them, such as "
    "43.12, -7.25",
    "zone": "{where} lies at sea, as far as is known. `back` if it is wrong (latitude comes "
    "first); else the time zone, such as Europe/Madrid",
    "elev": "Height above sea level, m",
    "plot": f"The first plot: {typed.PLOT}\nPlot",
    "another": "Another {kind}, or nothing",
    "plants": "What grows in {plot}? Count and name, such as: 8 alders, 6 apples (nothing: you "
    "fill stock.csv later)\nPlants",
    "like": "{plant} is not known. {doubt}\nIts name, or three words",
    "person": f"Who works there: {typed.PERSON}\nPerson",
    "alone": "At a saw, on a ladder and at the chipper two people are planned; without a second "
    "one such work waits. Does {person} work alone all the same, yes or no",
    "climber": "Who climbs the tall trees: hired, one of {people}, or nobody?",
    "emergency": "Who calls for help, and where is the road? It stands on each day of saws "
    "(nothing: skip)",
    "moon": "Do you keep to the waning moon for heavy cuts, where nothing speaks against it? It "
    "is a grower practice, not science",
    "weather": "Frost record: a file, `near` to look for a weather station in open data, or "
    "nothing to go by your own dates",
    "station": "Which station? Its number, or 0 for none",
    "last": "Usual last frost of spring, such as 10 May (nothing if you do not know)",
    "first": "Usual first frost of autumn, such as 20 October",
    "doubt": "How sure are you? In one year of ten frost comes so many days later in spring, or "
    "sooner in autumn: 7 if you know it well, 30 if it is a guess",
    "done": "What is done since {first} in {plot}: dormant, release, dry-summer, each with its "
    "day as in: dormant {first} (nothing: none of it)\nDone",
}
VISITS = ("dormant", "release", "dry-summer")


class BackError(Exception):
    """The one who answers wants the question before."""


@dataclass(frozen=True)
class Question:
    """One question; its answer is a line of text."""

    key: str  # under which the answer is kept
    option: str  # that gives the answer
    understood: Callable[[str], Any]  # raises ``ValueError`` with what is allowed
    default: str | None = None  # taken where nothing is typed; None where an answer is needed
    words: str = ""  # which of ``ASKS`` it is; left out, its key
    about: Mapping[str, str] = field(default_factory=dict)  # what the words speak of

    @property
    def asks(self) -> str:
        """The question in words."""
        return ASKS[self.words or self.key].format(**self.about)


@dataclass
class Setup:
    """The answers so far, and what is still to be asked."""

    as_of: date
    folder: Path
    said: dict[str, Any] = field(default_factory=dict)  # understood, by key of the question
    asked: list[str] = field(default_factory=list)  # keys of what was typed, in order

    def plots(self) -> list[NewPlot]:
        """The plots told so far, each with an id of its own."""
        plots: list[NewPlot] = []
        for plot in self._many("plot"):
            ids = [each.id for each in plots]
            # names that differ in their accents alone
            plot_id = plot.id if plot.id not in ids else f"{plot.id}-{len(ids) + 1}"
            plots.append(replace(plot, id=plot_id))
        return plots

    def people(self) -> list[Person]:
        """The people told so far; who climbs has that skill."""
        climber = self.said.get("climber", "")
        return [
            replace(person, skills=(*person.skills, "climber"))
            if person.name == climber and "climber" not in person.skills
            else person
            for person in self._many("person")
        ]

    def _plot_in(self, text: str) -> NewPlot | None:
        plot = typed.plot_in(text)
        if plot is not None:
            _refuse_twice(plot.name, [each.name for each in self._many("plot")])
            if plot.planted > self.as_of.year + 1:
                raise ValueError(f"a year of planting up to {self.as_of.year + 1}")
        return plot

    def _person_in(self, text: str) -> Person | None:
        person = typed.person_in(text)
        if person is not None:
            _refuse_twice(person.name, [each.name for each in self._many("person")])
        return person

    def _many(self, kind: str) -> list[Any]:
        found = (self.said.get(f"{kind} {n}") for n in range(1, len(self.said) + 1))
        return [each for each in found if each is not None]

    @property
    def station(self) -> str:
        """Id of the weather station to fetch; empty for none."""
        weather: str = self.said.get("weather", "")
        chosen: str = self.said.get("station", "")
        return weather if STATION.fullmatch(weather) else chosen

    @property
    def has_file(self) -> bool:
        """Whether a file was given as the frost record."""
        return self.said["weather"] not in ("", NEAR) and not self.station

    def questions(self) -> Iterator[Question]:
        """All questions in order, as far as the answers so far lead."""
        said = self.said
        yield Question("name", "--name", typed.name_in, self.folder.resolve().name)
        yield Question("place", "--place", typed.place_in)
        if not zone_of(*said["place"]):
            where = {"where": "{:g}, {:g}".format(*said["place"])}
            yield Question("zone", "--timezone", typed.zone_in, None, "zone", where)
        yield Question("elev", "--elev", typed.height_in, "0")
        yield from self._each("plot", self._plot_in)
        yield from self._about_plants()
        yield from self._each("person", self._person_in)
        yield from self._about_crew()
        yield Question("moon", "--moon", typed.yes_in, "no")
        yield from self._about_frost()
        yield from self._about_work_done()

    def _each(self, kind: str, understood: Callable[[str], Any]) -> Iterator[Question]:
        yield Question(f"{kind} 1", f"--{kind}", partial(_needed, understood), None, kind)
        n = 1
        while self.said[f"{kind} {n}"] is not None:
            n += 1
            yield Question(f"{kind} {n}", f"--{kind}", understood, "", "another", {"kind": kind})

    def _about_plants(self) -> Iterator[Question]:
        for plot in self.plots() if "stock" not in self.said else ():
            key, words = f"plants {plot.id}", {"plot": plot.name}
            yield Question(key, "--plants", typed.plants_in, "", "plants", words)
            for name in [name for _, name in self.said[key] if doubt_of(name)]:
                words = {"plant": name, "doubt": _asked_so(doubt_of(name))}
                yield Question(
                    f"like {name}", "--like", partial(like_in, name), None, "like", words
                )

    def _about_crew(self) -> Iterator[Question]:
        people = self.people()
        names = ", ".join(person.name for person in people)
        if len(people) == 1 and people[0].skills:
            yield Question(
                "alone", "--works-alone", typed.yes_in, "no", "alone", {"person": names}
            )
        if not any("climber" in person.skills for person in self._many("person")):
            climber = partial(_climber_in, [person.name for person in people])
            yield Question("climber", "--climber", climber, "nobody", "climber", {"people": names})
        yield Question("emergency", "--emergency", str.strip, "")

    def _about_frost(self) -> Iterator[Question]:
        yield Question("weather", "--station", weather_in, "")
        if self.said["weather"] == NEAR:
            found = stations_of(*self.said["place"], self.said["elev"], self.as_of)
            if found:
                yield Question("station", "--station", partial(number_of, found), "1")
            self.said.setdefault("station", "")
        if not self.has_file and fetched(self.station, self.as_of) is None:
            yield Question("last", "--last-frost", typed.month_day_in, "")
            yield Question("first", "--first-frost", typed.month_day_in, "")
            if self.said["last"] or self.said["first"]:
                yield Question("doubt", "--doubt", doubt_in, "14")

    def _about_work_done(self) -> Iterator[Question]:
        first = growing_year(self.said["place"][0], self.as_of)
        if first > self.as_of - timedelta(days=MID_SEASON_DAYS):
            return
        for plot in self.plots():
            if self.said.get(f"plants {plot.id}") or "stock" in self.said:
                words = {"plot": plot.name, "first": f"{first}"}
                done = partial(done_in, first, self.as_of)
                yield Question(f"done {plot.id}", "--done", done, "", "done", words)


def ask_all(setup: Setup, options: dict[str, str], *, prompts: bool) -> None:
    """Take what the options say, and ask the rest; without a terminal take what is usual.

    Exits with code 2 and all that is wrong, where an option is, or an answer is needed and
    nobody can be asked.

    Args:
        setup: is given the answers.
        options: texts of options by key of their question; those that answer one are taken out.
        prompts: whether somebody can be asked.
    """
    wrong: list[str] = []
    while question := next((q for q in setup.questions() if q.key not in setup.said), None):
        text = options.pop(question.key, None)
        if text is None and prompts:
            _ask(setup, question)
            continue
        try:
            setup.said[question.key] = _by_option(question, text)
        except ValueError as error:
            wrong.append(f"{question.option}{error}")
            if question.default is None:
                refuse(*wrong)
            setup.said[question.key] = question.understood(question.default)
    wrong += _strays(setup, options)
    if wrong:
        refuse(*wrong)


def _strays(setup: Setup, options: dict[str, str]) -> Iterator[str]:
    """What is wrong with options that answer no question."""
    plots = {plot.id: plot.name for plot in setup.plots()}
    for key, text in options.items():
        kind, _, about = key.partition(" ")
        known = (
            "a plant that is in doubt" if kind == "like" else f"one of {', '.join(plots.values())}"
        )
        if kind == "done" and about in plots:
            known = "a plot whose plants are given, once its growing year has begun"
        yield f"--{kind} '{about}: {text.strip()}': allowed: {known}"


def _by_option(question: Question, text: str | None) -> Any:  # noqa: ANN401  # any kind of answer
    told = question.default if text is None else text
    if told is None:
        raise ValueError(f" is needed. {question.asks.splitlines()[0]}")
    try:
        return question.understood(told)
    except ValueError as error:
        raise ValueError(f" {told!r}: allowed: {error}") from error


def _ask(setup: Setup, question: Question) -> None:
    try:
        setup.said[question.key] = _prompted(question)
        setup.asked.append(question.key)
    except BackError:
        if setup.asked:
            del setup.said[setup.asked.pop()]


def _prompted(question: Question) -> Any:  # noqa: ANN401  # any kind of answer
    def understood(text: str) -> Any:  # noqa: ANN401
        if text.strip().casefold() in BACK:
            raise BackError
        try:
            return question.understood(text)
        except ValueError as error:
            raise typer.BadParameter(f"allowed: {error}") from error

    return typer.prompt(question.asks, default=question.default, value_proc=understood,
                        show_default=bool(question.default))  # fmt: skip


def _refuse_twice(name: str, names: Sequence[str]) -> None:
    if name.casefold() in map(str.casefold, names):
        raise ValueError(f"a name of its own; {name!r} is there already")


def _needed(understood: Callable[[str], Any], text: str) -> Any:  # noqa: ANN401
    answer = understood(text)
    if answer is None:
        raise ValueError("one at least")
    return answer


def zone_of(lat_deg: float, lon_deg: float) -> str:
    """The time zone of a place; empty at sea."""
    zone: str = tzfpy.get_tz(lon_deg, lat_deg)
    return zone if fields.is_zone(zone) and not zone.startswith("Etc/") else ""


def _asked_so(doubt: str) -> str:
    """What to write for an unknown plant, as it is asked for on a terminal."""
    _, column, three_words = doubt.partition("a column group that says ")
    told = f"Another name, or {three_words}" if column else doubt
    return told[:1].upper() + told[1:]


@cache
def doubt_of(name: str) -> str:
    """What to write for a plant that the rule book does not know; empty where it is known."""
    return kind_doubt(name, "", package_book())


def like_in(name: str, text: str) -> tuple[str, str]:
    """The name and the group of a plant that is not known: another name, or three answers."""
    told = text.strip()
    if told and not doubt_of(told):
        return told, ""
    if told and not kind_doubt(name, told, package_book()):
        return name, told
    raise ValueError(f"another name of it; or {ANSWERS}")


def _climber_in(names: list[str], text: str) -> str:
    told = next((n for n in names if n.casefold() == text.strip().casefold()), text.strip())
    if told.casefold() in typed.NOTHING:
        return ""
    if told in ("hired", *names):
        return told
    raise ValueError(f"hired, nobody, or one of {', '.join(names)}")


def doubt_in(text: str) -> int:
    """Days of doubt."""
    return int(typed.checked(fields.DoubtDays, typed.number_in(text)))


def done_in(first: date, as_of: date, text: str) -> tuple[tuple[str, date], ...]:
    """Visits that were done, with their days."""
    if text.strip().casefold() in typed.NOTHING:
        return ()
    done = []
    for part in filter(None, (part.strip() for part in text.split(","))):
        visit, _, day = part.partition(" ")
        if visit not in VISITS or not day.strip():
            raise ValueError(f"{', '.join(VISITS)}, each with its day, as dormant {first}")
        done.append((visit, typed.day_between(day, first, as_of)))
    return tuple(done)
