"""The day to decide stands before the work that waits for frost, or not at all."""

from datetime import date
from pathlib import Path

import pytest

from scheduler.reasons import SeasonPlan
from tests.sites import add, asks_for, new_site, own_date, planned

pytestmark = pytest.mark.slow
DECIDE = "first-plot.decide-release"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """Its own frost dates: 15 October to 10 May."""
    return new_site(tmp_path / "site")


def told(plan: SeasonPlan) -> list[str]:
    return [n.says for n in plan.notices if n.code == "nothing-to-decide"]


def test_it_stands_before_all_work_that_waits_for_frost(site: Path) -> None:
    plan = planned(site)
    gated = [
        stint.first
        for task_id, stint in plan.placed.stints.items()
        if plan.placed.tasks[task_id].type.visit == "release"
        and plan.placed.tasks[task_id].type.exposes
    ]
    assert gated
    assert plan.placed.stints[DECIDE].first < min(gated)
    assert not told(plan)


def test_a_release_without_a_place_leaves_nothing_to_decide(site: Path) -> None:
    asks_for(site, "cut-medium", "decide-release")
    add(site, "plan-2027.toml", '\n[[closed]]\nfirst = 2027-05-11\nlast = 2027-11-30\n'
        'types = ["release"]\nwhy = "told"\n')  # fmt: skip
    plan = planned(site)
    assert DECIDE not in plan.placed.stints
    assert DECIDE not in plan.placed.roster.left_out
    assert any("Decide: go or wait" in says for says in told(plan))


def test_work_that_was_begun_before_it_in_the_same_frost_has_been_decided_on(site: Path) -> None:
    own_date(site, "first-plot.cut-medium", on=date(2027, 4, 22))
    plan = planned(site)
    assert "first-plot.cut-medium" in plan.placed.stints
    assert DECIDE not in plan.placed.stints
    assert told(plan)
