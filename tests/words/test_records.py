"""What commands print with ``--json`` is what the schema of the records says."""

import json
from collections.abc import Iterator
from copy import deepcopy
from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.exceptions import ValidationError
from typer.main import get_command
from typer.testing import CliRunner

from scheduler.commands.app import app
from scheduler.reasons import SeasonPlan
from tests.once import feeds_once
from tests.sites import AS_OF, ROOT, asks_for, new_site, planned

pytestmark = pytest.mark.usefixtures("plans_once")
SCHEMA = json.loads((ROOT / "scheduler/words/records.schema.json").read_text(encoding="utf-8"))
RECORDS = {name: part for name, part in SCHEMA["$defs"].items() if "title" in part}
FORMATS = FormatChecker(["date"])
BRANASOL = ROOT / "sites" / "branasol"


def is_time(value: object) -> bool:
    """Whether it is a time with its offset; of what is no text, its type tells."""
    return not isinstance(value, str) or datetime.fromisoformat(value).tzinfo is not None


FORMATS.checks("date-time", ValueError)(is_time)


@cache
def validator_of(name: str) -> Draft202012Validator:
    """The judge of one definition."""
    schema = {"$defs": SCHEMA["$defs"], "$ref": f"#/$defs/{name}"}
    return Draft202012Validator(schema, format_checker=FORMATS)


def checked(name: str, *args: object) -> Any:  # JSON is anything
    """The record that a command prints, held against a definition."""
    words = [str(arg) for arg in args]
    result = CliRunner().invoke(app, [*words, "--as-of", str(AS_OF), "--json"])
    assert result.exit_code in (0, 1), result.output
    record = json.loads(result.stdout)
    assert record
    validator_of(name).validate(record)
    return record


def check_plan(
    site: Path, plan: SeasonPlan, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Hold the records of all commands that plan against the schema; read and planned once."""
    feeds = [feed for feed in feeds_once(plan) if feed.events][:2]
    monkeypatch.setattr("scheduler.holding.read_holding", lambda *_, **__: plan.placed.holding)
    monkeypatch.setattr("scheduler.reasons.plan_season", lambda *_, **__: plan)
    monkeypatch.setattr("scheduler.calendars.feeds_of", lambda *_, **__: feeds)
    checked("due", "due", site)
    checked("plan", "plan", site)
    checked("plan-without", "plan", site, "--without", "moon", "--without", "hire-blocks")
    checked("check", "check", site)
    checked("write", "write", site, "--to", folder / "feeds", "--no-pages")
    checked("write", "share", site, "--to", folder / "shared")
    visit = list(plan.placed.visits)[-1:]  # with the most days before it
    for asked in (*visit, *list(plan.placed.stints)[:1], *plan.placed.roster.left_out[:1]):
        checked("why", "why", site, asked)
    for errand in plan.errands[:1]:
        checked("why-errand", "why", site, errand.id)


def test_the_plan_of_the_demo_in_the_north(
    branasol: SeasonPlan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert branasol.errands
    check_plan(BRANASOL, branasol, tmp_path, monkeypatch)


def test_the_plan_of_the_demo_in_the_south(
    klipskadu: SeasonPlan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    check_plan(ROOT / "sites" / "klipskadu", klipskadu, tmp_path, monkeypatch)


def test_a_new_site_without_a_record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    site = new_site(tmp_path / "site")
    checked("frost", "frost", site)
    checked("sky", "sky", site, "--days", 3)
    check_plan(site, planned(site), tmp_path, monkeypatch)


def test_work_that_has_no_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    site = new_site(tmp_path / "site")
    asks_for(site, "walk-plots", "weed-lines", "cut-medium", "lay-coarse", last=date(2027, 4, 30))
    plan = planned(site)
    assert plan.placed.roster.left_out
    check_plan(site, plan, tmp_path, monkeypatch)


@pytest.mark.parametrize("demo", ["branasol", "klipskadu"])
def test_frost_and_sky(demo: str) -> None:
    site = ROOT / "sites" / demo
    checked("frost", "frost", site)
    checked("frost-history", "frost", site, "--history")
    checked("sky", "sky", site, "--days", 31)


def test_the_night_of_an_evening() -> None:
    checked("frost-tonight", "frost", BRANASOL, "--tonight", "--temp", 4, "--dew", -1)


def test_a_wrong_record_is_refused() -> None:
    record = checked("frost", "frost", BRANASOL)
    renamed, more, odd, far, mad = (deepcopy(record) for _ in range(5))
    renamed["plots"][0]["last_frost"]["p5"] = renamed["plots"][0]["last_frost"].pop("p05")
    more["plots"][0]["last_frost"]["p01"] = None
    odd["as_of"] = "2026-11-31"
    far["tolerance"] = 10
    mad["plots"][0]["open"] = "yes"
    for wrong in (renamed, more, odd, far, mad):
        with pytest.raises(ValidationError):
            validator_of("frost").validate(wrong)


def parts_of(part: Any) -> Iterator[dict[str, Any]]:  # JSON is anything
    """All objects of a schema, itself among them."""
    if isinstance(part, dict):
        yield part
    for inside in part.values() if isinstance(part, dict) else part:
        if isinstance(inside, dict | list):
            yield from parts_of(inside)


def test_the_schema_is_one_and_describes_every_property() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    objects = [part for part in parts_of(SCHEMA["$defs"]) if "object" in part.get("type", ())]
    assert len(objects) > 50
    for part in objects:
        properties = part.get("properties", {})
        if properties:
            assert part["additionalProperties"] is False
            assert set(part["required"]) <= set(properties)
        else:
            assert isinstance(part["additionalProperties"], dict)
        assert [name for name, field in properties.items() if not field.get("description")] == []


def test_every_command_that_prints_json_has_a_record() -> None:
    commands = getattr(get_command(app), "commands")  # noqa: B009  # a group, which typer does not type
    prints = {
        name
        for name, command in commands.items()
        if any("--json" in option.opts for option in command.params)
    }
    assert prints
    titles = [line for part in RECORDS.values() for line in part["title"].split(", ")]
    assert {title.split()[1] for title in titles} == prints
    assert {title.split()[-1] for title in titles} == {"--json"}
    assert SCHEMA["anyOf"] == [{"$ref": f"#/$defs/{name}"} for name in RECORDS]


def test_the_page_names_every_field_on_lines_that_can_be_read() -> None:
    result = CliRunner().invoke(app, ["--records"])
    assert result.exit_code == 0
    page = result.stdout
    assert max(map(len, page.splitlines())) <= 100
    for part in RECORDS.values():
        assert part["title"] in " ".join(page.split())
    for part in parts_of(SCHEMA["$defs"]):
        if "object" in part.get("type", ()):
            assert [name for name in part.get("properties", ()) if f"  {name} (" not in page] == []
    assert "  threshold_c (number): At or below this" in page
    assert "    frost-dates" not in page  # it has a part of its own
    assert "\nfrost-dates (record): " in page
