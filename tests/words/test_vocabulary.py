"""Words that a grower would have to read twice do not reach the screen."""

import ast
import re

import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from tests.sites import AS_OF, DEMOS, ROOT

pytestmark = pytest.mark.usefixtures("plans_once")

# the verb "stands" is left to trees and people who stand somewhere
BANNED = re.compile(
    r"\b(told|no place|could not be placed|season clock|secret address|spare time)\b",
    re.IGNORECASE,
)
COMMANDS = ("due", "due --full", "plan", "plan --full", "check", "frost", "frost --full",
            "frost --history", "sky")  # fmt: skip


@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize("command", COMMANDS)
def test_no_such_word_is_printed(command: str, demo: str) -> None:
    name, *options = command.split()
    args = [name, str(ROOT / "sites" / demo), *options, "--as-of", AS_OF.isoformat()]
    result = CliRunner().invoke(app, args)
    assert result.exit_code in (0, 1)
    assert len(result.output) > 100
    assert BANNED.findall(result.output) == []


def test_no_such_word_is_in_the_calendars_or_on_the_pages() -> None:
    files = [*(ROOT / "calendars").rglob("*.ics"), *(ROOT / "calendars").rglob("*.html")]
    assert len(files) > 100
    for path in files:
        assert BANNED.findall(path.read_text(encoding="utf-8").replace("\n ", "")) == [], path


def test_no_sentence_of_the_program_has_such_a_word() -> None:
    """Text in the code that is no docstring and reads like a sentence."""
    sentences = 0
    for path in sorted((ROOT / "scheduler").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        docs = {
            id(node.body[0].value)
            for node in ast.walk(tree)
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
            and node.body and isinstance(node.body[0], ast.Expr)
        }  # fmt: skip
        for node in ast.walk(tree):
            if not isinstance(node, ast.Constant) or id(node) in docs:
                continue
            if isinstance(node.value, str) and " " in node.value:
                sentences += 1
                assert BANNED.findall(node.value) == [], f"{path.name}:{node.lineno}"
    assert sentences > 500
