"""Frost in words: what hurts what, what a chance rests on, what would change it."""

from datetime import date

from scheduler.frost import Change, FrostOutlook, PlotFrost, names_words
from scheduler.holding import Holding
from scheduler.season import Outlook
from scheduler.terms import day_words
from scheduler.words import phrases

CHANCES = (0.5, 0.1, 0.05)
FRESH_DAYS = 60  # after so many days without news the season so far is none


def threshold_words(known: PlotFrost, holding: Holding) -> str:
    """At what temperature, and whose it is."""
    at = f"{known.risk.threshold_c:g} °C or colder"
    if known.tenderest:
        return f"{at} hurts {names_words(known.tenderest, holding)}"
    if known.grower_says:
        return f"{at}, your own figure"
    return f"{at}, a frost; no tender work is planned here"


def offset_words(known: PlotFrost) -> str:
    """How far the plot is from the station, and how that is known."""
    offset = known.offset
    how: str = offset.basis
    if offset.basis == "logger" and offset.first and offset.last:
        nights = f"{offset.n_nights} nights to {day_words(offset.last)}"
        how = f"± {offset.spread_c:g} by its logger, {nights}"
    elif offset.basis == "elevation":
        how = "guessed from height"
    chosen = ", ".join(f"{one.id} chosen" for one in known.plot.adjustment)
    return f"{offset.offset_c:+g} °C ({'; '.join(filter(None, (how, chosen)))})"


def because_words(known: PlotFrost, outlook: Outlook) -> str:
    """All that the answer for a plot rests on, as one line."""
    risk = known.risk
    parts = [phrases.record_words(risk)]
    if risk.climate is not None:
        parts.append(f"station {risk.climate.name}")
    parts += [f"plot {offset_words(known)}", threshold_words(known, outlook.holding)]
    parts.append(forecast_words(known.ahead))
    if risk.basis == "record":
        parts.append(seen_words(known, outlook.as_of))
    return "; ".join(filter(None, parts))


def forecast_words(ahead: FrostOutlook) -> str:
    """Which nights of a forecast count."""
    if not ahead.nights:
        return "no forecast"
    return f"forecast to {day_words(ahead.nights[-1].day)}"


def seen_words(known: PlotFrost, as_of: date) -> str:
    """What the season so far has brought; nothing where the record ended long ago."""
    seen = known.frost_seen(as_of)
    ahead = known.ahead
    if ahead.seen_until is None or seen is None:
        return ""
    if (as_of - ahead.seen_until).days > FRESH_DAYS:
        return ""
    come = "has come" if seen else "has not come"
    return f"the first frost {come} by {day_words(ahead.seen_until)}"


def until_words(known: PlotFrost, as_of: date) -> str:
    """Last days from today on, on which another frost is likelier than some chances."""
    told = ((chance, known.until(chance, as_of)) for chance in CHANCES)
    return ", ".join(f"{chance:.0%} after {day_words(day)}" for chance, day in told if day) or "-"


def change_words(change: Change, known: PlotFrost) -> str:
    """One thing that could be otherwise."""
    if change.what == "tolerance":
        return f"tolerance {change.value:.0%}"
    if change.what == "offset":
        colder = change.value < known.climate_risk.offset_c
        step_c = abs(change.value - known.climate_risk.offset_c)
        return f"{step_c:g} °C {'colder' if colder else 'warmer'}"
    return "without the tenderest"


def changed_words(change: Change) -> str:
    """What the answer would be then."""
    if not change.is_open:
        return "closed"
    return day_words(change.closes_after) if change.closes_after else "never closes"
