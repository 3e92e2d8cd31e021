"""The frost command as tables of words: the windows, what they rest on, what would change them."""

import math
from collections.abc import Iterator
from datetime import date

from scheduler.frost import PlotFrost, changes_of, kinds_words
from scheduler.season import Outlook
from scheduler.terms import day_words, percent_words
from scheduler.words import frost_words, phrases
from scheduler.words.sheet import Table


def frost_tables(outlook: Outlook, day: date) -> tuple[Table, ...]:
    """Everything that is known of frost at the plots on a day.

    Args:
        outlook: sky and frost.
        day: today.
    """
    return (
        _windows(outlook, day),
        _rests_on(outlook),
        *_forecast(outlook),
        *_changes(outlook, day),
    )


def _windows(outlook: Outlook, day: date) -> Table:
    return Table(
        f"Frost windows of {outlook.holding.site.name} on {day_words(day)}",
        (
            "plot",
            "last 50 %",
            "last 10 %",
            "first 50 %",
            "first 10 %",
            "another before next midsummer",
            "frost window",
        ),
        tuple(_window_row(known, day) for known in outlook.plots.values()),
        (
            *_open_while(outlook),
            phrases.CLIMATE_CAUTION,
        ),
    )


def _open_while(outlook: Outlook) -> Iterator[str]:
    """What open means, by what is known of the plots."""
    bases = {known.risk.basis for known in outlook.plots.values()}
    if "record" in bases:
        yield (
            "The window is open while the chance of another frost is above "
            f"{100 * outlook.holding.site.frost.tolerance:g} %. A frost is what hurts the "
            "tenderest thing that the plan lays open there."
        )
    if "own dates" in bases:
        yield "By your own dates the window is open from the first frost to the last."


def _window_row(known: PlotFrost, day: date) -> tuple[str, ...]:
    risk = known.risk
    chance = risk.chance_after(day)
    return (
        known.plot.name,
        *(value or "-" for value in (risk.last_frost.p50, risk.last_frost.p10)),
        *(value or "-" for value in (risk.first_frost.p50, risk.first_frost.p10)),
        "-" if math.isnan(chance) else percent_words(chance),
        phrases.state_words(risk, day),
    )


def _rests_on(outlook: Outlook) -> Table:
    plots = tuple(outlook.plots.values())
    record = phrases.record_words(plots[0].risk)
    return Table(
        "What they rest on",
        ("plot", "against the station", "damage", "chance of another falls to"),
        tuple(
            (
                phrases.short_name(known.plot),
                frost_words.offset_words(known),
                frost_words.threshold_words(known, outlook.holding),
                frost_words.until_words(known, outlook.as_of),
            )
            for known in plots
        ),
        tuple(filter(None, (f"It rests on {record}.", _error_words(outlook), _seen(outlook)))),
    )


def _seen(outlook: Outlook) -> str:
    """Where this season's first frost has come, as far as the record tells."""
    by_words: dict[str, list[str]] = {}
    for known in outlook.plots.values():
        seen = frost_words.seen_words(known, outlook.as_of)
        if seen:
            by_words.setdefault(seen, []).append(phrases.short_name(known.plot))
    told = [f"{seen} in {', '.join(plots)}" for seen, plots in by_words.items()]
    return f"This season {'; '.join(told)}." if told else ""


def _error_words(outlook: Outlook) -> str:
    errors = [
        error
        for known in outlook.plots.values()
        for error in (known.risk.last_frost.error_days, known.risk.first_frost.error_days)
        if error is not None
    ]
    if not errors:
        return ""
    return f"Dates at 10 % are sure to about {min(errors):g} to {max(errors):g} days."


def _forecast(outlook: Outlook) -> Iterator[Table]:
    rows = tuple(
        (
            phrases.short_name(known.plot),
            f"{night.day:%a %Y-%m-%d}",
            f"{night.plot_c:.1f} °C ± {night.error_c:.1f}",
            percent_words(night.chance),
            _hurt_words(known, night.day, outlook),
        )
        for known in outlook.plots.values()
        for night in known.ahead.nights
    )
    if rows:
        yield Table(
            "The forecast at the plots",
            ("plot", "morning of", "minimum", "frost", "cover the evening before"),
            rows,
            (_learned_words(outlook),),
        )


def _hurt_words(known: PlotFrost, day: date, outlook: Outlook) -> str:
    hurt = [one for hard in known.hard_nights if hard.night.day == day for one, _ in hard.hurt]
    return kinds_words(hurt, outlook.holding) or "-"


def _learned_words(outlook: Outlook) -> str:
    learned = [error for error in outlook.errors if error.n_pairs]
    if not learned:
        return (
            "Errors of the forecast are the usual ones; keep old forecasts, and yours are learned."
        )
    fewest = min(error.n_pairs for error in learned)
    return (
        f"Errors of the forecast for the next {len(learned)} nights are learned from {fewest} or "
        "more of the site's own."
    )


def _changes(outlook: Outlook, day: date) -> Iterator[Table]:
    rows = []
    for known in outlook.plots.values():
        changes = changes_of(known.climate_risk, day, known.rivals)
        told = {frost_words.change_words(c, known): frost_words.changed_words(c) for c in changes}
        rows.append((phrases.short_name(known.plot), told))
    columns = list(dict.fromkeys(column for _, told in rows for column in told))
    if columns:
        yield Table(
            "What would change it: the window, by climate alone, would be open until",
            ("plot", *columns),
            tuple((plot, *(told.get(column, "-") for column in columns)) for plot, told in rows),
        )
