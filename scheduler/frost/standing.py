"""What standing stock would be hurt at on a night, in the state in which frost finds it.

Decided: covers are wanted for what frost finds tender that night: in bloom, lately cut or planted.
Refused: the grown-out threshold, which covers a hardy hedge at -2 °C.
Held by tests/season/test_reach.py::test_hardy_stock_is_not_covered.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from scheduler.frost.forecast_outlook import FrostOutlook, NightChance, night_chance
from scheduler.frost.tender import Exposed, hurt_at, hurt_in_bloom, tenderest_first
from scheduler.holding import FrostData, Plant, Stock
from scheduler.weather import Cycle


@dataclass(frozen=True, slots=True)
class HardNight:
    """A night of the forecast, and the kinds it may hurt with their chances, likeliest first."""

    night: NightChance
    hurt: tuple[tuple[Exposed, float], ...]


def standing_at(
    stock: Iterable[Stock],
    plants: Mapping[str, Plant],
    data: FrostData,
    *,
    day: date,
    cycle: Cycle,
    bloom: Mapping[str, str],
) -> tuple[Exposed, ...]:
    """Each kind of some standing stock in its state on a day, the tenderest first.

    A kind in bloom is taken at a tenth of its buds killed. Evergreens cut within the weeks
    that new growth stays tender are in growth; herbs that die back are out of reach at rest.

    States are counted from the coldest day of the station's year. The night ends on the morning
    of the day; ``bloom`` holds the stage by kind, as the grower says.
    """
    states = (
        _state(row, plants[row.plant], data, day, cycle, bloom.get(row.plant)) for row in stock
    )
    return tenderest_first(state for state in states if state is not None)


def _state(  # one argument for each thing that a state rests on
    row: Stock, plant: Plant, data: FrostData, day: date, cycle: Cycle, stage: str | None
) -> Exposed | None:
    at = cycle.slot_of(day) - cycle.coldest_slot
    # a stage of last spring that was never taken out says nothing in autumn
    bloom = (
        hurt_in_bloom(plant, stage, data) if stage and 0 <= at <= data.states.bloom_to else None
    )
    grown = _grown_state(row, plant, data, day, at)
    return max(filter(None, (bloom, grown)), key=lambda state: state.hurt_at_c, default=None)


def _grown_state(row: Stock, plant: Plant, data: FrostData, day: date, at: int) -> Exposed | None:
    states, tender_days = data.states, data.growth.tender_days()
    growing = at >= states.growing_from or at <= states.growing_to
    cut_lately = row.last_cut is not None and 0 <= (day - row.last_cut).days < tender_days
    if growing or (plant.habit == "evergreen" and cut_lately):
        return hurt_at(plant, "growth", data)
    if plant.habit == "herb":
        return None
    hardened = states.hardened_from <= at <= states.hardened_to
    return hurt_at(plant, "rest", data, hardened=hardened)


def hard_nights(outlook: FrostOutlook, standing: Iterable[Exposed]) -> tuple[HardNight, ...]:
    """The nights of the forecast on which standing stock is likelier hurt than tolerated."""
    stock, hard = tuple(standing), []
    for night in outlook.nights:
        chances = [
            (kind, night_chance(kind.hurt_at_c, night.plot_c, night.error_c)) for kind in stock
        ]
        hurt = [(kind, chance) for kind, chance in chances if chance > outlook.risk.tolerance]
        if hurt:
            hurt.sort(key=lambda pair: (-pair[1], pair[0].plant))
            hard.append(HardNight(night, tuple(hurt)))
    return tuple(hard)
