"""Published instances of project scheduling, stated in our own problem type.

Kolisch and Sprecher 1996, PSPLIB - A project scheduling problem library, European Journal of
Operational Research 96:205-216: files of single-mode instances with renewable resources.
"""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from scheduler.roster import Job, Kit, Order, Problem, Roster
from scheduler.terms import Season

END = "end"


@dataclass(frozen=True)
class Instance:
    """What a file says: durations, successors and requests by activity, and capacities."""

    lasts: dict[int, int]
    followers: dict[int, tuple[int, ...]]
    asks: dict[int, tuple[int, ...]]
    rooms: tuple[int, ...]


def read_instance(text: str) -> Instance:
    """Read a file of the library."""
    lines = text.splitlines()
    table = _rows(lines, "PRECEDENCE RELATIONS", 2)
    requests = _rows(lines, "REQUESTS/DURATIONS", 3)
    rooms = _rows(lines, "RESOURCEAVAILABILITIES", 2)
    if any(row[1] != 1 for row in table):
        raise ValueError("an activity has several modes; only single-mode files are read")
    return Instance(
        lasts={row[0]: row[2] for row in requests},
        followers={row[0]: tuple(row[3:]) for row in table},
        asks={row[0]: tuple(row[3:]) for row in requests},
        rooms=tuple(rooms[0]),
    )


def _rows(lines: Sequence[str], head: str, skip: int) -> list[list[int]]:
    at = next(n for n, line in enumerate(lines) if line.startswith(head)) + skip
    end = next(n for n in range(at, len(lines)) if lines[n].startswith("*"))
    return [list(map(int, line.split())) for line in lines[at:end]]


def problem_of(instance: Instance) -> Problem:
    """Days for its periods, kit for its resources; one last job, which alone is in a hurry.

    Activities without duration become nothing; what they tie together stays tied.
    """
    real = {n for n, lasts in instance.lasts.items() if lasts > 0}
    n_days = sum(instance.lasts.values()) + 1
    season = Season(date(2027, 1, 1), n_days)
    jobs = [
        _job(str(n).zfill(3), instance.lasts[n], instance.asks[n], n_days) for n in sorted(real)
    ]
    orders = [
        Order(str(n).zfill(3), str(f).zfill(3), min_days=1)
        for n in real
        for f in _real_followers(instance, n, real)
    ]
    orders += [Order(job.id, END, min_days=1) for job in jobs]
    kits = tuple(
        Kit(f"R{r}", np.full(n_days, room, dtype=np.int64))
        for r, room in enumerate(instance.rooms)
    )
    last = _job(END, 1, (), n_days, hurry=1)
    return Problem(season, (*jobs, last), tuple(orders), (), kits)


def _real_followers(instance: Instance, n: int, real: set[int]) -> set[int]:
    found: set[int] = set()
    for follower in instance.followers[n]:
        found |= {follower} if follower in real else _real_followers(instance, follower, real)
    return found


def _job(name: str, n_days: int, asks: Sequence[int], season_days: int, hurry: int = 0) -> Job:
    return Job(
        id=name,
        plot="",
        work_h=0.0,
        team={},
        team_max=0,
        open=np.ones(season_days, dtype=bool),
        points=np.zeros(season_days),
        risk=np.zeros(season_days),
        uses={f"R{r}": units for r, units in enumerate(asks) if units},
        n_days=n_days,
        hurry=hurry,
    )


def makespan(roster: Roster) -> int:
    """Periods until all is done: the day number of the last job."""
    last = roster.stint(END)
    assert last is not None
    return last.first


def bounds_of(table: Path) -> dict[str, tuple[int, int]]:
    """Best known lower and upper bound by file name, from ``optima_rcpsp.csv``."""
    with table.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["upper"]]
    return {row["file"]: (int(row["lower"] or 0), int(row["upper"])) for row in rows}
