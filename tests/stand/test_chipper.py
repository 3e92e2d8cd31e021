"""Whether a hired chipper pays: told by the same hours as the plan has with it and without."""

import math
from dataclasses import replace

import pytest

from scheduler.holding import Holding, read_holding
from scheduler.stand import Chipping, chippings_of, tasks_of
from tests.sites import AS_OF, ROOT

# kg of fresh twigs in a person-hour: laid by hand, fed to a small machine, spread as chips.
# Common practice and assumption, no source.
BY_HAND, FED, SPREAD = 110, 750, 400
DAY_H = 6  # productive hours of a hired day: common practice, no source


@pytest.fixture(scope="module")
def demo() -> Holding:
    return read_holding(ROOT / "sites" / "branasol", AS_OF)


def chips(holding: Holding, **changes: object) -> Holding:
    """The holding with another price of an hour, or another offer of the chipper."""
    crew, price = holding.crew, changes.pop("hour_price", holding.crew.hour_price)
    hire = (replace(one, **changes) if one.id == "chipper" else one for one in crew.hire)  # type: ignore[arg-type]  # fields by name
    return replace(holding, crew=replace(crew, hire=tuple(hire), hour_price=price))  # type: ignore[arg-type]  # a number or None


def hours_of(holding: Holding) -> dict[str, float]:
    """Person-hours of all work by plot."""
    found: dict[str, float] = {}
    for task in tasks_of(holding):
        found[task.plot_id] = found.get(task.plot_id, 0.0) + task.hours.usual
    return found


def chipped(holding: Holding) -> set[str]:
    return {task.plot_id for task in tasks_of(holding) if task.type.id == "chip"}


def by_plot(holding: Holding) -> dict[str, Chipping]:
    return {one.plot.id: one for one in chippings_of(holding)}


def test_the_hours_told_are_those_of_the_plan_with_the_chipper_and_without(demo: Holding) -> None:
    told = by_plot(demo)
    assert told
    machine, hand = chips(demo, wanted=True), chips(demo, hour_price=None)
    assert chipped(machine) == set(told)
    assert chipped(hand) == set()
    with_it, without = hours_of(machine), hours_of(hand)
    for plot, one in told.items():
        assert without[plot] - with_it[plot] == pytest.approx(one.saved_h)
        rates = 1 / BY_HAND - 1 / FED - 1 / SPREAD
        assert one.saved_h == pytest.approx(one.twigs_kg * rates)
        assert one.days == math.ceil(one.twigs_kg / FED / 2 / DAY_H)  # two feed it
    others = without.keys() - told.keys()
    assert others
    assert all(without[plot] == with_it[plot] for plot in others)


def test_it_comes_where_it_saves_more_than_it_costs(demo: Holding) -> None:
    told = by_plot(demo)
    least = {plot: one.cost / one.saved_h for plot, one in told.items()}
    assert min(least.values()) > 0
    for plot, price in least.items():
        assert plot in chipped(chips(demo, hour_price=1.01 * price))
        assert plot not in chipped(chips(demo, hour_price=0.99 * price))
    free = chips(demo, cost_day=0.0)
    assert chipped(free) == set(told)
    assert chipped(chips(free, hour_price=None)) == set(), "nobody says what an hour is worth"


def test_it_does_not_come_for_a_handful_even_where_it_is_wanted(demo: Holding) -> None:
    """300 kg of twigs: common practice, no source."""
    wanted = chips(demo, wanted=True)
    kg = {t.plot_id: t.material.twigs_kg for t in tasks_of(wanted) if t.type.id == "lay-fine"}
    assert chipped(wanted) == {plot for plot, twigs in kg.items() if twigs >= 300}
    assert chipped(wanted) < set(kg)


def test_without_a_firm_there_is_none_to_be_weighed(demo: Holding) -> None:
    crew = replace(demo.crew, hire=tuple(h for h in demo.crew.hire if h.id != "chipper"))
    alone = replace(demo, crew=crew)
    assert chippings_of(alone) == ()
    assert hours_of(alone) == hours_of(chips(demo, hour_price=None))
