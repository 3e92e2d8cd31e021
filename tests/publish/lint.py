"""A byte-level judge of feeds, ours and strict: what no parser notices.

Rules by section of RFC 5545 unless another is named. Written without the writer: it knows
bytes and lines only.
"""

import re

PROPERTIES_NEEDED = {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "SEQUENCE", "LAST-MODIFIED"}
STATUSES = {"TENTATIVE", "CONFIRMED", "CANCELLED"}
_HEAD = re.compile(rb"[A-Z][A-Z0-9-]*(;[A-Z-]+=[^:;\"]+)*:")


def faults_of(feed: bytes) -> list[str]:
    """Every fault of a feed; an empty list is a clean one."""
    faults = _byte_faults(feed)
    lines = [line.decode("utf-8", "replace") for line in _unfolded(feed)]
    return faults + _calendar_faults(lines) + _event_faults(lines)


def _unfolded(feed: bytes) -> list[bytes]:
    return re.sub(rb"\r\n[ \t]", b"", feed).split(b"\r\n")[:-1]


def _byte_faults(feed: bytes) -> list[str]:
    faults = []
    if not feed.endswith(b"\r\n"):
        faults.append("3.1 the last line does not end in CRLF")
    bare = feed.replace(b"\r\n", b"")
    if b"\n" in bare or b"\r" in bare:
        faults.append("3.1 a bare CR or LF")
    if any(len(line) > 75 for line in feed.split(b"\r\n")):
        faults.append("3.1 a line over 75 octets")
    if re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", feed):
        faults.append("3.3.11 a control character")
    for line in feed.split(b"\r\n"):
        try:
            line.decode("utf-8")
        except UnicodeDecodeError:
            faults.append("3.1.4 a line that is not UTF-8 by itself")
    faults += [
        f"3.1 no content line: {line[:40]!r}" for line in _unfolded(feed) if not _HEAD.match(line)
    ]
    return faults


def _name(line: str) -> str:
    return re.split("[;:]", line, maxsplit=1)[0]


def _calendar_faults(lines: list[str]) -> list[str]:
    head = lines[: next((i for i, x in enumerate(lines) if x == "BEGIN:VEVENT"), len(lines))]
    names = [_name(line) for line in head]
    faults = [
        f"3.6 {needed} stands {names.count(needed)} times at the head"
        for needed in ("PRODID", "VERSION")
        if names.count(needed) != 1
    ]
    if not lines or lines[0] != "BEGIN:VCALENDAR" or lines[-1] != "END:VCALENDAR":
        faults.append("3.4 no VCALENDAR round it")
    if "VERSION:2.0" not in head:
        faults.append("3.7.4 VERSION is not 2.0")
    if "METHOD" in names:
        faults.append("3.7.2 METHOD in a feed")
    if "UID" in names:
        faults.append("a calendar-level UID makes some readers take the feed for one item")
    faults += [
        "RFC 7986 5.7 REFRESH-INTERVAL without VALUE=DURATION"
        for line in head
        if _name(line) == "REFRESH-INTERVAL"
        and not line.startswith("REFRESH-INTERVAL;VALUE=DURATION:")
    ]
    return faults


def _event_faults(lines: list[str]) -> list[str]:
    faults: list[str] = []
    uids: list[str] = []
    for event in _events(lines):
        names = [_name(line) for line in event]
        faults += [f"3.6.1 {name} is missing" for name in PROPERTIES_NEEDED - set(names)]
        faults += [
            f"3.6.1 {name} stands twice" for name in PROPERTIES_NEEDED if names.count(name) > 1
        ]
        values = {_name(line): line.partition(":")[2] for line in event}
        uids.append(values.get("UID", ""))
        faults += _value_faults(event, values)
    faults += [f"two events share {uid}" for uid in sorted({u for u in uids if uids.count(u) > 1})]
    return faults


def _value_faults(event: list[str], values: dict[str, str]) -> list[str]:
    return [*_time_faults(event, values), *_word_faults(values)]


def _time_faults(event: list[str], values: dict[str, str]) -> list[str]:
    faults = [
        f"3.8.7 {name} is not in UTC"
        for name in ("DTSTAMP", "LAST-MODIFIED")
        if not re.fullmatch(r"\d{8}T\d{6}Z", values.get(name, ""))
    ]
    faults += [
        f"3.6.1 {line[:20]} is not an all-day value"
        for line in event
        if _name(line) in ("DTSTART", "DTEND")
        and not re.fullmatch(r"DT(START|END);VALUE=DATE:\d{8}", line)
    ]
    if values.get("DTSTAMP") != values.get("LAST-MODIFIED"):
        faults.append("3.8.7.2 DTSTAMP is not LAST-MODIFIED in a feed without METHOD")
    if not values.get("DTSTART", "0") < values.get("DTEND", "1"):
        faults.append("3.8.2.2 DTEND is not later than DTSTART")
    return faults


def _word_faults(values: dict[str, str]) -> list[str]:
    faults = [
        f"3.3.11 {name} has a bare comma or semicolon"
        for name in ("SUMMARY", "DESCRIPTION", "LOCATION")
        if re.search(r"(?<!\\)[;,]", values.get(name, "").replace("\\\\", ""))
    ]
    if values.get("STATUS", "CONFIRMED") not in STATUSES:
        faults.append("3.8.1.11 an unknown STATUS")
    if re.search(r"[#0-9]", values.get("COLOR", "")):
        faults.append("RFC 7986 5.9 COLOR is not a CSS3 name")
    return faults


def _events(lines: list[str]) -> list[list[str]]:
    events, at = [], None
    for i, line in enumerate(lines):
        if line == "BEGIN:VEVENT":
            at = i
        elif line == "END:VEVENT" and at is not None:
            events.append(lines[at + 1 : i])
            at = None
    return events
