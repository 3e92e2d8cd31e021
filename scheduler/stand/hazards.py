"""What can hurt people at a piece of work, reckoned from its trees, tools and effort."""

from collections.abc import Iterator, Sequence

from scheduler.holding import Plot, RuleBook, Stock, TaskType
from scheduler.stand.heat import (
    air_at_wbgt_c,
    alert_limit_c,
    exposure_limit_c,
    vibration_hours,
)
from scheduler.stand.rates import Batch

HEAT = "heat"  # the caution that goes with work in the warm season


def power_line_words(plot: Plot, rows: Sequence[Stock], names: str, clearance_m: float) -> str:
    """What is told of trees that are left to licensed people."""
    tallest_m = max(row.height_m for row in rows)
    distances = [hazard.distance_m for hazard in plot.hazard if hazard.kind == "power-line"]
    known = [distance for distance in distances if distance is not None]
    near = f"{min(known):g} m" if len(known) == len(distances) else "an unknown distance"
    return (
        f"{names} in {plot.name}, up to {tallest_m:g} m high, stand {near} from a power line, "
        f"within their height plus {clearance_m} m. They are left out of the crew's work: call "
        "the utility, only licensed line-clearance people work there."
    )


def locked_out(plot: Plot | None, stock: Sequence[Stock], clearance_m: float) -> tuple[Stock, ...]:
    """Rows whose trees could come within the clearance of a power line: not for the crew."""
    lines = [h for h in plot.hazard if h.kind == "power-line"] if plot else []
    return tuple(
        row
        for row in stock
        if any(h.distance_m is None or h.distance_m < row.height_m + clearance_m for h in lines)
    )


def reckoned_cautions(
    kind: TaskType, stock: Sequence[Stock], batches: Sequence[Batch], rules: RuleBook
) -> Iterator[str]:
    """Distances, running hours and heat limits of this very task."""
    if kind.overhead and stock:
        tallest_m = max(row.height_m for row in stock)
        clear_m = rules.figure("tree-lengths") * tallest_m
        yield (
            f"The tallest tree here is {tallest_m:g} m: nobody else works within {clear_m:g} m "
            "of it, more where wood may roll."
        )
    yield from _vibration(batches, rules)
    if HEAT in kind.cautions:
        yield _heat_words(kind, rules)


def _vibration(batches: Sequence[Batch], rules: RuleBook) -> Iterator[str]:
    for name in dict.fromkeys(batch.tool for batch in batches):
        tool = rules.tools[name]
        if tool.vibration_m_s2 > 0:
            action, limit = (
                vibration_hours(tool.vibration_m_s2, rules.figure(figure))
                for figure in ("vibration-action", "vibration-limit")
            )
            yield (
                f"{name.replace('-', ' ').capitalize()} at {tool.vibration_m_s2:g} m/s2: change "
                f"hands after {action:.1f} h of running, never more than {limit:.0f} h a person "
                "and day; go by the maker's plate."
            )


def _heat_words(kind: TaskType, rules: RuleBook) -> str:
    """Limits as air temperatures in shade, for those used to heat and those not yet."""
    humidity = rules.figure("heat-humidity")
    used, new = (
        air_at_wbgt_c(limit(kind.effort_w), humidity)
        for limit in (exposure_limit_c, alert_limit_c)
    )
    return (
        f"Heat at this work ({kind.effort_w:g} W): breaks and watching from about {new:.0f} °C of "
        f"air at {humidity:g} % humidity for those not yet used to it, from {used:.0f} °C for "
        "anybody; hotter, stop."
    )
