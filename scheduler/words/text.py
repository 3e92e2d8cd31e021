"""Text made safe for a calendar feed, whatever somebody typed.

RFC 5545 3.3.11 forbids control characters in TEXT; a lone surrogate cannot be written as
UTF-8 at all; direction marks turn a line round; a backslash before N is read as a line
break by some readers. All of that is taken out here, before any library sees it.
"""

import re
from collections.abc import Iterable
from unicodedata import category, normalize

MAX_TITLE = 59  # an event's title: under 60, so that a phone shows all of it
MAX_NAME, MAX_DESCRIPTION, MAX_CATEGORY = 120, 4000, 60
UNWRITABLE = ("Cc", "Cs", "Co", "Cn")  # control, surrogate, private use, unassigned
_BIDI_AND_INVISIBLE = re.compile(
    "[\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb]"
)


def clean(text: str, limit: int = MAX_DESCRIPTION, *, lines: bool = True) -> str:
    r"""Text of printable characters, without anything that could break or forge a line of a feed.

    At most ``limit`` characters; line breaks stay if ``lines``, else they become blanks.

    >>> clean("a\r\nBEGIN:VEVENT\x00", lines=False)
    'a BEGIN:VEVENT'
    """
    text = re.sub(r"\r\n?|\u2028|\u2029|\x85|\x0b|\x0c", "\n", text)
    text = _BIDI_AND_INVISIBLE.sub("", text).replace("\\", "/").replace("\t", " ")
    # one look at each line decides for nearly all of them
    kept = [
        line if line.isprintable() else "".join(c for c in line if category(c) not in UNWRITABLE)
        for line in text.split("\n")
    ]
    if lines:
        return shortened("\n".join(map(str.rstrip, kept)).strip(), limit)
    # no pattern: one that tries every blank of a megabyte would take minutes
    return shortened(" ".join(filter(None, map(str.strip, kept))), limit)


def shortened(text: str, limit: int = MAX_TITLE, *, end: str = "") -> str:
    """A line of at most ``limit`` characters, ``end`` among them; a cut shows as three dots.

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
    ascii_text = normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", ascii_text.lower()).strip("-")[:60] or fallback


def rows_words(rows: Iterable[str]) -> str:
    r"""One below the other, as a phone can be read with a saw in the other hand.

    >>> rows_words(["One.", "Two."])
    '\n- One.\n- Two.'
    """
    return "".join(f"\n- {row}" for row in rows)
