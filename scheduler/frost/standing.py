"""What standing stock would be hurt at on a night, in the state in which frost finds it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.frost.forecast_outlook import FrostOutlook, NightChance, night_chance
from scheduler.frost.tender import Exposed, hurt_at, hurt_in_bloom
from scheduler.holding import FrostData, Plant, States, Stock
from scheduler.weather import Cycle


@dataclass(frozen=True, slots=True)
class HardNight:
    """A night of the forecast that standing stock is not likely to come through unhurt.

    Args:
        night: when, and how cold at the plot.
        hurt: the kinds that it may hurt, each with its chance, the likeliest first.
    """

    night: NightChance
    hurt: tuple[tuple[Exposed, float], ...]

    @property
    def evening(self) -> date:
        """The day on whose evening covers go on."""
        return self.night.evening


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

    Args:
        stock: rows of it.
        plants: kinds by id.
        data: figures.
        day: on whose morning the night ends.
        cycle: the station's year; its coldest day is what states are counted from.
        bloom: stage of bloom by kind, as the grower says.
    """
    found: dict[str, Exposed] = {}
    for row in stock:
        plant = plants[row.plant]
        state = _state(row, plant, data, day, cycle, bloom.get(plant.id))
        known = found.get(plant.id)
        if state is not None and (known is None or state.hurt_at_c > known.hurt_at_c):
            found[plant.id] = state
    return tuple(sorted(found.values(), key=lambda one: (-one.hurt_at_c, one.plant)))


def _state(  # one argument for each thing that a state rests on
    row: Stock, plant: Plant, data: FrostData, day: date, cycle: Cycle, stage: str | None
) -> Exposed | None:
    at = cycle.slot_of(day) - cycle.coldest_slot
    grown = _grown_state(row, plant, data, day, at)
    # a stage of last spring that was never taken out says nothing in autumn
    bloom = (
        hurt_in_bloom(plant, stage, data) if stage and 0 <= at <= data.states.bloom_to else None
    )
    return max(filter(None, (bloom, grown)), key=lambda one: one.hurt_at_c, default=None)


def _grown_state(row: Stock, plant: Plant, data: FrostData, day: date, at: int) -> Exposed | None:
    hardened = data.states.hardened_from <= at <= data.states.hardened_to
    if _growing(at, data.states) or (plant.habit == "evergreen" and _fresh(row, data, day)):
        return hurt_at(plant, "growth", data)
    if plant.habit == "herb":
        return None
    return hurt_at(plant, "rest", data, hardened=hardened)


def _growing(at: int, states: States) -> bool:
    return at >= states.growing_from or at <= states.growing_to


def _fresh(row: Stock, data: FrostData, day: date) -> bool:
    """Whether the row was cut so lately that its new growth is tender."""
    tender = timedelta(days=round(7 * data.growth.tender_weeks))
    return row.last_cut is not None and timedelta(0) <= day - row.last_cut <= tender


def hard_nights(outlook: FrostOutlook, standing: Iterable[Exposed]) -> tuple[HardNight, ...]:
    """The nights of the forecast on which stock is likelier hurt than tolerated.

    Args:
        outlook: of the plot.
        standing: what stands there, each kind in its state.
    """
    stock = tuple(standing)
    found = (HardNight(night, _hurt_by(night, stock, outlook)) for night in outlook.nights)
    return tuple(night for night in found if night.hurt)


def _hurt_by(
    night: NightChance, stock: Iterable[Exposed], outlook: FrostOutlook
) -> tuple[tuple[Exposed, float], ...]:
    chances = ((one, night_chance(one.hurt_at_c, night.plot_c, night.error_c)) for one in stock)
    hurt = [(one, chance) for one, chance in chances if chance > outlook.risk.tolerance]
    return tuple(sorted(hurt, key=lambda pair: (-pair[1], pair[0].plant)))
