"""What the entries of the frost calendar and the bookings say."""

from collections.abc import Iterator
from datetime import date

from scheduler.frost import FrostDates, FrostRisk
from scheduler.holding import Plot
from scheduler.season import Errand, Placed
from scheduler.terms import day_words
from scheduler.words.phrases import rests_on, visit_days_words, visit_name
from scheduler.words.text import rows_words


def errand_description(errand: Errand, plan: Placed) -> str:
    """What the call is for, and when it is needed."""
    late = "LATE. " if errand.late else ""
    needed = f" Needed first on {day_words(errand.needed)}." if errand.needed else ""
    visits = dict.fromkeys(plan.visit_of[task_id] for task_id in errand.tasks)
    rows = rows_words(f"{visit_name(v, plan)}, {visit_days_words(v, plan)}" for v in visits)
    work = f"\n\nFor:{rows}" if rows else ""
    because = errand.because[:1].upper() + errand.because[1:].rstrip(".")
    return f"{late}{because}.{needed}{work}\n\nWhen it is done: scheduler log SITE {errand.id}"


def window_description(plot: Plot, risk: FrostRisk) -> str:
    """What a frost window event says."""
    dates = "; ".join((
        *_date_words("last frost", risk.last_frost, "after"),
        *_date_words("first frost", risk.first_frost, "before"),
    ))  # fmt: skip
    if risk.basis == "own dates":
        likely = f"By your own dates frost can come in {plot.name}; they give no chance."
    else:
        accepted = f"{100 * risk.tolerance:g} %"
        likely = f"A frost in {plot.name} is likelier than the {accepted} you accept."
    return (
        f"{likely} Keep evergreen cover, hold back cuts of tender stock, thick mulch and "
        f"planting. {f'{dates} (month-day). ' if dates else ''}{rests_on(risk)}"
    )


def _date_words(name: str, dates: FrostDates, side: str) -> Iterator[str]:
    """Frost dates of one side; where frosts are rare there may be none to tell."""
    if dates.p50 or dates.p10:
        even = f"even chance {dates.p50}" if dates.p50 else "in fewer than half of the years"
        yield f"{name}: {even}" + (f", one in ten {side} {dates.p10}" if dates.p10 else "")


def release_description(plot: Plot, risk: FrostRisk, release: date) -> str:
    """What the event of a window's end says."""
    if risk.basis == "own dates":
        says = (
            f"By your own dates frost is over in {plot.name} from {day_words(release)} on; they "
            "give no chance"
        )
    else:
        says = (
            f"From {day_words(release)} on the chance of another frost in {plot.name} is at most "
            f"{100 * risk.tolerance:g} %"
        )
    return f"{says}. {rests_on(risk)}"
