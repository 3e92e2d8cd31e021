"""The house keeps its own rules: what loads when, what stands where, what the README says."""

import ast
import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from radon.complexity import cc_visit

from scheduler.terms import Basis, Ruling
from tests.sites import ROOT

MOST_BRANCHES = 12
TOPS = (ROOT, ROOT / "scheduler")
HEAVY = ("numpy", "skyfield", "ortools", "icalendar", "uvicorn", "starlette")
# on the command line `--help` is asked in a fresh process, as a newcomer would
LOADED = (
    "import sys, json; {body}; print(json.dumps(sorted(m.split('.')[0] for m in sys.modules)))"
)


def loaded_after(body: str) -> set[str]:
    script = LOADED.format(body=body)
    out = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    return set(json.loads(out.stdout.splitlines()[-1]))


def order_of_rooms() -> list[str]:
    """The rooms from the first to the last, as the import contract has them."""
    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    layers = config["tool"]["importlinter"]["contracts"][0]["layers"]
    rooms = [room for layer in reversed(layers) for room in layer.split(" | ")]
    return [room for room in rooms if room != "__main__"]


HELP = (
    "import scheduler.commands.app as c\ntry:\n    c.app({args})\nexcept SystemExit:\n    pass\n"
)


@pytest.mark.parametrize("args", [["--help"], ["write", "--help"], ["new", "--help"]])
def test_help_loads_none_of_the_heavy_libraries(args: list[str]) -> None:
    body = f"exec({HELP.format(args=args)!r})"
    assert not loaded_after(body) & set(HEAVY)


def test_the_solver_and_the_ephemeris_are_not_loaded_to_record_finished_work() -> None:
    assert not loaded_after("import scheduler.holding, scheduler.stand") & {
        "skyfield", "ortools", "icalendar",
    }  # fmt: skip


def test_only_the_server_loads_the_libraries_that_serve() -> None:
    serving = {"starlette", "uvicorn"}
    assert not loaded_after("import scheduler.ways_out") & serving
    used = (
        "from pathlib import Path; import scheduler.ways_out as w; w.server_of(Path(), '', print)"
    )
    assert loaded_after(used) >= serving


def test_the_top_level_holds_what_was_agreed() -> None:
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode != 0:
        pytest.skip("not a git checkout")
    tops = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {top for top in tops if not top.startswith(".")} <= {
        "LICENSE", "README.md", "DEVELOPERS.md", "pyproject.toml",
        "scheduler", "tests", "sites", "calendars",
    }  # fmt: skip


@pytest.mark.parametrize("path", sorted((ROOT / "scheduler").rglob("*.py")), ids=lambda p: p.name)
def test_no_file_is_too_long_to_read(path: Path) -> None:
    n_lines = len(path.read_text(encoding="utf-8").splitlines())
    assert n_lines <= 400, f"{path.name}: {n_lines} lines; is it still one room?"


@pytest.mark.parametrize("path", sorted((ROOT / "scheduler").rglob("*.py")), ids=lambda p: p.name)
def test_no_function_branches_too_much_to_be_followed(path: Path) -> None:
    """As `radon cc` counts: comprehensions and each `and` and `or` are branches too."""
    branches = {
        getattr(block, "fullname", block.name): block.complexity
        for block in cc_visit(path.read_text(encoding="utf-8"))
    }
    assert {name: n for name, n in branches.items() if n > MOST_BRANCHES} == {}


def test_no_two_modules_or_rooms_bear_one_name() -> None:
    paths = [p for p in (ROOT / "scheduler").rglob("*.py") if not p.stem.startswith("__")]
    names = [path.stem for path in paths] + sorted({path.parent.name for path in paths})
    assert len(names) > 150
    assert [name for name in sorted(set(names)) if names.count(name) > 1] == []


def test_no_class_and_no_function_of_two_files_bear_one_name() -> None:
    """Commands apart: they bear the names that a grower types."""
    places: dict[str, list[str]] = {}
    for path in sorted((ROOT / "scheduler").rglob("*.py")):
        if path.parent.name == "commands":
            continue
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
                places.setdefault(node.name, []).append(path.name)
    assert len(places) > 500
    assert {name: files for name, files in places.items() if len(files) > 1} == {}


def test_a_room_is_used_through_its_face_and_a_face_gives_what_is_used() -> None:
    """The face of a room is what its ``__init__`` imports; others import that and no more."""
    used: dict[str, set[str]] = {}
    faces: dict[str, set[str]] = {}
    for path in sorted((ROOT / "scheduler").rglob("*.py")):
        room = path.parent.name
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.ImportFrom) or node.module is None:
                continue
            package, _, inside = node.module.partition(".")
            if package != "scheduler":
                continue
            other, _, module = inside.partition(".")
            names = {alias.name for alias in node.names}
            if path.name == "__init__.py":
                faces.setdefault(room, set()).update(names)
            elif other != room:
                assert module == "", f"{path.name} reaches into {node.module}"
                used.setdefault(other, set()).update(names)
    assert len(faces) > 10
    assert used == faces


# what these rooms have to say is said by words, reasons and commands, or carried by the Fault,
# Notice or Ruling of the room that sees it
WITHOUT_LANGUAGE = ("terms", "roster", "calendars", "pages")
LEAST_WORDS = 4  # of a sentence


def test_language_is_made_where_language_is_made() -> None:
    asked = 0
    for room in WITHOUT_LANGUAGE:
        for path in sorted((ROOT / "scheduler" / room).glob("*.py")):
            if path.name == "check.py":
                continue  # what it says is read by programmers alone
            tree = ast.parse(path.read_text(encoding="utf-8"))
            quiet = {id(part) for node in ast.walk(tree) for part in _for_programmers(node)}
            for node in ast.walk(tree):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    asked += 1
                    few = len(node.value.split()) < LEAST_WORDS or node.value.startswith("-//")
                    assert few or id(node) in quiet, f"{path.name}:{node.lineno}"
    assert asked > 100


def _for_programmers(node: ast.AST) -> Iterator[ast.AST]:
    """Docstrings, and what an error or an assertion of the program says."""
    if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and node.body:
        yield from ast.walk(node.body[0])
    if isinstance(node, ast.Raise | ast.Assert):
        yield from ast.walk(node)


def test_no_machine_path_stands_in_the_project() -> None:
    wrong = re.compile(r"/(work|home|root|farm)/|pypi\.org|file:///")
    for path in ROOT.rglob("*"):
        rel = path.relative_to(ROOT)
        if path.suffix not in (".py", ".toml", ".md", ".csv", ".ics") or rel.parts[0].startswith(
            "."
        ):
            continue
        if path.name != Path(__file__).name:
            assert not wrong.search(path.read_text(encoding="utf-8")), path


def test_the_readme_test_command_is_what_ci_runs() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    commands = [line for line in readme.splitlines() if line.startswith("python3 -m venv")]
    assert len(commands) == 2
    assert "scheduler write" in commands[0]
    for tool in ("ruff check", "ruff format --check", "mypy", "lint-imports", "pytest"):
        assert tool in commands[1]
    run = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    (taken,) = [line for line in run if line.startswith("command=")]
    assert run.index('eval "$command"') > run.index(taken)
    bash = ["bash", "-c", f'{taken}; printf %s "$command"']
    read = subprocess.run(bash, cwd=ROOT, capture_output=True, text=True, check=True)
    assert read.stdout == commands[1]


def test_a_practice_can_never_close_a_day() -> None:
    import numpy as np

    closed = np.array([False, True])
    with pytest.raises(ValueError, match="grower practice"):
        Ruling("moon", Basis.PRACTICE, "words", "source", closed, np.zeros(2))


def test_a_ruling_without_a_source_is_refused() -> None:
    import numpy as np

    with pytest.raises(ValueError, match="no source"):
        Ruling("x", Basis.COMPUTED, "words", "", np.array([False]), np.zeros(1))


def test_every_command_has_help_with_an_example() -> None:
    from typer.main import get_command

    from scheduler.commands.app import app

    commands = getattr(get_command(app), "commands")  # noqa: B009  # a group, which typer does not type
    assert set(commands) == {
        "new", "due", "plan", "why", "check", "log", "frost", "sky",
        "write", "share", "serve", "push",
    }  # fmt: skip
    for name, command in commands.items():
        assert command.help, name
        assert f"Example: scheduler {name} " in command.epilog


def test_every_decision_that_names_a_test_is_held_by_one() -> None:
    asked = 0
    for path in sorted((ROOT / "scheduler").rglob("*.py")):
        words = " ".join((ast.get_docstring(ast.parse(path.read_text("utf-8"))) or "").split())
        held = re.findall(r"Held by (tests/\S+\.py)::(test_\w+)", words)
        assert len(held) == words.count("Held by"), f"{path.name} names no test as it should"
        for file, name in held:
            tests = ast.parse((ROOT / file).read_text(encoding="utf-8")).body
            names = {test.name for test in tests if isinstance(test, ast.FunctionDef)}
            assert name in names, f"{path.name}: {file} has no {name}"
            asked += 1
    assert asked > 10


def test_the_page_for_contributors_is_short_and_names_what_there_is() -> None:
    lines = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").splitlines()
    assert len(lines) <= 200
    text = "\n".join(lines)
    rooms = {path.name for path in (ROOT / "scheduler").iterdir() if path.is_dir()} - {
        "__pycache__"
    }
    # from the top, or from the package: `tests/sites.py`, `roster/rows.py`, `calendars/`
    named = re.findall(r"`((?:[\w.-]+/)+[\w.*-]*)`", text)
    assert len(named) > 20
    missing = [path for path in named if not any(list(top.glob(path)) for top in TOPS)]
    assert missing == []
    table = re.findall(r"^\| `(\w+)` \| .* \| (.*) \|$", text, re.MULTILINE)
    assert [room for room, _ in table] == order_of_rooms()
    assert {room for room, _ in table} == rooms
    for room, first in table:
        files = re.findall(r"`([\w./]+)`", first)
        assert files, room
        assert [file for file in files if not (ROOT / "scheduler" / room / file).is_file()] == []
    modules = re.findall(r"`python -m ([\w.]+)`", text)
    assert modules
    assert all((ROOT / f"{name.replace('.', '/')}.py").is_file() for name in modules)
