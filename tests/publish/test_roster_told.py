"""What `roster` tells of its aims and preferences: the same in the tables and for programs."""

import json
import math
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from scheduler.cli import app
from scheduler.publish.aim_words import NAMES, Aim, aim_records
from scheduler.roster import Roster, Stage
from scheduler.roster.aims import BLOCKS, BY_PLACEMENT, HIRE
from tests.sites import DEMOS, ROOT, edit, new_site


def told(site: Path, *words: str) -> tuple[str, Any]:
    """The tables and the record of one and the same plan."""
    command = ["roster", str(site), "--as-of", "2026-11-25", "--afresh", *words]
    table = CliRunner().invoke(app, command)
    return table.stdout, json.loads(CliRunner().invoke(app, [*command, "--json"]).stdout)


def rows_under(text: str, title: str) -> list[list[str]]:
    """The cells of a table, parted by two blanks or more, without its head."""
    part = text[text.index(title) :].split("\n\n")[0].splitlines()
    return [[cell.strip() for cell in line.split("  ") if cell.strip()] for line in part[2:]]


@pytest.mark.slow
@pytest.mark.parametrize("demo", DEMOS)
def test_tables_and_record_tell_the_same_aims(demo: str) -> None:
    text, record = told(ROOT / "sites" / demo)
    aims = {aim["name"]: aim for aim in record["aims"]}
    rows = [row for row in rows_under(text, "What the plan was made for") if len(row) == 5]
    assert rows[0] == ["work without a place", "0", "0", "tasks", "yes"]
    assert [row[0] for row in rows[1:]] == [n for n in aims if "importance" not in n]
    for name, value, bound, unit, proven in rows[1:]:
        assert float(value) == pytest.approx(aims[name]["value"], abs=0.005)
        assert float(bound) == pytest.approx(aims[name]["bound"], abs=0.005)
        assert (unit, proven) == (aims[name]["unit"], "yes" if aims[name]["proven"] else "no")
    assert aims["blocks of days of what is hired"]["value"] == len(record["hires"])
    assert (record["proof"] == "proven") is all(aim["proven"] for aim in record["aims"])


@pytest.mark.slow
def test_tables_and_record_tell_the_same_preferences_with_their_price() -> None:
    text, record = told(ROOT / "sites" / "klipskadu")
    rows = {row[0]: row for row in rows_under(text, "Preferred days.")}
    assert {one["state"] for one in record["preferences"]} == {"met", "in part", "missed"}
    for one in record["preferences"]:
        row = rows[one["task"]]
        assert row[2] == one["state"]
        assert (one["state"] == "met") is one["met"]
        assert one["price"]
        assert row[3].endswith(one["price"])
        assert (one["nearest"] is None) is one["met"]
        assert ("nearest: " in row[3]) is not one["met"]
    short = sum(p["points_best"] - p["points"] for p in record["preferences"])
    aim = next(a for a in record["aims"] if a["aim"] == "preferences")
    assert aim["value"] == pytest.approx(short, abs=0.01), "the aim is the sum of what is short"


def test_work_without_a_place_is_told_by_its_importance(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    edit(site, "plan-2027.toml", "last = 2027-11-30", "last = 2027-04-30")
    text, record = told(site)
    fits = [aim for aim in record["aims"] if aim["aim"].startswith("fit-")]
    assert sum(aim["value"] for aim in fits) == len(record["left_out"]) > 0
    names = [row[0] for row in rows_under(text, "What the plan was made for")]
    assert [aim["name"] for aim in fits] == names[: len(fits)]


def test_every_aim_has_a_name_and_a_unit() -> None:
    assert set(NAMES) == {*BY_PLACEMENT, BLOCKS, HIRE}


def test_what_is_not_proven_is_told_so() -> None:
    """A bound below the plan, one above it by a tie alone, and one that says nothing."""
    stages = (
        Stage("fit-7", 1.0, 0.0), Stage("waiting_days", 12.4, 12.4),
        Stage("hire_blocks", 3.0, -math.inf),
    )  # fmt: skip
    roster = Roster((), (), (), "gap", stages, (), (), 0.0)
    records = aim_records(roster)
    assert [r["proven"] for r in records] == [False, True, False]
    assert [r["bound"] for r in records] == [0.0, 12, None]
    assert "Infinity" not in json.dumps(records)
    assert Aim(stages[1], "waiting", "days").value == 12
