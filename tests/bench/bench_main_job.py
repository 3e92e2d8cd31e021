"""What the main job costs, as a ratio to importing its third-party packages.

Both run in fresh processes, in turn, with a warm disk cache; the middle of the runs counts.

    python tests/bench/bench_main_job.py
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 7
ROOT = Path(__file__).parent.parent.parent
IMPORTS = (
    "import annotated_types, dateutil, icalendar, numpy, pydantic, rich.console, rich.table,"
    " skyfield.api, skyfield_data, typer, tzdata;"
    "from ortools.sat.python import cp_model"
)
MAIN_JOB = "from scheduler.cli import run; run()"


def seconds(*args: str) -> float:
    """Wall time of a fresh Python process."""
    begin = time.perf_counter()
    subprocess.run([sys.executable, *args], cwd=ROOT, check=True, capture_output=True)
    return time.perf_counter() - begin


def main() -> None:
    """Print the ratio for each demo site."""
    for site in ("branasol", "klipskadu"):
        imports, job = [], []
        for _ in range(ROUNDS):
            with tempfile.TemporaryDirectory() as folder:
                imports.append(seconds("-c", IMPORTS))
                options = ("--to", folder, "--as-of", "2026-11-25")
                job.append(seconds("-c", MAIN_JOB, "write", f"sites/{site}", *options))
        ratio = statistics.median(j / i for j, i in zip(job, imports, strict=True))
        print(
            f"{site}: imports {statistics.median(imports):.2f} s, main job "
            f"{statistics.median(job):.2f} s, ratio {ratio:.1f} (at most 4 wanted)"
        )


if __name__ == "__main__":
    main()
