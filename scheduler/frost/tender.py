"""At what frost hurts plants: what the work lays open to it, and what stands in a night's way.

The tenderest thing that a frost can reach sets the threshold of a plot.

Temperatures are of the plant; on a calm night leaves are a little colder than a screen
thermometer, and a kind that is hardened stands more than one that is not. Figures stand
in ``plants.toml`` and ``frost.toml``, each with its source.

Decided: covers are wanted for what frost finds tender that night: in bloom, lately cut or planted.
Refused: the grown-out threshold, which covers a hardy hedge at -2 °C.
Held by tests/season/test_reach.py::test_hardy_stock_is_not_covered.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from scheduler.files import fields
from scheduler.frost.forecast import FrostOutlook, NightChance, night_chance
from scheduler.holding import FrostData, Plant, Stock
from scheduler.weather import Cycle

GrownStage = Literal["rest", "growth", "seedling"]
Stage = Literal[GrownStage, "bloom"]

# What a task exposes, and the state in which a frost finds it.
STAGE_EXPOSED: Mapping[fields.Exposure, GrownStage] = {
    "canopy": "rest",  # what stood under the cover, when late winter has unhardened it
    "mulch": "rest",
    "new-growth": "growth",
    "planting": "seedling",
}


@dataclass(frozen=True, slots=True)
class Exposed:
    """A kind of plant in a state, and the temperature at or below which that hurts it."""

    plant: str  # id of the kind
    stage: Stage
    hurt_at_c: float  # degrees C
    detail: str  # at bloom its stage, and what the figure means there; else empty
    source: str  # where it comes from
    hardened: bool = False  # whether it is taken as hardened to the cold


def hurt_at(
    plant: Plant, stage: GrownStage, data: FrostData, *, hardened: bool = False
) -> Exposed:
    """What hurts a kind at rest, in growth or as a seedling.

    In late winter after a warm spell a plant at rest is not hardened. Where the kind's value
    at rest is not known, that of its new growth stands in, which is on the safe side.
    """
    if stage == "growth":
        return Exposed(plant.id, stage, plant.growth_c, "", plant.source)
    rest_c = _rest_c(plant, data, hardened=hardened)
    if stage == "rest":
        return Exposed(plant.id, stage, rest_c, "", plant.source, hardened)
    source = f"{plant.source}; {data.seedling.source}"
    return Exposed(plant.id, stage, _seedling_c(plant, rest_c, data), "", source, hardened)


def _seedling_c(plant: Plant, rest_c: float, data: FrostData) -> float:
    grown_c = plant.growth_c if plant.rest_c is None else plant.rest_c
    seedling_c = max(grown_c + data.seedling.warmer_k, rest_c)
    if plant.habit != "deciduous":
        seedling_c = max(seedling_c, plant.growth_c)  # it is planted in leaf
    if plant.rest_c is None or plant.rest_c > data.seedling.tender_above_c:
        seedling_c = max(seedling_c, data.seedling.never_below_c)
    return seedling_c


def _rest_c(plant: Plant, data: FrostData, *, hardened: bool) -> float:
    if plant.rest_c is None:
        return plant.growth_c
    if hardened:
        return plant.rest_c
    warmest = max(plant.growth_c, plant.rest_c)
    return min(plant.rest_c + data.hardening.unhardened_k, warmest)


def hurt_in_bloom(plant: Plant, stage_id: str, data: FrostData) -> Exposed | None:
    """What kills a tenth of the buds of a kind at a stage of bloom, in 30 minutes.

    None where no bloom table has the kind and the stage, such as ``full bloom``.
    """
    bloom = data.bloom_of(plant.id)
    stages = bloom.stage if bloom else ()
    stage = next((stage for stage in stages if stage.id == stage_id), None)
    if bloom is None or stage is None:
        return None
    detail = f"{stage_id}, 10 % bud kill"
    return Exposed(plant.id, "bloom", stage.kill10_c, detail, bloom.source)


def tenderest_first(exposed: Iterable[Exposed]) -> tuple[Exposed, ...]:
    """Each kind in the state in which it is tenderest, the tenderest first."""
    kinds: dict[str, Exposed] = {}
    for kind in sorted(exposed, key=tenderness):
        kinds.setdefault(kind.plant, kind)
    return tuple(kinds.values())


def tenderness(kind: Exposed) -> tuple[float, str]:
    """What puts the tenderest first, of equals the first by name."""
    return -kind.hurt_at_c, kind.plant


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
