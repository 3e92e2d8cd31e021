"""Chances in words."""


def percent_words(chance: float) -> str:
    """A chance in whole per cent, never 0 or 100: no record can promise.

    >>> percent_words(0.004), percent_words(0.166), percent_words(1.0)
    ('1 %', '17 %', '99 %')
    """
    return f"{min(99, max(1, round(100 * chance)))} %"
