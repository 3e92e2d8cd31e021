"""Frost at the plots: the windows, what they rest on, and how cold tonight will be."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from scheduler.frost import Exposed, PlotFrost, changes_of, kinds_words, names_words
from scheduler.season import Outlook, Tonight
from scheduler.terms import day_words, percent_words
from scheduler.words import phrases
from scheduler.words.table import Record, Table, picked, table_of, told_chance

FRESH_DAYS = 60  # after so many days without news the season so far is none
BEYOND = (
    "This evening lies outside those it was fitted on (warmer, colder, moister or drier): do not "
    "rely on it."
)
CAUTION = (
    "For clear nights with hardly any wind, no fog and no rain only: wind or cloud before dawn "
    "keep it warmer, dry cold air that moves in makes it colder. An estimate, not a promise: read "
    "a thermometer at the plants."
)


def frost_record(outlook: Outlook, day: date) -> Record:
    """Frost risk by plot on a day, for a program."""
    return {
        "as_of": day,
        "tolerance": outlook.holding.site.frost.tolerance,
        "plots": [_plot(frost, outlook, day) for frost in outlook.plots.values()],
        "caution": phrases.CLIMATE_CAUTION,
    }


def _plot(frost: PlotFrost, outlook: Outlook, day: date) -> Record:
    risk = frost.risk
    kind = ("plant", "stage", "hurt_at_c", "source")
    dates = ("p50", "p10", "p05", "earliest", "latest", "error_days")
    return {
        "plot": frost.plot.id,
        "threshold_c": risk.threshold_c,
        "tenderest": [picked(one, *kind) for one in frost.tenderest],
        **picked(risk, "offset_c", "offset_spread_c"),
        "offset_basis": frost.offset.basis,
        "because": _because_words(frost, outlook),
        **picked(risk, "basis", "n_seasons", "period"),
        "last_frost": picked(risk.last_frost, *dates),
        "first_frost": picked(risk.first_frost, *dates),
        "chance_on_or_after": told_chance(risk.chance_after(day)),
        "open": risk.is_open(day),
        "closes_after": risk.closes_after(day),
        "frost_seen": frost.frost_seen(day),
        "forecast": [
            {
                "date": night.day,
                **picked(night, "plot_c", "error_c"),
                "chance": told_chance(night.chance),
            }
            for night in frost.ahead.nights
        ],
        "protect": [
            {
                "evening": hard.night.evening,
                "plants": [
                    {**picked(one, *kind), "chance": told_chance(p)} for one, p in hard.hurt
                ],
            }
            for hard in frost.hard_nights
        ],
        "would_change": [
            {
                "what": what,
                "value": value,
                "open": other.is_open(day),
                "closes_after": other.closes_after(day),
            }
            for what, value, other in changes_of(frost.ahead.risk, frost.rivals)
        ],
    }


def frost_tables(outlook: Outlook, day: date) -> tuple[Table, ...]:
    """Everything that is known of frost at the plots on a day, today."""
    return (
        _windows(outlook, day),
        _rests_on(outlook),
        *_forecast(outlook),
        *_changes(outlook, day),
    )


def _windows(outlook: Outlook, day: date) -> Table:
    bases = {frost.risk.basis for frost in outlook.plots.values()}
    return table_of(
        f"Frost windows of {outlook.holding.site.name} on {day_words(day)}",
        outlook.plots.values(),
        {
            "plot": lambda frost: frost.plot.name,
            "last 50 %": lambda frost: frost.risk.last_frost.p50 or "-",
            "last 10 %": lambda frost: frost.risk.last_frost.p10 or "-",
            "first 50 %": lambda frost: frost.risk.first_frost.p50 or "-",
            "first 10 %": lambda frost: frost.risk.first_frost.p10 or "-",
            "another before next midsummer": lambda frost: phrases.chance_cell(
                frost.risk.chance_after(day)
            ),
            "frost window": lambda frost: phrases.state_words(frost.risk, day),
        },
        "The window is open while the chance of another frost is above "
        f"{100 * outlook.holding.site.frost.tolerance:g} %. A frost is what hurts the tenderest "
        "thing that the plan lays open there."
        if "record" in bases
        else "",
        "By your own dates the window is open from the first frost to the last."
        if "own dates" in bases
        else "",
        phrases.CLIMATE_CAUTION,
    )


def _rests_on(outlook: Outlook) -> Table:
    return table_of(
        "What they rest on",
        outlook.plots.values(),
        {
            "plot": lambda frost: phrases.short_name(frost.plot),
            "against the station": _offset_words,
            "damage": lambda frost: _threshold_words(frost, outlook),
        },
        *_record_foot(outlook),
    )


def _record_foot(outlook: Outlook) -> Iterator[str]:
    """The record, how sure its dates are, and where this season's first frost has come."""
    plots = tuple(outlook.plots.values())
    yield f"It rests on {phrases.record_words(plots[0].risk)}."
    dates = [at for frost in plots for at in (frost.risk.last_frost, frost.risk.first_frost)]
    errors = [at.error_days for at in dates if at.error_days is not None]
    if errors:
        yield f"Dates at 10 % are sure to about {min(errors):g} to {max(errors):g} days."
    by_words: dict[str, list[str]] = {}
    for frost in plots:
        by_words.setdefault(_seen_words(frost, outlook.as_of), []).append(
            phrases.short_name(frost.plot)
        )
    seen = "; ".join(f"{seen} in {', '.join(names)}" for seen, names in by_words.items() if seen)
    if seen:
        yield f"This season {seen}."


def _seen_words(frost: PlotFrost, as_of: date) -> str:
    """What the season so far has brought; nothing where the record ended long ago."""
    seen, until = frost.frost_seen(as_of), frost.ahead.seen_until
    if until is None or seen is None or (as_of - until).days > FRESH_DAYS:
        return ""
    return f"the first frost {'has' if seen else 'has not'} come by {day_words(until)}"


def _threshold_words(frost: PlotFrost, outlook: Outlook) -> str:
    """At what temperature, and whose it is."""
    at = f"{frost.risk.threshold_c:g} °C or colder"
    if frost.tenderest:
        return f"{at} hurts {names_words(frost.tenderest, outlook.holding)}"
    if frost.own_threshold_c is not None:
        return f"{at}, your own figure"
    return f"{at}, a frost; no tender work is planned here"


def _offset_words(frost: PlotFrost) -> str:
    """How far the plot is from the station, and how that is known."""
    offset = frost.offset
    how: str = offset.basis
    if offset.basis == "logger" and offset.first and offset.last:
        nights = f"{offset.n_nights} nights to {day_words(offset.last)}"
        how = f"± {offset.spread_c:g} by its logger, {nights}"
    elif offset.basis == "elevation":
        how = "guessed from height"
    chosen = ", ".join(f"{one.id} chosen" for one in frost.plot.adjustment)
    return f"{offset.offset_c:+g} °C ({'; '.join(filter(None, (how, chosen)))})"


def _because_words(frost: PlotFrost, outlook: Outlook) -> str:
    """All that the answer for a plot rests on, as one line."""
    risk, nights = frost.risk, frost.ahead.nights
    parts = (
        phrases.record_words(risk),
        f"station {risk.climate.name}" if risk.climate else "",
        f"plot {_offset_words(frost)}",
        _threshold_words(frost, outlook),
        f"forecast to {day_words(nights[-1].day)}" if nights else "no forecast",
        _seen_words(frost, outlook.as_of) if risk.basis == "record" else "",
    )
    return "; ".join(filter(None, parts))


def _forecast(outlook: Outlook) -> Iterator[Table]:
    nights = [(frost, night) for frost in outlook.plots.values() for night in frost.ahead.nights]
    if not nights:
        return
    pairs = [error.n_pairs for error in outlook.errors if error.n_pairs]
    foot = "Errors of the forecast are the usual ones; keep old forecasts, and yours are learned."
    if pairs:
        foot = (
            f"Errors of the forecast for the next {len(pairs)} nights are learned from "
            f"{min(pairs)} or more of the site's own."
        )
    yield table_of(
        "The forecast at the plots",
        nights,
        {
            "plot": lambda at: phrases.short_name(at[0].plot),
            "morning of": lambda at: f"{at[1].day:%a %Y-%m-%d}",
            "minimum": lambda at: f"{at[1].plot_c:.1f} °C ± {at[1].error_c:.1f}",
            "frost": lambda at: percent_words(at[1].chance),
            "cover the evening before": lambda at: (
                kinds_words(_hurt(at[0], at[1].day), outlook.holding) or "-"
            ),
        },
        foot,
    )


def _hurt(frost: PlotFrost, day: date) -> list[Exposed]:
    """What the night to a day may hurt."""
    return [one for hard in frost.hard_nights if hard.night.day == day for one, _ in hard.hurt]


def _changes(outlook: Outlook, day: date) -> Iterator[Table]:
    rows = []
    for frost in outlook.plots.values():
        changed = {
            _change_words(what, value, frost): phrases.state_words(other, day)
            for what, value, other in changes_of(frost.ahead.risk, frost.rivals)
        }
        rows.append((phrases.short_name(frost.plot), changed))
    columns = list(dict.fromkeys(column for _, changed in rows for column in changed))
    if columns:
        yield Table(
            "What would change it: by climate alone, the window would be",
            ("plot", *columns),
            tuple((plot, *(changed.get(each, "-") for each in columns)) for plot, changed in rows),
        )


def _change_words(what: str, value: float, frost: PlotFrost) -> str:
    """One thing that could be otherwise."""
    if what == "tolerance":
        return f"tolerance {value:.0%}"
    if what == "offset":
        step_c = value - frost.ahead.risk.offset_c
        return f"{abs(step_c):g} °C {'colder' if step_c < 0 else 'warmer'}"
    return "without the tenderest"


def tonight_tables(tonight: Tonight, outlook: Outlook) -> Iterator[Table]:
    """Each plot's night, and that of the station."""
    model = tonight.model
    plots = {plot.id: phrases.short_name(plot) for plot in outlook.holding.plots}
    yield table_of(
        f"The night after {tonight.evening:%a %Y-%m-%d}, if it stays clear and calm",
        tonight.plots,
        {
            "plot": lambda night: plots[night.plot],
            "minimum": lambda night: f"{night.minimum_c:.1f} °C ± {night.error_c:.1f}",
            "damage at": lambda night: f"{night.threshold_c:g} °C",
            "chance": lambda night: percent_words(night.chance),
            "reached at": lambda night: f"{night.reached_at:%H:%M}" if night.reached_at else "-",
        },
        f"At the station {tonight.minimum_c:.1f} °C ± {model.error_c:.1f} at sunrise, "
        f"{tonight.sunrise:%H:%M}.",
        f"Fitted on {model.n_nights} of your own evenings, which it explains to "
        f"{model.r2:.0%} (two-step regression of FAO 2005, Frost protection, volume 1).",
        BEYOND if tonight.beyond else "",
        CAUTION,
    )


def tonight_record(tonight: Tonight) -> Record:
    """The same for programs."""
    return {
        **picked(tonight, "evening", "sunset", "sunrise", "minimum_c"),
        **picked(tonight.model, "error_c", "n_nights", "r2"),
        "beyond_fitted": tonight.beyond,
        "plots": [replace(night, chance=told_chance(night.chance)) for night in tonight.plots],
        "caution": CAUTION,
    }
