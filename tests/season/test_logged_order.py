"""The order of work holds across what the log says is done, out of its turn or not."""

from datetime import timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from tests.sites import AS_OF, add, demo, planned

pytestmark = pytest.mark.usefixtures("plans_once")

# common practice, no source: nothing is laid or planted below trees that are still to be cut
LOGGED = ("fondal.cut-medium", "fondal.cut-low")
ON_THE_GROUND = ("fondal.lay-coarse", "fondal.lay-fine")


@pytest.fixture
def out_of_turn(tmp_path: Path) -> Path:
    """O Fondal: two strata are logged as cut, the tallest trees around them still stand."""
    site = demo(tmp_path, "branasol")
    add(site, "worklog.csv", "".join(f"{AS_OF},2027,{task_id},100,,\n" for task_id in LOGGED))
    return site


@pytest.mark.slow
def test_work_on_the_ground_waits_for_trees_skipped_by_the_log(out_of_turn: Path) -> None:
    plan = planned(out_of_turn, AS_OF + timedelta(days=1))
    assert set(ON_THE_GROUND) < set(plan.placed.groups["fondal.release"]), (
        "they are one visit still"
    )
    stints = plan.placed.stints
    felled = stints["fondal.lay-boundary"].last
    assert all(stints[task_id].first >= felled for task_id in ON_THE_GROUND)


@pytest.mark.slow
def test_done_says_which_work_above_is_left_standing(tmp_path: Path) -> None:
    site = demo(tmp_path, "branasol")
    day = ["--as-of", "2027-06-01"]
    told = CliRunner().invoke(app, ["log", str(site), "fondal.cut-medium", *day])
    assert told.exit_code == 0
    assert (
        "note: before it comes 'Lay or stack the wood of the boundary trees' "
        "(fondal.lay-boundary), not logged as done; what follows waits for it too"
    ) in " ".join(told.stderr.split())
    for first in ("weed-lines", "cut-boundary", "lay-boundary"):
        CliRunner().invoke(app, ["log", str(site), f"fondal.{first}", *day])
    told = CliRunner().invoke(app, ["log", str(site), "fondal.cut-low", *day])
    assert (told.exit_code, told.stderr) == (0, "")
