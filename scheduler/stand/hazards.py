"""What can hurt people at a piece of work, reckoned from its trees, tools and effort."""

import math
from collections.abc import Iterator, Sequence

from scheduler.holding import Plot, RuleBook, Stock, TaskType
from scheduler.stand.heat import air_at_wbgt_c, alert_limit_c, exposure_limit_c, vibration_hours
from scheduler.stand.rates import Batch

HEAT = "heat"  # the caution that goes with work in the warm season


def power_line_words(
    plot: Plot, rows: Sequence[Stock], names: str, clearance_m: float, works: Sequence[str]
) -> str:
    """What is told of trees left to licensed people, and of the work beside cuts left out so."""
    tallest_m = max(row.height_m for row in rows)
    nearest_m = min(line_distance_m(plot, row) for row in rows)
    near = f"{nearest_m:g} m" if nearest_m > 0 else "an unknown distance"
    without = ", cuts and all else (" + "; ".join(works) + ")" if works else ""
    return (
        f"{names} in {plot.name}, up to {tallest_m:g} m high, stand {near} from a power line, "
        f"within their height plus {clearance_m} m. They are left out of the crew's "
        f"work{without}: call the utility, only licensed line-clearance people work there."
    )


def line_distance_m(plot: Plot, row: Stock) -> float:
    """Distance of a row of stock to a power line, m.

    The row's own word goes first, then that of its tree line, then that of the plot; a power
    line whose distance nobody told counts as 0, none at all as infinity.
    """
    if row.power_line_m is not None:
        return row.power_line_m
    of_line = (line.power_line_m for line in plot.line if line.id == row.line)
    told = next(of_line, None)
    if told is not None:
        return told
    hazards = (hazard for hazard in plot.hazard if hazard.kind == "power-line")
    return min((hazard.distance_m or 0.0 for hazard in hazards), default=math.inf)


def locked_out(plot: Plot | None, stock: Sequence[Stock], clearance_m: float) -> tuple[Stock, ...]:
    """Rows whose trees could come within the clearance of a power line: not for the crew."""
    if plot is None:
        return ()
    return tuple(row for row in stock if line_distance_m(plot, row) < row.height_m + clearance_m)


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
            action = vibration_hours(tool.vibration_m_s2, rules.figure("vibration-action"))
            yield (
                f"{name.replace('-', ' ').capitalize()} at {tool.vibration_m_s2:g} m/s2: at most "
                f"{action:.1f} h of running a person and day, then somebody else; go by the "
                "maker's plate."
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
