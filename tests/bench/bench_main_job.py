"""What the main job costs, as a ratio to importing its third-party packages.

Both run in fresh processes, in turn, with a warm disk cache and compiled to bytecode, as pip
leaves an installed package; the middle of the runs counts.

    python tests/bench/bench_main_job.py
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 7
ROOT = Path(__file__).parent.parent.parent
IMPORTS = (
    "import annotated_types, dateutil, icalendar, jinja2, numpy, pydantic, rich.console,"
    " rich.table, skyfield.api, skyfield_data, typer, tzdata;"
    "from ortools.sat.python import cp_model"
)
MAIN_JOB = "from scheduler.commands.app import run; run()"


def seconds(bytecode: str, *args: str) -> float:
    """Wall time of a fresh Python process that keeps its bytecode in a folder."""
    env = {**os.environ, "PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": bytecode}
    begin = time.perf_counter()
    subprocess.run([sys.executable, *args], cwd=ROOT, env=env, check=True, capture_output=True)
    return time.perf_counter() - begin


def both(site: str, bytecode: str) -> tuple[float, float]:
    """Seconds of the imports, and of the main job for a site."""
    with tempfile.TemporaryDirectory() as feeds:
        options = ("--to", feeds, "--as-of", "2026-11-25")
        imports = seconds(bytecode, "-c", IMPORTS)
        return imports, seconds(bytecode, "-c", MAIN_JOB, "write", f"sites/{site}", *options)


def main() -> None:
    """Print the ratio for each demo site."""
    with tempfile.TemporaryDirectory() as bytecode:
        for site in ("branasol", "klipskadu"):
            both(site, bytecode)
            runs = [both(site, bytecode) for _ in range(ROUNDS)]
            imports, job = (statistics.median(times) for times in zip(*runs, strict=True))
            ratio = statistics.median(j / i for i, j in runs)
            print(
                f"{site}: imports {imports:.2f} s, main job {job:.2f} s, "
                f"ratio {ratio:.1f} (at most 4 wanted)"
            )


if __name__ == "__main__":
    main()
