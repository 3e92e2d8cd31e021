"""What a feed holds only if it is asked for, asked on the command line."""

from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from tests.calendars.lint import faults_of
from tests.sites import edit, new_site

pytestmark = pytest.mark.usefixtures("plans_once")

AS_OF = ("--as-of", "2026-11-25")
COMMANDS = ("write", "share")


def ran(command: str, site: Path, to: Path, *options: str) -> Result:
    return CliRunner().invoke(app, (command, str(site), "--to", str(to), *AS_OF, *options))


def feeds_in(folder: Path) -> dict[str, bytes]:
    """By their name without site and token."""
    return {path.stem.removeprefix("site-"): path.read_bytes() for path in folder.rglob("*.ics")}


@pytest.mark.parametrize("command", COMMANDS)
def test_alarms_and_relations_are_off_until_asked_for_and_off_again_after(
    tmp_path: Path, command: str
) -> None:
    site, to = new_site(tmp_path / "site"), tmp_path / "feeds"
    assert ran(command, site, to).exit_code == 0
    plain = feeds_in(to)
    assert b"VALARM" not in b"".join(plain.values())
    assert b"RELATED-TO" not in b"".join(plain.values())
    assert ran(command, site, to, "--alarms", "--dependencies").exit_code == 0
    asked = feeds_in(to)
    for name, content in asked.items():
        assert faults_of(content) == [], name
        n_alarms = 0 if name.endswith("sky") else 2
        assert content.count(b"BEGIN:VALARM") == n_alarms * content.count(b"BEGIN:VEVENT")
    (work,) = (content for name, content in asked.items() if name.endswith("work"))
    assert b"TRIGGER:-PT6H" in work
    assert b"RELTYPE=FINISHTOSTART" in work
    assert work.count(b"SEQUENCE:0") == work.count(b"BEGIN:VEVENT"), "no day has moved"
    assert ran(command, site, to).exit_code == 0
    assert b"VALARM" not in b"".join(feeds_in(to).values())


@pytest.mark.parametrize("command", COMMANDS)
def test_cancelled_work_is_shown_as_such_where_it_is_asked_for(
    tmp_path: Path, command: str
) -> None:
    site, to = new_site(tmp_path / "site"), tmp_path / "feeds"
    assert ran(command, site, to).exit_code == 0
    edit(site, "plan-2027.toml", '["dormant", "release", "dry-summer", "year"]', '["dormant"]')
    assert ran(command, site, to, "--keep-cancelled").exit_code in (0, 1)
    (kept,) = (content for name, content in feeds_in(to).items() if name.endswith("work"))
    assert faults_of(kept) == []
    assert b"SUMMARY:Cancelled: First plot: release visit" in kept
    assert ran(command, site, to).exit_code in (0, 1)
    (gone,) = (content for name, content in feeds_in(to).items() if name.endswith("work"))
    assert b"Cancelled" not in gone


@pytest.mark.parametrize("command", COMMANDS)
def test_help_tells_of_each_option(command: str) -> None:
    # typer breaks long lines at the width of the terminal
    told = " ".join(
        CliRunner().invoke(app, (command, "--help"), env={"COLUMNS": "200"}).stdout.split()
    )
    for option, words in {
        "--alarms": "Two reminders, the evening before and that morning",
        "--dependencies": "RFC 9253",
        "--keep-cancelled": "until its day has passed",
        "--allow-empty": "empty feed replace a full one",
        "--remove-ended": "without work, or gone",
    }.items():
        assert option in told
        assert words in told
