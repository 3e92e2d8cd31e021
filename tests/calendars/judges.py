"""Judges of feeds that are no Python packages: libical (C) and ical.js (node).

Both are asked only where they are installed; ``.ci/judges`` does that. By hand:
``apt-get install libical3``, and ``npm install --prefix .venv/ical-js ical.js@2`` (another
folder in ``ICAL_JS``).
"""

import ctypes
import ctypes.util
import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.sites import ROOT

HERE = Path(__file__).parent
# icalcomponent_kind of libical 3, icalenums.h (from memory; the count of events checks it)
ICAL_VEVENT_COMPONENT = 4


def libical() -> ctypes.CDLL:
    """The C library with the few functions that judging needs, or a skip."""
    name = ctypes.util.find_library("ical")
    if name is None:
        pytest.skip("libical is not on this machine: apt-get install libical3")
    library = ctypes.CDLL(name)
    library.icalparser_parse_string.restype = ctypes.c_void_p
    library.icalparser_parse_string.argtypes = [ctypes.c_char_p]
    for function in ("icalcomponent_count_errors", "icalrestriction_check"):
        getattr(library, function).argtypes = [ctypes.c_void_p]
    library.icalcomponent_count_components.argtypes = [ctypes.c_void_p, ctypes.c_int]
    library.icalcomponent_free.argtypes = [ctypes.c_void_p]
    library.icalcomponent_free.restype = None
    return library


def libical_says(content: bytes) -> tuple[int, bool, int]:
    """What the C library makes of a feed.

    Returns:
        How many errors its parser marks, whether the feed keeps its table of restrictions,
        and how many events it sees.
    """
    library = libical()
    calendar = library.icalparser_parse_string(content)
    assert calendar, "libical sees no component at all"
    try:
        errors = library.icalcomponent_count_errors(calendar)
        fits = bool(library.icalrestriction_check(calendar))
        events = library.icalcomponent_count_components(calendar, ICAL_VEVENT_COMPONENT)
        return errors, fits, events
    finally:
        library.icalcomponent_free(calendar)


def ical_js_says(content: bytes) -> list[list[Any]]:
    """UID, start, end, title, description and number of alarms of each event, by ical.js."""
    node, home = shutil.which("node"), Path(os.environ.get("ICAL_JS") or ROOT / ".venv/ical-js")
    if node is None:
        pytest.skip("ical.js is not asked: node is not on this machine")
    if not (home / "node_modules" / "ical.js").is_dir():
        pytest.skip(f"ical.js is not in {home}: npm install --prefix .venv/ical-js ical.js@2")
    script = home / "judges.mjs"  # node looks for the library beside the script
    script.write_bytes((HERE / "judges.mjs").read_bytes())
    done = subprocess.run([node, str(script)], input=content, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return json.loads(done.stdout)  # type: ignore[no-any-return]  # as the script prints it
