"""What the README shows is what the commands print."""

import re
import shlex

import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from tests.sites import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
SHOWN = re.findall(r"```\n\$ scheduler (.*)\n((?:.*\n)*?)```", README)


def test_the_readme_shows_commands_with_their_output() -> None:
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
