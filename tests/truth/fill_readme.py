"""Writes the output of the commands that the README shows into the README.

python tests/truth/fill_readme.py
"""

import re
import shlex
from pathlib import Path

from typer.testing import CliRunner

from scheduler.commands.app import app

SHOWN = re.compile(r"(```\n\$ scheduler (.*)\n)((?:.*\n)*?)```")


def with_output(shown: re.Match[str]) -> str:
    """The block with what its command prints now; up to the first gap where it was cut short."""
    printed = CliRunner().invoke(app, shlex.split(shown[2])).stdout
    if shown[3].endswith("...\n"):
        printed = printed.partition("\n\n")[0] + "\n...\n"
    return f"{shown[1]}{printed}```"


if __name__ == "__main__":
    readme = Path("README.md")
    readme.write_text(SHOWN.sub(with_output, readme.read_text(encoding="utf-8")), encoding="utf-8")
    print("wrote", readme)
