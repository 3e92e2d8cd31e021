"""The limits of days: narrowed ones are those that would be made anew, none said twice."""

from dataclasses import replace

import pytest

from scheduler.roster.limits import limits_of, narrowed
from scheduler.roster.solve import Solving
from tests.roster.seasons import season_of_work


@pytest.mark.parametrize("seed", [1, 2])
def test_narrowed_limits_are_those_made_anew(seed: int) -> None:
    solving = Solving(season_of_work(4, load=2.0, seed=seed))
    problem, crew, before = solving.problem, solving.crew, solving.choices
    after = {
        visit_id: [block for k, block in enumerate(found) if k % 3 or len(found) < 3]
        for visit_id, found in before.items()
    }
    anew = limits_of(problem, after, crew)
    limits = limits_of(problem, before, crew)
    assert set(narrowed(limits, before, after)) == set(anew)
    assert set(limits) != set(anew)


def test_of_limits_on_the_same_uses_only_the_least_room_is_kept() -> None:
    solving = Solving(season_of_work(4, load=2.0, seed=1))
    limits = limits_of(solving.problem, solving.choices, solving.crew)
    wider = [replace(limit, room=limit.room + 1) for limit in limits[:3]]
    for both in (wider + limits, limits + wider):
        assert set(narrowed(both, solving.choices, solving.choices)) == set(limits)
    assert len({limit.uses for limit in limits}) == len(limits) > 50
    for limit in limits:
        most = dict.fromkeys(limit.visits, 0)
        for visit_id, _, amount in limit.uses:
            most[visit_id] = max(most[visit_id], amount)
        assert limit.room < sum(most.values()), "a limit that nothing could break"
