"""What is to be said of a frost risk, as notices with stable codes."""

from collections.abc import Iterator

from scheduler.frost.chance_curves import RECENT_SEASONS, FrostDates
from scheduler.frost.risk import FrostRisk
from scheduler.terms import Level, Notice

OLD_RECORD_YEARS = 10


def risk_notices(risk: FrostRisk, about: str) -> Iterator[Notice]:
    """Everything that makes the risk of a plot less sure than its figures look.

    What concerns the record itself stands in the notices of the climate.
    """
    if risk.basis == "record":
        yield from _of_record(risk, about)
    elif risk.basis == "unknown":
        says = "Neither a station record nor own frost dates: every day counts as open to frost."
        yield Notice("frost-unknown", Level.WARNING, about, says)
    else:
        says = "Frost dates are the grower's own; no chance can be given."
        yield Notice("frost-own-dates", Level.NOTE, about, says)


def _of_record(risk: FrostRisk, about: str) -> Iterator[Notice]:
    least = 0.5 / (risk.n_seasons + 1)
    if least > risk.tolerance:
        says = (
            f"{risk.n_seasons} seasons cannot show a chance below {least:.1%}: with a "
            f"tolerance of {risk.tolerance:.1%} the window never closes."
        )
        yield Notice("frost-tolerance-fine", Level.WARNING, about, says)
    elif not risk.ever_closed:
        says = "No season without frost can be relied on here: the window never closes."
        yield Notice("frost-no-free-season", Level.WARNING, about, says)
    if not risk.ever_open:
        says = f"On every day a frost is at most {risk.tolerance:.0%} likely: never open."
        yield Notice("frost-rare", Level.NOTE, about, says)
    for name, dates in (("last", risk.last_frost), ("first", risk.first_frost)):
        if dates.shifting:
            # to be known, but nothing in the plan is wrong for it: no warning that stands
            yield Notice("frost-dates-shifting", Level.NOTE, about, _shifting(name, dates))
    if risk.period is not None:
        years = risk.season.first.year - int(risk.period[1][:4])
        if years > OLD_RECORD_YEARS:
            says = f"The record ends with {risk.period[1]}, {years} years before the plan."
            yield Notice("frost-record-old", Level.WARNING, about, says)


def _shifting(name: str, dates: FrostDates) -> str:
    days = dates.recent_days or 0
    return (
        f"The usual {name} frost of the latest {RECENT_SEASONS} seasons comes {abs(days)} days "
        f"{'later' if days > 0 else 'earlier'} than that of the whole period, more than its "
        f"error of {dates.median_error_days:g} days: a shorter period may be truer."
    )
