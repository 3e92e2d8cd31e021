"""A new site's files, commented, and working as they are."""

import json
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from importlib import resources
from typing import Literal, get_args, get_type_hints

from scheduler.files import fields, validated
from scheduler.holding.references import groups_of
from scheduler.holding.rulebook import RuleBook
from scheduler.holding.site_files import MADE_BY_START, package_rules

TEMPLATES = (*MADE_BY_START, "rules.toml")


@dataclass(frozen=True)
class Answers:
    """What has to be known of a new site; the kinds of values say what may be answered."""

    site_id: fields.Slug
    name: fields.Name
    lat_deg: fields.LatDeg
    lon_deg: fields.LonDeg
    elev_m: fields.ElevM
    zone: fields.Zone
    plot_name: fields.Name  # of the first plot
    plot_id: fields.Slug
    area_m2: fields.Positive
    planted: fields.Year
    person: fields.Name  # who works there
    station: str  # name of the station file in the folder; empty for none
    own_last: fields.MonthDay | Literal[""]  # empty where not known
    own_first: fields.MonthDay | Literal[""]
    as_of: date  # today; the plan begins on the first of the next month


def checked_answer(field: str, text: str) -> str | float:
    """What somebody typed for a field of ``Answers``, as it wants it; a decimal comma is taken.

    Raises:
        ValueError: with what is allowed, in words.
    """
    shape = get_type_hints(Answers, include_extras=True)[field]
    value: str | float = text.strip()
    if not {int, float}.isdisjoint(get_args(shape)):
        try:
            value = float(text.replace(",", "."))
        except ValueError as error:
            raise ValueError("a number, such as 37.45") from error
        value = int(value) if int in get_args(shape) and value.is_integer() else value
    _, faults = validated(shape, value, field)
    if faults:
        raise ValueError(faults[0].allowed)
    return value


def starter_files(answers: Answers) -> dict[str, bytes]:
    """The files of a new site, by name."""
    rules = RuleBook.of(package_rules())
    first = (answers.as_of.replace(day=1) + timedelta(days=32)).replace(day=1)
    last = first.replace(year=first.year + 1) - timedelta(days=1)
    values = {
        **vars(answers),
        "id": answers.site_id,
        "name": _in_quotes(answers.name),
        "plot_name": _in_quotes(answers.plot_name),
        "person": _in_quotes(answers.person),
        "stations": f'"{_in_quotes(answers.station)}"' if answers.station else "",
        "own_last": _own("own_last", answers.own_last, "05-10"),
        "own_first": _own("own_first", answers.own_first, "10-20"),
        "title": _in_quotes(f"{answers.name}, {first.year} and on"),
        "plants": _filled_lines(rules.plants),
        "groups": _filled_lines(groups_of(rules)),
        "first": first,
        "last": last,
    }
    files = {name: _filled(name, values) for name in TEMPLATES}
    files[f"plan-{last.year}.toml"] = _filled("plan.toml", values)
    return files


def _filled(name: str, values: dict[str, object]) -> bytes:
    template = resources.files("scheduler.holding") / "new_site" / name
    text = template.read_text(encoding="utf-8")
    # CSV comments hold no braces but the placeholders, TOML doubles its own
    # bytes that are no text come out as they were typed; reading them back refuses them
    return text.format(**values).encode("utf-8", "surrogateescape")


def _filled_lines(names: Iterable[str]) -> str:
    """Names as comment lines of a TOML file."""
    text = textwrap.fill(", ".join(sorted(names)), 94, break_on_hyphens=False)
    return text.replace("\n", "\n# ")


def _in_quotes(text: str) -> str:
    """Text that may stand between the double quotes of a TOML string."""
    return json.dumps(text, ensure_ascii=False)[1:-1]  # TOML escapes what JSON does


def _own(key: str, value: str, example: str) -> str:
    return f'{key} = "{value}"' if value else f'# {key} = "{example}"'
