"""The limits of days: those that something could break, none said twice."""

from scheduler.roster.rows import limits_of
from scheduler.roster.solve import Solving
from tests.roster.seasons import season_of_work


def test_each_limit_could_be_broken_and_is_said_once() -> None:
    solving = Solving(season_of_work(4, load=2.0, seed=1))
    limits = limits_of(solving.search.choices, solving.crew)
    assert len({limit.uses for limit in limits}) == len(limits) > 50
    for limit in limits:
        most: dict[str, int] = {}
        for visit_id, _, amount in limit.uses:
            most[visit_id] = max(most.get(visit_id, 0), amount)
        assert limit.room < sum(most.values()), "a limit that nothing could break"
