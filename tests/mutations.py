"""Sites broken at random, as slips of the hand, bad exports and bad will break them."""

import random
import re
from importlib import resources
from pathlib import Path

from tests.sites import DEMOS, demo

SLIPS = (1, 1, 1, 2, 3)
# what stands in a file of a site: a date, a number, a word in quotes, a yes or no
_TOKEN = re.compile(
    r"\b\d{4}-\d\d-\d\d\b|(?<![\w-])-?\d+(?:\.\d+)?\b|\"[^\"\n]*\"|\b(?:true|false)\b"
)
_ENTRY = re.compile(r"^\[\[\w+\]\]\n.*?(?=^\[\[|\Z)", re.MULTILINE | re.DOTALL)
NUMBERS = (
    "0", "-1", "1", "2", "3", "7", "13", "40", "61", "100", "366", "1000", "99999", "1000000",
    "0.1", "0.5", "1.0", "1e-300", "1e300", "-1e300", "nan", "inf", "1_0", "007", "1,5",
    "100000000000000000000", "9" * 5000,
)  # fmt: skip
WORDS = (
    "", " ", "x", "\\u0000", "\\u001b[2J", "\\u202e", "a\\nb", "{", "}{0}", "../..", "/dev/zero",
    "-", "=1+1", "#", "é" * 300, "Factory", "localtime", "all", "none", "holding", "2027",
    "release", "dormant", "year", "dry-summer", "low", "high", "emergent", "remove", "clump",
)  # fmt: skip
DAYS = (
    "1700-01-01", "1899-12-31", "1900-01-02", "2026-11-24", "2026-12-01", "2027-02-29",
    "2027-06-15", "2028-02-29", "2053-09-30", "2100-12-31", "9999-12-31",
)  # fmt: skip
YES_NO = {"true": "false", "false": "true"}
SIGNS = ('"', ",", ";", "\t", "\n", "\r", "\0", "#", "=", "[", "]", "{", "'", "\\", "\ufeff", "é")


def broken_site(folder: Path, chance: random.Random) -> tuple[Path, list[str]]:
    """A copy of a demo site with a few slips in its files.

    Args:
        folder: where the copy goes.
        chance: decides everything.

    Returns:
        The site, and what was done to it in words.
    """
    name = chance.choice(DEMOS)
    site = demo(folder, name)
    files = sorted(path for path in site.iterdir() if path.is_file())
    slips = []
    for _ in range(chance.choice(SLIPS)):
        if chance.random() < 0.2:
            slips.append(_borrow_rule(site, chance))
            continue
        path = chance.choice(files)
        if not path.exists():
            continue
        kind = chance.choice((_token, _token, _token, _token, _sign, _line, _file))
        slips.append(f"{path.name}: {kind(path, chance)}")
    return site, slips


def _text(path: Path) -> str:
    return path.read_bytes().decode("utf-8", "surrogateescape")


def _write(path: Path, text: str) -> None:
    path.write_bytes(text.encode("utf-8", "surrogateescape"))


def _token(path: Path, chance: random.Random) -> str:
    """Another number, word or day in place of one that stands there."""
    text = _text(path)
    tokens = list(_TOKEN.finditer(text))
    if not tokens:
        return "nothing"
    token = chance.choice(tokens)
    new = _other(token[0], chance, [other[0] for other in tokens])
    _write(path, text[: token.start()] + new + text[token.end() :])
    return f"{token[0][:40]} at {token.start()} becomes {new[:40]}"


def _other(token: str, chance: random.Random, there: list[str]) -> str:
    if chance.random() < 0.25:
        return chance.choice(there)
    if token.startswith('"'):
        return f'"{chance.choice(WORDS)}"'
    if re.fullmatch(r"\d{4}-\d\d-\d\d", token):
        return chance.choice(DAYS)
    if token in YES_NO:
        return YES_NO[token]
    if chance.random() < 0.5 and len(token) < 9:  # near enough to be taken
        near = float(token) * chance.choice((0.5, 0.9, 1.1, 2, 10))
        return str(round(near)) if "." not in token else f"{near:.3f}"
    return chance.choice(NUMBERS)


def _sign(path: Path, chance: random.Random) -> str:
    """A sign too many or too few."""
    text = _text(path)
    at = chance.randrange(len(text) + 1)
    if chance.random() < 0.3:
        _write(path, text[:at] + text[at + 1 :])
        return f"a sign goes at {at}"
    sign = chance.choice(SIGNS)
    _write(path, text[:at] + sign + text[at:])
    return f"{sign!r} at {at}"


def _line(path: Path, chance: random.Random) -> str:
    """A line that goes, stands twice, or moves; or all after it is cut off."""
    lines = _text(path).splitlines(keepends=True)
    if not lines:
        return "nothing"
    at = chance.randrange(len(lines))
    match chance.randrange(4):
        case 0:
            what, lines = "goes", lines[:at] + lines[at + 1 :]
        case 1:
            what, lines = "stands twice", [*lines[: at + 1], *lines[at:]]
        case 2:
            rest = lines[:at] + lines[at + 1 :]
            to = chance.randrange(len(rest) + 1)
            what, lines = f"moves to {to + 1}", [*rest[:to], lines[at], *rest[to:]]
        case _:
            what, lines = "is the last", lines[:at]
    _write(path, "".join(lines))
    return f"line {at + 1} {what}"


def _file(path: Path, chance: random.Random) -> str:
    """A file that is gone, empty, of another encoding, a folder, or cut off within a line."""
    content = path.read_bytes()
    match chance.randrange(6):
        case 0:
            path.unlink()
            return "gone"
        case 1:
            path.write_bytes(b"")
            return "empty"
        case 2:
            path.write_bytes(_text(path).encode("utf-16", "surrogatepass"))
            return "UTF-16"
        case 3:
            path.write_bytes(content.replace(b"\n", b"\r\n"))
            return "line ends of Windows"
        case 4:
            path.write_bytes(content.replace(b",", b";"))
            return "semicolons"
        case _:
            end = chance.randrange(len(content) + 1)
            path.write_bytes(content[:end])
            return f"cut off at {end}"


def _borrow_rule(site: Path, chance: random.Random) -> str:
    """An entry of the package's rule book with slips in it, as the site's own."""
    folder = resources.files("scheduler.holding") / "rules"
    name = chance.choice(("plants", "tasks", "rates", "biomass", "rules", "cautions"))
    text = (folder / f"{name}.toml").read_text(encoding="utf-8")
    entry = chance.choice(_ENTRY.findall(text))
    path = site / "rules.toml"
    own = _text(path) if path.exists() else ""
    for _ in range(chance.randint(1, 3)):
        tokens = list(_TOKEN.finditer(entry))
        token = chance.choice(tokens)
        new = _other(token[0], chance, [other[0] for other in tokens])
        entry = entry[: token.start()] + new + entry[token.end() :]
    _write(path, f"{own}\n{entry}\n")
    return f"rules.toml gets {entry[:200]!r}"
