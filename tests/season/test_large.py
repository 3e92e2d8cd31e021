"""A holding that has grown: planned with the same bytes twice, within its effort, and told of."""

import json
import re
from importlib import import_module
from pathlib import Path
from unittest.mock import patch

import pytest
from typer.testing import CliRunner

from scheduler.commands import door
from scheduler.commands.app import app
from scheduler.holding import read_holding
from scheduler.reasons import compare, plan_season
from scheduler.roster.check import faults_in
from scheduler.season import walk
from scheduler.words import plain, roster_record
from scheduler.words.roster_sheet import preference_tables
from tests.sites import AS_OF, ROOT, grown, new_site

solving = import_module("scheduler.roster.solve")  # the room gives its function that name
SITE = str(ROOT / "sites" / "branasol")


@pytest.mark.slow
def test_a_holding_with_four_plots_more_is_planned_alike_twice(tmp_path: Path) -> None:
    site, told = grown(tmp_path, 4), []
    with patch.object(solving, "EFFORT", 0.1), patch.object(compare, "solve") as again:
        for _ in range(2):
            plan = plan_season(read_holding(site, AS_OF), AS_OF)
            told.append(json.dumps(plain(roster_record(plan))))
            assert plan.placed.roster.proof == "gap"
            assert plan.placed.roster.effort < 0.15, "the solver keeps near to its limit"
            assert faults_in(plan.placed.problem, plan.placed.roster) == ()
    assert told[0] == told[1]
    (table,) = preference_tables(plan.placed)
    assert any(row[2] == "missed" and row[3] != "-" for row in table.rows)
    again.assert_not_called()  # the difference of two plans that are not proven is no price


@pytest.mark.parametrize(
    "words",
    [
        ("why", SITE, "nosuch"),
        ("plan", "--full", SITE, "--without", "nosuch"),
        ("log", SITE, "nosuch"),
    ],
)
def test_names_are_checked_before_anything_is_planned(words: tuple[str, ...]) -> None:
    with patch.object(walk, "solve") as solve:
        refused = CliRunner().invoke(app, [*words, "--as-of", "2026-11-25"])
    assert refused.exit_code == 2
    assert "there is no " in refused.stderr
    assert "'nosuch'" in refused.stderr
    solve.assert_not_called()


@pytest.mark.parametrize(("slow_s", "n_lines"), [(0.0, 1), (600.0, 0)])
def test_work_that_takes_long_is_told_of(slow_s: float, n_lines: int, tmp_path: Path) -> None:
    site = str(new_site(tmp_path / "site"))
    with patch.object(door, "SLOW_S", slow_s):
        told = CliRunner().invoke(app, ["check", site, "--as-of", "2026-11-25"]).stderr
    lines = [line for line in told.splitlines() if re.match(r"Planning \d+ visits", line)]
    assert len(lines) == n_lines
    assert all(line.endswith(" visits ...") for line in lines)
