"""A byte-level judge of feeds, ours and strict: what no parser notices.

Rules by section of RFC 5545 unless another is named. Written without the writer: it knows
bytes and lines only.
"""

import re

PROPERTIES_NEEDED = {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "SEQUENCE", "LAST-MODIFIED"}
ONCE = PROPERTIES_NEEDED | {"DESCRIPTION", "LOCATION", "STATUS", "TRANSP", "COLOR"}
STATUSES = {"TENTATIVE", "CONFIRMED", "CANCELLED"}
# those of the CSS3 colour names (W3C CSS Color Module Level 3, 4.3) that our feeds use
CSS3 = {"steelblue", "seagreen", "darkkhaki", "slategray", "lightsteelblue", "orangered"}
CSS3 |= {"silver", "goldenrod"}
MAX_TITLE, MAX_ALARMS = 59, 2
# C1 controls, direction marks and overrides, separators, byte order mark (Unicode 9.1, 23.2)
_UNSEEN = re.compile("[\x80-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff]")
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
    if _UNSEEN.search(feed.decode("utf-8", "replace")):
        faults.append("a mark that turns text round or cannot be seen")
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
    for event in _blocks(lines, "VEVENT"):
        alarms = _blocks(event, "VALARM")
        own = event[: event.index("BEGIN:VALARM")] if alarms else event
        names = [_name(line) for line in own]
        faults += [f"3.6.1 {name} is missing" for name in PROPERTIES_NEEDED - set(names)]
        faults += [f"3.6.1 {name} stands twice" for name in ONCE if names.count(name) > 1]
        values = {_name(line): line.partition(":")[2] for line in own}
        uids.append(values.get("UID", ""))
        faults += [*_time_faults(own, values), *_word_faults(values), *_relation_faults(own)]
        faults += _alarm_faults(alarms)
    faults += [f"two events share {uid}" for uid in sorted({u for u in uids if uids.count(u) > 1})]
    known = set(uids)
    faults += [
        f"RFC 9253 an unknown UID is related: {line}"
        for line in lines
        if _name(line) == "RELATED-TO" and line.partition(":")[2] not in known
    ]
    if any(_name(line) in ("ATTACH", "ORGANIZER", "ATTENDEE", "SOURCE") for line in lines):
        faults.append("a property that no feed of ours may have")
    return faults


def _time_faults(event: list[str], values: dict[str, str]) -> list[str]:
    faults = [
        f"3.8.7 {name} is not in UTC"
        for name in ("DTSTAMP", "LAST-MODIFIED")
        if not re.fullmatch(r"\d{8}T\d{6}Z", values.get(name, ""))
    ]
    ends = [line for line in event if _name(line) in ("DTSTART", "DTEND")]
    all_day = all(re.fullmatch(r"DT(START|END);VALUE=DATE:\d{8}", line) for line in ends)
    in_utc = all(re.fullmatch(r"DT(START|END):\d{8}T\d{6}Z", line) for line in ends)
    if not all_day and not in_utc:
        faults.append(f"3.6.1 neither all-day values nor times in UTC: {ends}")
    if values.get("DTSTAMP") != values.get("LAST-MODIFIED"):
        faults.append("3.8.7.2 DTSTAMP is not LAST-MODIFIED in a feed without METHOD")
    if not values.get("DTSTART", "0") < values.get("DTEND", "1"):
        faults.append("3.8.2.2 DTEND is not later than DTSTART")
    if not re.fullmatch(r"\d+", values.get("SEQUENCE", "")):
        faults.append("3.8.7.4 SEQUENCE is no count")
    return faults


def _word_faults(values: dict[str, str]) -> list[str]:
    faults = [
        f"3.3.11 {name} has a bare comma or semicolon"
        for name in ("SUMMARY", "DESCRIPTION", "LOCATION")
        if re.search(r"(?<!\\)[;,]", values.get(name, "").replace("\\\\", ""))
    ]
    title = re.sub(r"\\(.)", r"\1", values.get("SUMMARY", ""))
    if len(title) > MAX_TITLE:
        faults.append("SUMMARY is not under 60 characters")
    if "\\" in values.get("CATEGORIES", ""):
        faults.append("CATEGORIES has a separator that some readers split at")
    if re.search(r"</?[a-zA-Z]+>", values.get("DESCRIPTION", "")):
        faults.append("DESCRIPTION has markup, which readers show raw")
    if values.get("STATUS", "CONFIRMED") not in STATUSES:
        faults.append("3.8.1.11 an unknown STATUS")
    if values.get("TRANSP", "") not in ("OPAQUE", "TRANSPARENT"):
        faults.append("3.8.2.7 an unknown TRANSP")
    if values.get("STATUS") == "CANCELLED" and values.get("TRANSP") != "TRANSPARENT":
        faults.append("cancelled work takes time")
    if values.get("COLOR", "silver") not in CSS3:
        faults.append("RFC 7986 5.9 COLOR is not a CSS3 name")
    return faults


def _relation_faults(event: list[str]) -> list[str]:
    form = r"RELATED-TO;(GAP=P\d+D;)?RELTYPE=FINISHTOSTART(;GAP=P\d+D)?:.+"
    return [
        f"RFC 9253 another kind of relation: {line}"
        for line in event
        if _name(line) == "RELATED-TO" and not re.fullmatch(form, line)
    ]


def _alarm_faults(alarms: list[list[str]]) -> list[str]:
    faults = ["more than two alarms"] if len(alarms) > MAX_ALARMS else []
    for alarm in alarms:
        names = {_name(line) for line in alarm}
        faults += [
            f"3.6.6 an alarm without {name}"
            for name in ("ACTION", "TRIGGER", "DESCRIPTION")
            if name not in names
        ]
        faults += [
            f"3.8.6.3 an alarm at a fixed time: {line}"
            for line in alarm
            if _name(line) == "TRIGGER" and not re.fullmatch(r"TRIGGER:-?P[0-9DTHMS]+", line)
        ]
    return faults


def _blocks(lines: list[str], name: str) -> list[list[str]]:
    blocks, at = [], None
    for i, line in enumerate(lines):
        if line == f"BEGIN:{name}":
            at = i
        elif line == f"END:{name}" and at is not None:
            blocks.append(lines[at + 1 : i])
            at = None
    return blocks
