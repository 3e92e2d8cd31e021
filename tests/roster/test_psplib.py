"""Published instances: the optimum is met and proven, in our own problem type."""

import pytest

from scheduler.roster import Problem, faults_in, solve
from tests.roster.psplib import bounds_of, makespan, problem_of, read_instance
from tests.sites import ROOT

FOLDER = ROOT.parent / "shared" / "reference" / "data" / "schedule"
beside = pytest.mark.skipif(not FOLDER.exists(), reason="the published tables are not beside us")

# Written for this test in the layout of PSPLIB: 1 and 5 are the begin and the end. Activity 2
# and 3 cannot lie side by side on the one resource, 4 can lie beside either: 2 + 3 + 0 = 5
# periods; by hand.
SMALL = """\
************************************************************************
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          3           2   3   4
   2        1          1           5
   3        1          1           5
   4        1          1           5
   5        1          0
************************************************************************
REQUESTS/DURATIONS:
jobnr. mode duration  R 1
------------------------------------------------------------------------
  1      1     0       0
  2      1     2       3
  3      1     3       3
  4      1     4       1
  5      1     0       0
************************************************************************
RESOURCEAVAILABILITIES:
  R 1
    4
************************************************************************
"""


def test_the_layout_is_read_and_the_makespan_found_by_hand_is_proven() -> None:
    problem = problem_of(read_instance(SMALL))
    roster = solve(problem)
    assert makespan(roster) == 5
    assert roster.proof == "proven"
    assert faults_in(problem, roster) == ()


def test_several_modes_are_refused() -> None:
    with pytest.raises(ValueError, match="single-mode"):
        read_instance(SMALL.replace("   2        1          1", "   2        3          1"))


# Kolisch and Sprecher 1996, PSPLIB, EJOR 96:205-216: set j30, one file of each kind of
# network and of resource strength; optima as published there (all of j30 are closed).
HANDFUL = ["j301_1", "j305_1", "j309_1", "j3017_1", "j3025_1", "j3037_1", "j3041_1", "j3048_1"]


@beside
@pytest.mark.parametrize("name", HANDFUL)
def test_the_published_optimum_is_met_and_proven(name: str) -> None:
    text = (FOLDER / "j30" / f"{name}.sm").read_text(encoding="latin-1")
    problem = problem_of(read_instance(text))
    roster = solve(problem, effort=10.0)
    lower, upper = bounds_of(FOLDER / "optima_rcpsp.csv")[f"{name}.sm"]
    assert lower == upper == makespan(roster)
    assert roster.proof == "proven"
    assert faults_in(problem, roster) == ()


@beside
def test_both_models_prove_the_same_optimum() -> None:
    """Placements and spans are two models of one problem: both prove the same."""
    text = (FOLDER / "j30" / "j301_1.sm").read_text(encoding="latin-1")
    problem = problem_of(read_instance(text))
    days = {makespan(solve(problem, effort=10.0)), _by_placements(problem)}
    assert len(days) == 1


def _by_placements(problem: Problem) -> int:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("scheduler.roster.search.suits", lambda *_, **__: False)
        return makespan(solve(problem, effort=30.0))
