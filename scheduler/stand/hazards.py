"""Trees within reach of a power line, which the crew must not touch."""

from collections.abc import Iterable

from scheduler.holding import Plot, Stock

# 29 CFR 1910.269: 3.05 m (10 ft) up to 50 kV. A tree must not come nearer when it falls.
LINE_CLEARANCE_M = 3.05


def reaches_power_line(row: Stock, plot: Plot | None) -> bool:
    """Whether a tree, falling, could come within the clearance of a power line.

    A line whose distance is not given counts as 0 m away, until somebody measures it.
    """
    return plot is not None and any(
        (hazard.distance_m or 0.0) < row.height_m + LINE_CLEARANCE_M
        for hazard in plot.hazard
        if hazard.kind == "power-line"
    )


def power_line_words(plot: Plot, rows: Iterable[Stock], names: Iterable[str]) -> str:
    """What is told of trees that are left to licensed people."""
    tallest_m = max(row.height_m for row in rows)
    distances = [h.distance_m for h in plot.hazard if h.kind == "power-line"]
    known = [distance for distance in distances if distance is not None]
    near = f"{min(known):g} m" if len(known) == len(distances) else "an unknown distance"
    return (
        f"{', '.join(names)} in {plot.name}, up to {tallest_m:g} m high, stand {near} from a "
        f"power line, within their height plus {LINE_CLEARANCE_M} m. They are left out of the "
        "crew's work: call the utility, only licensed line-clearance people work there."
    )
