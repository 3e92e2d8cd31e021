"""Entries of a grower's TOML file, added or changed; every other line keeps its bytes.

Only the lines of one entry go through the library, which loses blanks and moves comments where
it writes a whole file anew. What comes out is read back and compared before it counts.
"""

import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, MutableMapping
from difflib import SequenceMatcher
from itertools import pairwise
from typing import Any

import tomlkit
from tomlkit.exceptions import ParseError

from scheduler.files import Fault, FaultyFilesError

Entry = MutableMapping[str, Any]  # keys and values of one table
_HEADER = re.compile(r"\s*\[+\s*([\w.-]+)\s*\]+\s*(#.*)?$")
_SAYS_NOTHING = re.compile(r"\s*(#.*)?$")


def with_entry(content: bytes, name: str, table: str, entry: Mapping[str, Any]) -> bytes:
    """A file with one more entry ``[[table]]`` at its end.

    Args:
        content: the file.
        name: its name, for the fault.
        table: the list of tables.
        entry: keys and values.

    Raises:
        FaultyFilesError: the file has a form in which that cannot be done.
    """
    before = _read(content)
    before.setdefault(table, []).append(dict(entry))
    added = f"[[{table}]]\n{tomlkit.dumps(entry)}"
    text = _text(content)
    blank = "\n\n" if text.strip() else ""
    return _checked(f"{text.rstrip()}{blank}{added}", content, before, name, added)


def with_changed(
    content: bytes, name: str, table: str, at: int, change: Callable[[Entry], None]
) -> bytes:
    """A file in which one entry is changed.

    Args:
        content: the file.
        name: its name, for the fault.
        table: ``[[table]]``, or ``[table]`` where there is one alone.
        at: which of them, from 0.
        change: is given the entry as a mapping, and changes it.

    Raises:
        FaultyFilesError: the file has a form in which that cannot be done.
    """
    before = _read(content)
    found = before.get(table, {})
    entry = found[at] if isinstance(found, list) else found
    change(entry)
    words = tomlkit.dumps(entry)
    text = _text(content)
    blocks = list(_blocks(text, table))
    if at >= len(blocks):
        raise _refused(name, f"[{table}] {words}")
    first, end = blocks[at]
    lines = text.splitlines(keepends=True)
    old = "".join(lines[first:end])
    try:
        edited = tomlkit.parse(old)
    except ParseError as error:  # what looks like a header stands within a text
        raise _refused(name, f"[{table}] {words}") from error
    change(edited)
    new = _patched(old, tomlkit.dumps(tomlkit.parse(old)), tomlkit.dumps(edited))
    after = "".join([*lines[:first], new, *lines[end:]])
    return _checked(after, content, before, name, words)


def without_entry(content: bytes, name: str, table: str, at: int) -> bytes:
    """A file without one entry ``[[table]]``; comments above it stay.

    Raises:
        FaultyFilesError: the file has a form in which that cannot be done.
    """
    before = _read(content)
    del before[table][at]
    if not before[table]:
        del before[table]
    text = _text(content)
    blocks, lines = list(_blocks(text, table)), text.splitlines(keepends=True)
    if at < len(blocks):
        first, end = blocks[at]
        del lines[first - 1 : end]
    return _checked("".join(lines), content, before, name, "")


def _read(content: bytes) -> dict[str, Any]:
    return tomllib.loads(_text(content))


def _text(content: bytes) -> str:
    return content.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")


def _blocks(text: str, table: str) -> Iterator[tuple[int, int]]:
    """The lines of each entry below its header: the first, and the one after the last key."""
    lines = text.splitlines()
    heads = [at for at, line in enumerate(lines) if _HEADER.match(line)]
    for head, following in pairwise([*heads, len(lines)]):
        found = _HEADER.match(lines[head])
        if found is not None and found[1] == table:
            end = following  # comments and blank lines above the next header belong to that
            while end > head + 1 and _SAYS_NOTHING.match(lines[end - 1]):
                end -= 1
            yield head + 1, end


def _patched(old: str, same: str, new: str) -> str:
    """The old lines with the change from one writing of the library to the other."""
    lines, parts = old.splitlines(keepends=True), list[str]()
    before, after = same.splitlines(keepends=True), new.splitlines(keepends=True)
    for tag, i1, i2, j1, j2 in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        parts += lines[i1:i2] if tag == "equal" else after[j1:j2]
    return "".join(parts)


def _checked(text: str, content: bytes, wanted: dict[str, Any], name: str, words: str) -> bytes:
    """The new file as bytes, with the mark and the ends of lines that the old one has."""
    try:
        is_as_wanted = tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        is_as_wanted = False
    if not (is_as_wanted and _ends_of(content)):
        raise _refused(name, words)
    ends = _ends_of(content)
    mark = b"\xef\xbb\xbf" if content.startswith(b"\xef\xbb\xbf") else b""
    return mark + text.replace("\n", ends).encode()


def _ends_of(content: bytes) -> str:
    """What ends the lines of a file; nothing where they end in several ways."""
    crlf, lf, cr = content.count(b"\r\n"), content.count(b"\n"), content.count(b"\r")
    if crlf == lf == cr:
        return "\r\n" if crlf else "\n"
    return "" if cr else "\n"


def _refused(name: str, words: str) -> FaultyFilesError:
    found = "a form that cannot be changed from here"
    by_hand = "; ".join(line for line in words.splitlines() if line.strip())
    return FaultyFilesError([Fault(name, "", "", found, f"this, written by hand: {by_hand}")])
