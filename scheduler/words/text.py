"""Text made safe for a calendar feed, whatever somebody typed.

RFC 5545 3.3.11 forbids control characters in TEXT; a lone surrogate cannot be written as
UTF-8 at all; direction marks turn a line round; a backslash before N is read as a line
break by some readers. All of that is taken out here, before any library sees it.
"""

import re
import unicodedata
from collections.abc import Iterable

MAX_TITLE = 59  # an event's title: under 60, so that a phone shows all of it
MAX_NAME, MAX_DESCRIPTION, MAX_CATEGORY = 120, 4000, 60

_BIDI_AND_INVISIBLE = re.compile(
    "[\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb]"
)


def clean(text: str, limit: int = MAX_DESCRIPTION, *, lines: bool = True) -> str:
    r"""Text without anything that could break or forge a line of a feed.

    Args:
        text: anything.
        limit: most characters to keep.
        lines: whether line breaks may stay; else they become blanks.

    Returns:
        Text of printable characters and, if asked for, plain line feeds.

    >>> clean("a\r\nBEGIN:VEVENT\x00", lines=False)
    'a BEGIN:VEVENT'
    """
    text = re.sub(r"\r\n?|\u2028|\u2029|\x85|\x0b|\x0c", "\n", text)
    text = _BIDI_AND_INVISIBLE.sub("", text).replace("\\", "/").replace("\t", " ")
    # one look at each line decides for nearly all of them
    kept = "\n".join(
        line if line.isprintable() else "".join(char for char in line if not _unwritable(char))
        for line in text.split("\n")
    )
    if lines:
        kept = "\n".join(line.rstrip() for line in kept.split("\n")).strip()
    else:  # no pattern: one that tries every blank of a megabyte would take minutes
        kept = " ".join(filter(None, (line.strip() for line in kept.split("\n"))))
    return shortened(kept, limit)


def shortened(text: str, limit: int = MAX_TITLE, *, end: str = "") -> str:
    """Text of at most ``limit`` characters; what is cut off shows as three dots.

    Args:
        text: one line.
        limit: most characters, ``end`` counted.
        end: words that must stand at the end whatever is cut.

    >>> shortened("Low: Weed the tree lines", 16, end=" (2)")
    'Low: Weed t… (2)'
    """
    room = limit - len(end)
    return (text if len(text) <= room else text[: room - 1].rstrip() + "…") + end


def clean_category(text: str) -> str:
    """A category: one line without the separators that some readers split at."""
    return clean(re.sub(r"[,;:]", " ", text), MAX_CATEGORY, lines=False)


def slug_of(text: str, fallback: str = "site") -> str:
    """A file name of small letters, digits and hyphens.

    >>> slug_of("Souto de Brañasol")
    'souto-de-branasol'
    """
    ascii_text = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", ascii_text.lower()).strip("-")[:60] or fallback


def _unwritable(char: str) -> bool:
    # Cc control, Cs surrogate, Co private use, Cn unassigned
    return unicodedata.category(char) in ("Cc", "Cs", "Co", "Cn")


def rows_words(rows: Iterable[str]) -> str:
    r"""One below the other, as a phone can be read with a saw in the other hand.

    >>> rows_words(["One.", "Two."])
    '\n- One.\n- Two.'
    """
    return "".join(f"\n- {row}" for row in rows)
