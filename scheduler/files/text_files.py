"""A grower's file as bytes, text or TOML; what cannot be read is a fault of the file."""

import stat
import tomllib
from pathlib import Path
from typing import Any

from scheduler.files.faults import Fault, FaultyFilesError

MOST_MB = 100  # a century of readings every five minutes is half of it


def read_bytes(path: Path, name: str, wanted: str = "a file that exists") -> bytes:
    """Read a file; pipes and devices are not opened, because they may never end.

    Args:
        path: where it is.
        name: its name, for the fault.
        wanted: what is allowed where there is no such file.

    Raises:
        FaultyFilesError: it cannot be read.
    """
    allowed = "a file"
    try:
        status = path.stat()
        if stat.S_ISREG(status.st_mode) and status.st_size <= MOST_MB * 10**6:
            return path.read_bytes()
    except FileNotFoundError:
        found, allowed = "no such file", wanted
    except OSError as error:
        found, allowed = error.strerror or "an unreadable file", "a readable file"
    except ValueError:  # a NUL in the name
        found = "a name that no file can have"
    else:
        if stat.S_ISREG(status.st_mode):
            found = f"{status.st_size / 10**6:.0f} MB"
            allowed = f"a file of at most {MOST_MB} MB"
        else:
            found = "a folder" if stat.S_ISDIR(status.st_mode) else "a pipe or device"
    raise FaultyFilesError([Fault(name, "", "", found, allowed)])


def text_of(content: bytes, name: str) -> str:
    r"""The text of a file, its lines ended by ``\n``.

    Raises:
        FaultyFilesError: it is no text.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        found, before = "bytes that are not UTF-8", error.object[: error.start]
    else:
        if "\0" not in text:
            return text.replace("\r\n", "\n").replace("\r", "\n")
        found, before = "a NUL character", content[: content.index(b"\0")]
    line = before.count(b"\n") + 1
    found = f"{found}, first in line {line}"
    raise FaultyFilesError([Fault(name, "", "", found, "text saved as UTF-8")])


def toml_of(text: str, name: str) -> dict[str, Any]:
    """The tables of a TOML file.

    Raises:
        FaultyFilesError: it is no TOML, or nested or long beyond reason.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = str(error)
    except RecursionError:
        found = "tables or lists nested too deep"
    except ValueError:
        found = "a number of thousands of digits"
    allowed = "TOML, decimals with a point as 1.0; see https://toml.io"
    raise FaultyFilesError([Fault(name, "", "", found, allowed)])
