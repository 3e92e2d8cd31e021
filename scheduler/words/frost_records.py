"""Frost as plain values for programs: stable keys, ISO dates, units in the names."""

import math
from datetime import date
from typing import Any

from scheduler.frost import Exposed, FrostDates, PlotFrost, changes_of
from scheduler.season import Outlook
from scheduler.words import frost_words, phrases

Record = dict[str, Any]


def frost_record(outlook: Outlook, day: date) -> Record:
    """Frost risk by plot on a day."""
    return {
        "as_of": day.isoformat(),
        "tolerance": outlook.holding.site.frost.tolerance,
        "plots": [_plot(known, outlook, day) for known in outlook.plots.values()],
        "caution": phrases.CLIMATE_CAUTION,
    }


def _plot(known: PlotFrost, outlook: Outlook, day: date) -> Record:
    risk = known.risk
    return {
        "plot": known.plot.id,
        "threshold_c": risk.threshold_c,
        "tenderest": [_exposed(one) for one in known.tenderest],
        "offset_c": risk.offset_c,
        "offset_spread_c": risk.offset_spread_c,
        "offset_basis": known.offset.basis,
        "because": frost_words.because_words(known, outlook),
        "basis": risk.basis,
        "n_seasons": risk.n_seasons,
        "period": list(risk.period) if risk.period else None,
        "last_frost": _dates(risk.last_frost),
        "first_frost": _dates(risk.first_frost),
        "chance_on_or_after": told_chance(risk.chance_after(day)),
        "open": risk.is_open(day),
        "closes_after": _iso(risk.closes_after(day)),
        "until": {
            f"p{100 * chance:02.0f}": _iso(known.until(chance, day))
            for chance in frost_words.CHANCES
        },
        "frost_seen": known.frost_seen(day),
        "forecast": [
            {
                "date": night.day.isoformat(),
                "plot_c": night.plot_c,
                "error_c": night.error_c,
                "chance": told_chance(night.chance),
            }
            for night in known.ahead.nights
        ],
        "protect": [
            {
                "evening": hard.evening.isoformat(),
                "plants": [{**_exposed(one), "chance": told_chance(p)} for one, p in hard.hurt],
            }
            for hard in known.hard_nights
        ],
        "would_change": [
            {
                "what": change.what,
                "value": change.value,
                "open": change.is_open,
                "closes_after": _iso(change.closes_after),
            }
            for change in changes_of(known.climate_risk, day, known.rivals)
        ],
    }


def _exposed(one: Exposed) -> Record:
    return {
        "plant": one.plant,
        "stage": one.stage,
        "hurt_at_c": one.hurt_at_c,
        "source": one.source,
    }


def _dates(dates: FrostDates) -> Record:
    return {
        "p50": dates.p50,
        "p10": dates.p10,
        "p05": dates.p05,
        "earliest": _iso(dates.earliest),
        "latest": _iso(dates.latest),
        "error_days": dates.error_days,
    }


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None


def told_chance(value: float) -> float | None:
    """A chance that is never told as 0 or 1: neither a record nor a forecast can promise."""
    return None if math.isnan(value) else min(0.9999, max(0.0001, round(float(value), 4)))
