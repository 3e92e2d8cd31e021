"""What the README shows is what the commands print, and each of its blocks runs."""

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from tests.sites import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
SHOWN = re.findall(r"```\n\$ scheduler (.*)\n((?:.*\n)*?)```", README)
TYPED = re.findall(
    r"^scheduler (.*)$", "\n".join(re.findall(r"```sh\n(.*?)```", README, re.DOTALL)), re.MULTILINE
)
MOST_LINES = 160


def test_the_readme_is_short_and_shows_commands_with_their_output() -> None:
    assert len(README.splitlines()) <= MOST_LINES
    assert len(SHOWN) >= 2


@pytest.mark.parametrize(("command", "output"), SHOWN, ids=[command for command, _ in SHOWN])
def test_a_shown_command_prints_what_is_shown(
    command: str, output: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A line of three dots stands for lines left out."""
    monkeypatch.chdir(ROOT)
    printed = CliRunner().invoke(app, shlex.split(command)).stdout
    pattern = re.escape(output).replace(re.escape("...\n"), "(.*\n)*?")
    assert re.fullmatch(pattern, printed), printed


def test_the_blocks_to_type_work_one_after_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A newcomer's way: a new site, then write and check."""
    monkeypatch.chdir(tmp_path)
    ran = []
    for command in TYPED:
        name, *words = shlex.split(command)
        result = CliRunner().invoke(app, [name, *words, "--as-of", "2026-11-25"])
        assert result.exit_code in (0, 1), result.output
        ran.append(name)
    assert ran == ["new", "write", "check"]
    assert (tmp_path / "calendars/my-hill/work.ics").is_file()
    assert (tmp_path / "calendars/my-hill/pages/index.html").is_file()


def test_the_table_of_commands_is_whole() -> None:
    from typer.main import get_command

    commands = getattr(get_command(app), "commands")  # noqa: B009  # a group, which typer does not type
    assert commands
    for name in commands:
        assert re.search(rf"`(scheduler )?{name}\b", README), name
