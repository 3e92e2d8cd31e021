"""Commands over broken sites, until the CPU time is used up: ``python -m tests.bench.fuzz_sites``.

What must hold for each: no traceback, no exit code but 0, 1 and 2, none over 30 s of CPU or
1 GB, no refusal without a reason, each fault with its file; and work calendars never lose more
than a third of their entries without a word.
"""

import argparse
import os
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path
from types import FrameType

from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from tests.mutations import broken_site
from tests.sites import ROOT

PATIENCE_S, MOST_KB, MOST_LOST = 30, 1_000_000, 1 / 3
IDLE = 10  # times as long by the clock, for what waits and does not work
AS_OF = ("2026-11-25", "2027-04-20", "2027-06-10", "2027-11-29")
TASKS = (
    "fondal.release",
    "vlei.release",
    "rant.plant-alleys",
    "novo.dormant",
    "holding.order",
    "x",
)
FAULT = re.compile(r"^\S.*: found .*; (allowed: |did you mean ).+")


class HangError(Exception):
    """A command took too long."""


def _hang(_number: int, _frame: FrameType | None) -> None:
    raise HangError(f"over {PATIENCE_S} s")


def command_for(site: Path, chance: random.Random) -> list[str]:
    """A command with its options, drawn at random; the most used most often."""
    day = ("--as-of", chance.choice(AS_OF))
    json = ("--json",) if chance.random() < 0.2 else ()
    plain = [(name, str(site), *day, *json) for name in ("check", "due", "plan", "frost")]
    return list(
        chance.choice(
            [
                *plain,
                ("write", str(site), *day),
                ("write", str(site), *day),
                ("why", str(site), chance.choice(TASKS), *day),
                ("frost", str(site), "--history", *day, *json),
                ("sky", str(site), *day, *json),
                ("frost", str(site), "--tonight", "--temp", "4", "--dew", "1", *day),
                ("log", str(site), chance.choice(TASKS), *day, "--percent", "100"),
                ("share", str(site), "--to", "www", "--address", "https://example.org", *day),
            ]
        )
    )


def run_within(command: list[str]) -> Result:
    """Run a command in this process; a hang comes back as its exception."""
    timers = ((signal.SIGPROF, signal.ITIMER_PROF, PATIENCE_S),
              (signal.SIGALRM, signal.ITIMER_REAL, IDLE * PATIENCE_S))  # fmt: skip
    for number, timer, seconds in timers:
        signal.signal(number, _hang)
        signal.setitimer(timer, seconds)
    try:
        return CliRunner().invoke(app, command)
    finally:
        for _, timer, _ in timers:
            signal.setitimer(timer, 0)


def entries_in(site_name: str) -> int:
    """Entries of the written work calendar."""
    feed = Path("calendars") / site_name / "work.ics"
    return feed.read_bytes().count(b"\r\nBEGIN:VEVENT\r\n") if feed.exists() else 0


def finding_of(result: Result, before: int, after: int) -> str:
    """What is wrong with an answer; empty where nothing is."""
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        told = traceback.extract_tb(result.exception.__traceback__)[-1]
        where = f"{Path(told.filename).name}:{told.lineno}"
        return f"{type(result.exception).__name__} in {where}: {str(result.exception)[:120]}"
    if result.exit_code not in (0, 1, 2):
        return f"exit code {result.exit_code}"
    if resource.getrusage(resource.RUSAGE_SELF).ru_maxrss > MOST_KB:
        return "over 1 GB"
    lines = result.stderr.splitlines()
    if result.exit_code == 2 and not lines:
        return "refused without a reason"
    if result.exit_code == 0 and after < (1 - MOST_LOST) * before:
        return f"{before - after} of {before} entries lost without a word"
    odd = [line for line in lines if ": found " in line and not FAULT.match(line)]
    return f"a fault without file or what is allowed: {odd[0][:120]}" if odd else ""


def attempt(seed: int, folder: Path) -> tuple[str, str]:
    """One broken site and one command.

    Returns:
        The command's name and exit code, and what was found with how to make it again.
    """
    chance = random.Random(seed)  # noqa: S311  # no secret
    site, slips = broken_site(folder, chance)
    shutil.copytree(ROOT / "calendars", "calendars")
    command, before = command_for(site, chance), entries_in(site.name)
    begun = time.process_time()
    result = run_within(command)
    taken_s = time.process_time() - begun
    finding = finding_of(result, before, entries_in(site.name))
    kind = f"{command[0]} {result.exit_code}"
    return kind, finding and f"seed {seed}, {taken_s:.1f} s: {finding}; {command}; {slips}"


def main() -> None:
    """Run until the CPU time is used up, and print what was found."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--minutes", type=float, default=60.0, help="CPU time, minutes")
    options.add_argument("--seed", type=int, default=1, help="first seed")
    options.add_argument("--one", action="store_true", help="the first seed alone, with output")
    asked = options.parse_args()
    kinds: Counter[str] = Counter()
    found = 0
    seed, here = asked.seed, Path.cwd()
    until_s = time.process_time() + 60 * asked.minutes
    while time.process_time() < until_s:
        with tempfile.TemporaryDirectory() as scratch:
            os.chdir(scratch)
            kind, finding = attempt(seed, Path(scratch))
            os.chdir(here)
        kinds[kind] += 1
        if finding:
            found += 1
            print(finding, flush=True)
        if asked.one:
            break
        seed += 1
    most_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    print(f"{sum(kinds.values())} commands, {found} findings, at most {most_mb:.0f} MB")
    print(", ".join(f"{kind}: {n}" for kind, n in sorted(kinds.items())))
    sys.exit(bool(found))


if __name__ == "__main__":
    main()
