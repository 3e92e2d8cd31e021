"""The wheel holds the program and its data, and nothing that lies beside them."""

import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

from tests.sites import ROOT

STRAY = ("notes.txt", "holding/rules/own.bak", "holding/new_site/stock.csv~", "calendars/work.ics")


def test_nothing_stray_is_packed_and_nothing_is_missing(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    shutil.copytree(ROOT / "scheduler", tree / "scheduler")
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, tree / name)
    for name in STRAY:
        (tree / "scheduler" / name).write_text("stray", encoding="utf-8")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(build, cwd=tree, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    packed = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    there = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "scheduler").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert any(name.endswith(".html") for name in there)
    assert packed == there
