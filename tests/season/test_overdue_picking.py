"""What nobody logged and may still come is not pruned before it is picked."""

from datetime import date

import pytest

from scheduler.holding import read_holding
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.windows import after_picking
from tests.sites import ROOT, published


@pytest.mark.parametrize("as_of", [date(2027, 1, 12), date(2027, 1, 20), date(2027, 2, 10)])
def test_fruit_is_picked_before_its_tree_is_pruned(klipskadu: SeasonPlan, as_of: date) -> None:
    """Common practice, no source: stone fruit is pruned after its harvest."""
    holding = read_holding(ROOT / "sites" / "klipskadu", as_of)
    placed = plan_season(holding, as_of, published=published(klipskadu)).placed
    links = list(after_picking(tuple(placed.tasks.values()), holding.rules))
    both = [link for link in links if {link.before, link.after} <= placed.stints.keys()]
    wrong = [
        (link.before, link.after)
        for link in both
        if placed.stints[link.after].first < placed.stints[link.before].last
    ]
    assert len(links) >= 2
    assert wrong == []
    if as_of == date(2027, 1, 20):
        assert both
