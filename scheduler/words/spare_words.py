"""The time kept spare for rain: words, a table and values for programs."""

import math
from collections.abc import Iterator, Sequence
from typing import Any

from scheduler.files import fields
from scheduler.season import SPARE_STEP, RainDays, SpareTime, share_words
from scheduler.terms import Basis, month_words
from scheduler.words.sheet import Table

Record = dict[str, Any]
BY_WORDS = {Basis.MEASURED: "by the rain of your record", Basis.PLANNED: "by your own word"}


def kept_words(spare: SpareTime, months: Sequence[int]) -> str:
    """What is kept free of the crew's hours in some months; empty where nothing is.

    Args:
        spare: the spare time.
        months: 1 to 12, in the order in which they are to be told.
    """
    kept = [(month, float(spare.shares[month - 1])) for month in dict.fromkeys(months)]
    if spare.basis is None or not any(share for _, share in kept):
        return ""
    if spare.basis is Basis.PLANNED:
        told = f"{share_words(kept[0][1])} all year"
    else:
        told = ", ".join(f"{share_words(share)} in {month_words(month)}" for month, share in kept)
    by_whom = BY_WORDS[spare.basis]
    return f"The hours of the crew are those left after its spare time, {by_whom}: {told}."


def rain_tables(spare: SpareTime) -> Iterator[Table]:
    """The days too wet for work by month; nothing where the record has no rain."""
    rain = spare.rain
    if rain is None:
        return
    rows = tuple(_row(rain, spare, at) for at in range(len(rain.n_days)))
    yield Table(
        f"Days too wet for work, {rain.first.year} to {rain.last.year}",
        ("month", "days read", f"{rain.wet_mm:g} mm or more", "share", "kept spare"),
        rows,
        tuple(_rain_foot(spare)),
    )


def _row(rain: RainDays, spare: SpareTime, at: int) -> tuple[str, ...]:
    share = float(rain.shares[at])
    return (
        month_words(at + 1),
        str(rain.n_days[at]),
        str(rain.n_wet[at]),
        "too few days" if math.isnan(share) else share_words(share),
        share_words(float(spare.shares[at])),
    )


def _rain_foot(spare: SpareTime) -> Iterator[str]:
    if spare.basis is Basis.PLANNED:
        yield "Kept spare of the crew's hours: by your own word, spare_share in crew.toml."
    else:
        yield (
            "Kept spare of the crew's hours: the share of such days in steps of "
            f"{share_words(SPARE_STEP)}, at most {share_words(fields.MOST_SPARE)}; spare_share in "
            "crew.toml would set your own share."
        )


def spare_record(spare: SpareTime) -> Record:
    """The spare time for a program: shares of the hours from January on, and the rain behind."""
    rain = spare.rain
    return {
        "basis": None if spare.basis is None else spare.basis.value,
        "shares": [round(share, 4) for share in spare.shares.tolist()],
        "rain": None if rain is None else _rain_record(rain),
    }


def _rain_record(rain: RainDays) -> Record:
    return {
        "record": rain.name,
        "first": rain.first.isoformat(),
        "last": rain.last.isoformat(),
        "wet_mm": rain.wet_mm,
        "least_days": rain.least,
        "n_days": rain.n_days.tolist(),
        "n_wet": rain.n_wet.tolist(),
        "shares": [None if math.isnan(share) else share for share in rain.shares.tolist()],
    }
