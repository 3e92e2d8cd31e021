"""Ctrl-C and limits: the best plan so far, marked so, and checked like any other."""

import json
import signal
import subprocess
import sys
import time
from dataclasses import replace
from unittest.mock import patch

import pytest

from scheduler.roster import Problem, Roster, solve
from scheduler.roster.check import faults_in
from scheduler.roster.engine import Model, Outcome
from scheduler.roster.search import Search
from scheduler.words import proof_words
from tests.roster.seasons import season_of_work

# Says when the solver begins, and what came of it. A shell that starts the tests in the background
# has Ctrl-C ignored in all that they start.
CHILD = """
import json
import signal
from scheduler.roster import engine, solve
from scheduler.roster.check import faults_in
from tests.roster.seasons import season_of_work

signal.signal(signal.SIGINT, signal.default_int_handler)
problem = season_of_work(12, seed=5)
inner = engine.Model.solve
def told(self, *args, **settings):
    print("begins", flush=True)
    return inner(self, *args, **settings)
engine.Model.solve = told
roster = solve(problem, effort=500.0)
print(json.dumps([roster.proof, len(faults_in(problem, roster)), len(roster.visits)]))
"""


@pytest.fixture
def busy() -> Problem:
    """A season that takes the solver's time."""
    return season_of_work(4, load=1.2, seed=3)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="no SIGINT to a child there")
def test_a_real_ctrl_c_gives_the_best_plan_so_far_without_a_traceback() -> None:
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "begins\n"
    time.sleep(1.0)
    child.send_signal(signal.SIGINT)
    begin = time.monotonic()
    out, err = child.communicate(timeout=60)
    assert time.monotonic() - begin < 20, "it does not search on"
    assert child.returncode == 0
    assert "Traceback" not in err
    proof, n_faults, n_visits = json.loads(out.splitlines()[-1])
    assert (proof, n_faults) == ("stopped", 0)
    assert n_visits > 0


def test_what_the_solver_had_found_when_stopped_is_kept(busy: Problem) -> None:
    whole, first = solve(busy), solve(busy, effort=0.0)
    inner = Model.solve

    def stopped(self: Model, *args: float, **settings: float) -> Outcome:
        return replace(inner(self, *args, **settings), bound=0, stopped=True)

    with patch.object(Model, "solve", stopped):
        roster = solve(busy)
    assert faults_in(busy, roster) == ()
    assert _values(roster) < _values(first)
    assert roster.proof == "stopped"
    assert _values(whole) <= _values(roster)


def test_a_stop_between_two_steps_keeps_the_plan_there_is(busy: Problem) -> None:
    first = solve(busy, effort=0.0)
    with patch.object(Search, "adopt", side_effect=KeyboardInterrupt):
        roster = solve(busy)
    assert roster.proof == "stopped"
    assert faults_in(busy, roster) == ()
    assert _values(roster) == _values(first)


def _values(roster: Roster) -> list[float]:
    return [stage.value for stage in roster.stages]


def test_the_state_is_told_with_the_gap(busy: Problem) -> None:
    proven, limited = solve(busy), solve(busy, effort=0.0)
    assert (proven.proof, proven.gap) == ("proven", 0.0)
    assert proof_words(proven).startswith("Proven")
    assert limited.proof == "gap"
    last = replace(limited.stages[-1], value=200.0, bound=0.0)
    unknown = replace(limited, stages=(*proven.stages[:-1], last))
    assert "ended at its limit; how near to the best is not known" in proof_words(unknown)
    near = replace(unknown, proof="stopped", stages=(replace(last, bound=183.9),))
    assert proof_words(near) == (
        "Not proven best: the search was stopped; within 8.1 % of the best there can be."
    )
