"""The evening estimate as tables of words and as plain values for programs."""

from typing import Any

from scheduler.season import Outlook, Tonight
from scheduler.terms import percent_words
from scheduler.words import phrases
from scheduler.words.frost_records import told_chance
from scheduler.words.sheet import Table

BEYOND = (
    "This evening lies outside those it was fitted on (warmer, colder, moister or drier): do not "
    "rely on it."
)
CAUTION = (
    "For clear nights with hardly any wind, no fog and no rain only: wind or cloud before dawn "
    "keep it warmer, dry cold air that moves in makes it colder. An estimate, not a promise: read "
    "a thermometer at the plants."
)


def tonight_tables(tonight: Tonight, outlook: Outlook) -> tuple[Table, ...]:
    """Each plot's night, then the hours where the evenings are read."""
    model = tonight.model
    plots = {plot.id: plot for plot in outlook.holding.plots}
    return (
        Table(
            f"The night after {tonight.evening:%a %Y-%m-%d}, if it stays clear and calm",
            ("plot", "minimum", "damage at", "chance", "reached at"),
            tuple(
                (
                    phrases.short_name(plots[one.plot]),
                    f"{one.minimum_c:.1f} °C ± {one.error_c:.1f}",
                    f"{one.threshold_c:g} °C",
                    percent_words(one.chance),
                    f"{one.reached_at:%H:%M}" if one.reached_at else "-",
                )
                for one in tonight.plots
            ),
            (
                f"Fitted on {model.n_nights} of your own evenings, which it explains to "
                f"{model.r2:.0%} (two-step regression of FAO 2005, Frost protection, volume 1).",
                *((BEYOND,) if tonight.beyond else ()),
                CAUTION,
            ),
        ),
        Table(
            "Hour by hour, at the station",
            ("time", "temperature"),
            tuple((f"{time:%H:%M}", f"{now_c:.1f} °C") for time, now_c in tonight.hourly),
            (
                f"Sunrise at {tonight.sunrise:%H:%M}: {tonight.minimum_c:.1f} °C "
                f"± {model.error_c:.1f}.",
            ),
        ),
    )


def tonight_record(tonight: Tonight) -> dict[str, Any]:
    """The same for programs."""
    return {
        "evening": tonight.evening.isoformat(),
        "sunset": tonight.sunset.isoformat(),
        "sunrise": tonight.sunrise.isoformat(),
        "minimum_c": round(tonight.minimum_c, 2),
        "error_c": round(tonight.model.error_c, 2),
        "n_nights": tonight.model.n_nights,
        "r2": round(tonight.model.r2, 3),
        "beyond_fitted": tonight.beyond,
        "hourly": [
            {"time": time.isoformat(), "temperature_c": round(now_c, 2)}
            for time, now_c in tonight.hourly
        ],
        "plots": [
            {
                "plot": one.plot,
                "minimum_c": one.minimum_c,
                "error_c": one.error_c,
                "threshold_c": one.threshold_c,
                "chance": told_chance(one.chance),
                "reached_at": one.reached_at.isoformat() if one.reached_at else None,
            }
            for one in tonight.plots
        ],
        "caution": CAUTION,
    }
