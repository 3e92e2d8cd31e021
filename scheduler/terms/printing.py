"""Text as it may reach a reader: chances in words, and what a terminal may be shown."""

import unicodedata
from collections.abc import Callable

# control, format, surrogate, private use, unassigned, line and paragraph separators
_UNSHOWN = frozenset(("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"))
_JOINERS = "\u00ad\u200c\u200d"  # soft hyphen and joiners: words of several scripts need them


def _as_python(sign: str) -> str:
    return sign.encode("unicode_escape").decode("ascii")


def printable(text: str, *, lines: bool = False, escape: Callable[[str], str] = _as_python) -> str:
    r"""Text in which nothing can steer a terminal, turn a line round or forge a new one.

    Line breaks stay where they are our own ``lines``; ``escape`` writes what may not be shown.

    >>> print(printable("a\x1b[2J\nwarning: b"))
    a\x1b[2J\nwarning: b
    """
    if text.isprintable():
        return text
    kept = _JOINERS + ("\n" if lines else "")
    return "".join(
        sign if sign in kept or unicodedata.category(sign) not in _UNSHOWN else escape(sign)
        for sign in text
    )


def percent_words(chance: float) -> str:
    """A chance in whole per cent, never 0 or 100: no record can promise.

    >>> percent_words(0.004), percent_words(0.166), percent_words(1.0)
    ('1 %', '17 %', '99 %')
    """
    return f"{min(99, max(1, round(100 * chance)))} %"
