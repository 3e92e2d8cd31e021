"""The short answers: one screen, the answer first, and nothing that is not in the whole plan."""

import json
import re
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from scheduler.reasons import SeasonPlan
from scheduler.words.short import HEAVY, heavy_days_of, short_plan, short_span
from tests.sites import AS_OF, ROOT

pytestmark = pytest.mark.usefixtures("plans_once")

AS_OF_OPTION = ("--as-of", AS_OF.isoformat())
N_LINES, N_COLUMNS = 40, 100  # a common terminal window
DEMOS = ("branasol", "klipskadu")


def ran(*args: object) -> str:
    result = CliRunner().invoke(app, [str(arg) for arg in args])
    assert result.exit_code in (0, 1), result.output
    return result.stdout


@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize("command", ["due", "plan", "frost", "sky", "check"])
def test_an_answer_fits_one_screen(command: str, demo: str) -> None:
    lines = ran(command, ROOT / "sites" / demo, *AS_OF_OPTION).splitlines()
    assert 2 <= len(lines) <= N_LINES
    # a warning or note is one line, which a terminal breaks between words
    tables = [line for line in lines if not line.startswith(("note: ", "warning: "))]
    assert max(len(line) for line in tables) <= N_COLUMNS, max(tables, key=len)


@pytest.mark.parametrize("demo", DEMOS)
def test_the_first_lines_say_when_the_heavy_days_are(
    demo: str, request: pytest.FixtureRequest
) -> None:
    plan: SeasonPlan = request.getfixturevalue(demo)
    heavy = [row for row in heavy_days_of(plan.placed) if row.kind == HEAVY]
    lines = ran("plan", ROOT / "sites" / demo, "--afresh", *AS_OF_OPTION).splitlines()
    assert heavy
    assert lines[0].startswith("Heavy days of")
    for row, line in zip(heavy, lines[2:], strict=False):
        assert line.startswith(short_span(row.first, row.last))
        assert row.plot in line
    record = json.loads(ran("plan", ROOT / "sites" / demo, "--afresh", *AS_OF_OPTION, "--json"))
    assert [(day["visit"], day["first"], day["last"]) for day in record["heavy_days"]] == [
        (row.visit, row.first.isoformat(), row.last.isoformat()) for row in heavy
    ]


def test_people_days_count_everybody_once_a_day(branasol: SeasonPlan) -> None:
    rows = heavy_days_of(branasol.placed)
    assert rows
    for row in rows:
        ids = branasol.placed.groups[row.visit]
        stints = [branasol.placed.stints[t] for t in ids if t in branasol.placed.stints]
        by_day: dict[int, set[str]] = {}
        for stint in stints:
            for day, people in zip(stint.days, stint.people, strict=True):
                by_day.setdefault(day, set()).update(people)
        assert row.person_days == sum(len(people) for people in by_day.values()) > 0
        assert row.person_hours == pytest.approx(sum(sum(stint.hours) for stint in stints))


def test_the_moon_has_a_column_only_where_the_practice_is_kept(
    branasol: SeasonPlan, klipskadu: SeasonPlan
) -> None:
    assert not any("moon" in column for column in short_plan(branasol)[0].columns)
    assert short_plan(klipskadu)[0].columns[-1] == "moon (practice)"


def test_a_plot_that_is_named_is_shown_in_full_and_no_other() -> None:
    said = ran("due", ROOT / "sites" / "branasol", "fondal", *AS_OF_OPTION)
    assert "Work in O Fondal, by visit" in said
    assert "Work in A Ladeira, by visit" not in said
    result = CliRunner().invoke(app, ["due", str(ROOT / "sites" / "branasol"), "nowhere"])
    assert result.exit_code == 2
    assert "there is no plot 'nowhere'; there are: fondal" in result.stderr


def test_frost_is_told_a_line_a_plot() -> None:
    said = ran("frost", ROOT / "sites" / "branasol", "--as-of", "2027-04-26").splitlines()
    assert re.match(r"O Fondal \(hollow\) +OPEN until 23 May 2027 +37 %", said[2])
    assert len([line for line in said if "until" in line]) == 4


def test_a_folder_of_sites_is_told_what_to_do_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert "`scheduler new DIR` makes one" in ran()
    monkeypatch.chdir(ROOT)
    assert [line.split(":")[0] for line in ran().splitlines()] == [
        "sites/branasol",
        "sites/klipskadu",
        "All commands",
    ]


def test_a_span_names_the_year_once() -> None:
    assert short_span(date(2027, 12, 30), date(2028, 1, 2)) == "Thu 30 Dec 2027 to Sun 2 Jan 2028"
