"""When a plot's frost window closes and opens next, as a day and in words."""

from datetime import date, timedelta

from scheduler.frost import FrostRisk
from scheduler.holding import Plot
from scheduler.terms import day_words


def until_words(risk: FrostRisk, plot: Plot) -> str:
    """What has to come first, by what is known of frost."""
    if risk.basis == "record":
        return f"the chance of another frost in {plot.name} is at most {100 * risk.tolerance:g} %"
    if risk.basis == "own dates":
        return f"your own date of the last frost in {plot.name} is past"
    return f"frost dates are known for {plot.name}"


def release_words(risk: FrostRisk, as_of: date) -> str:
    """When the window closes next, in words."""
    release = release_day(risk, as_of)
    if risk.basis == "unknown":
        return "there is no station record and no own date"
    if release is None:
        return "the window never opens here" if not risk.ever_open else "it never closes here"
    return f"from {day_words(release)} on"


def opening_words(risk: FrostRisk, as_of: date) -> str:
    """When the window opens next, after the spell that may be open now, in words."""
    closes = risk.closes_after(as_of)
    opens = risk.opens_on(closes + timedelta(days=1) if closes else as_of)
    if not risk.ever_closed:
        opens = None
    if risk.basis == "unknown":
        return "there is no station record and no own date"
    return "no frost in sight" if opens is None else f"likely from {day_words(opens)} on"


def release_day(risk: FrostRisk, as_of: date) -> date | None:
    """First day after the frost window that is open now or opens next; None if there is none."""
    opens = risk.opens_on(as_of)
    closes = None if opens is None else risk.closes_after(opens)
    return None if closes is None else closes + timedelta(days=1)
