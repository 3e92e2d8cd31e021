"""Entries of a TOML file, changed: comments and all other bytes stay; what cannot be is refused.

Read back by tomllib, which the writer of the edits is not.
"""

import tomllib
from datetime import date
from difflib import SequenceMatcher
from pathlib import Path

import pytest

from scheduler.desk.toml_edits import Entry, with_changed, with_entry, without_entry
from scheduler.files import FaultyFilesError
from tests.sites import ROOT

FILES = sorted((ROOT / "sites").glob("*/*.toml"))
HEAD = '# a plan\ntitle = "T" # short\n\n'
OWN = '# they come\n[[own_date]]\ntask = "a.b"   # the pruning\non = 2027-05-01\nwhy = "x"\n'
REST = "\n# about the rest\n[[closed]]\nfirst = 2027-06-01\nwhy = 'y'\n"


def lines_lost(old: bytes, new: bytes) -> list[str]:
    """Lines of the old file that the new one does not have in the same order."""
    before, after = old.decode().splitlines(), new.decode().splitlines()
    codes = SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
    return [line for tag, i, j, _, _ in codes if tag != "equal" for line in before[i:j]]


def put(key: str, value: object) -> "object":
    def change(entry: Entry) -> None:
        entry[key] = value

    return change


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}-{path.name}")
def test_an_added_entry_leaves_every_byte_of_the_others(path: Path) -> None:
    old = path.read_bytes()
    new = with_entry(old, path.name, "closed", {"first": date(2027, 5, 3), "why": 'ra"in'})
    assert new.startswith(old.rstrip())
    wanted = tomllib.loads(old.decode())
    wanted.setdefault("closed", []).append({"first": date(2027, 5, 3), "why": 'ra"in'})
    assert tomllib.loads(new.decode()) == wanted


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}-{path.name}")
def test_a_changed_entry_leaves_every_line_of_the_others(path: Path) -> None:
    old = path.read_bytes()
    told = tomllib.loads(old.decode())
    tables = [name for name, value in told.items() if isinstance(value, list | dict)]
    assert tables
    for name in tables:
        n = len(told[name]) if isinstance(told[name], list) else 1
        for at in range(n):
            new = with_changed(old, path.name, name, at, put("added", "here"))  # type: ignore[arg-type]
            assert lines_lost(old, new) == []
            entries = tomllib.loads(new.decode())[name]
            entry = entries[at] if isinstance(entries, list) else entries
            assert entry["added"] == "here"


def test_comments_in_and_about_a_changed_entry_stay() -> None:
    old = (HEAD + OWN + REST).encode()
    new = with_changed(old, "p", "own_date", 0, put("on", date(2027, 5, 9)))  # type: ignore[arg-type]
    assert new == old.replace(b"2027-05-01", b"2027-05-09")


def test_an_entry_that_goes_takes_nothing_with_it() -> None:
    old = (HEAD + OWN + REST).encode()
    new = without_entry(old, "p", "own_date", 0)
    assert new.decode() == HEAD + "# they come\n" + REST


def test_a_mark_and_ends_of_lines_stay() -> None:
    old = b"\xef\xbb\xbf" + (HEAD + OWN + REST).replace("\n", "\r\n").encode()
    new = with_entry(old, "p", "closed", {"first": date(2027, 7, 1), "why": "rain"})
    assert new.startswith(old.rstrip())
    assert b"\n" not in new.replace(b"\r\n", b"")
    changed = with_changed(old, "p", "own_date", 0, put("why", "z"))  # type: ignore[arg-type]
    assert changed == old.replace(b'why = "x"', b'why = "z"')


@pytest.mark.parametrize(
    "form",
    [
        'closed = [{ first = 2027-06-01, why = "y" }]\n',
        '[x]\ntext = """\n[[closed]]\nfirst = 1\n"""\n[[closed]]\nfirst = 2027-06-01\nwhy = "y"\n',
    ],
    ids=["in one line", "a header within a text"],
)
def test_a_form_that_cannot_be_changed_is_refused_with_what_to_write(form: str) -> None:
    with pytest.raises(FaultyFilesError) as refused:
        with_changed(form.encode(), "plan.toml", "closed", 0, put("why", "rain"))  # type: ignore[arg-type]
    assert "written by hand" in str(refused.value.faults[0])
    assert 'why = "rain"' in str(refused.value.faults[0])


def test_what_an_inline_list_cannot_take_is_refused() -> None:
    old = b'closed = [{ first = 2027-06-01, why = "y" }]\n'
    with pytest.raises(FaultyFilesError, match="written by hand"):
        with_entry(old, "plan.toml", "closed", {"first": date(2027, 7, 1), "why": "rain"})


def test_lines_that_end_in_several_ways_are_refused_and_lone_returns_are_read() -> None:
    mixed = (HEAD + OWN + REST).encode().replace(b"\n", b"\r\n", 1)
    with pytest.raises(FaultyFilesError, match="written by hand"):
        with_entry(mixed, "plan.toml", "closed", {"first": date(2027, 7, 1), "why": "rain"})
    lone = (HEAD + OWN + REST).encode().replace(b"\n", b"\r", 1)
    with pytest.raises(FaultyFilesError, match="written by hand"):
        with_entry(lone, "plan.toml", "closed", {"first": date(2027, 7, 1), "why": "rain"})
