"""Trees within reach of a power line."""

from collections.abc import Sequence

from scheduler.holding import Plot, Stock


def power_line_words(plot: Plot | None, stock: Sequence[Stock], clearance_m: float) -> str | None:
    """A warning where a cut tree could come within the clearance of a power line."""
    if plot is None or not stock:
        return None
    tallest_m = max(row.height_m for row in stock)
    reach_m = tallest_m + clearance_m
    for hazard in plot.hazard:
        if hazard.kind != "power-line":
            continue
        if hazard.distance_m is None:
            return (
                f"{plot.name}: a power line is near and its distance is not given. Measure it "
                "and give distance_m; until then leave the cutting to licensed line-clearance "
                "people."
            )
        if hazard.distance_m < reach_m:
            return (
                f"{plot.name}: a tree of {tallest_m:g} m can come within {clearance_m} m of "
                f"the power line {hazard.distance_m:g} m away. Call the utility; only licensed "
                "line-clearance people work there."
            )
    return None
