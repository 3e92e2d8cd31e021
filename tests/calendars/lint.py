"""A byte-level judge of feeds, ours and strict: what no parser notices.

Written without the writer: it knows bytes and lines only. Sections are those of RFC 5545
unless another is named; ``test_lint`` holds a mutant against each rule.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime

RULES = {
    "line-end": "3.1 the last line does not end in CRLF",
    "bare-break": "3.1 a bare CR or LF",
    "long-line": "3.1 a line over 75 octets",
    "content-line": "3.1 no content line",
    "utf-8": "3.1.4 a line that is not UTF-8 by itself",
    "control": "3.3.11 a control character",
    "unseen": "a mark that turns text round or cannot be seen",
    "nesting": "3.4, 3.6 components are not as they should be inside each other",
    "empty": "3.6 a calendar without any component",
    "head-needs": "3.6, RFC 7986 5 a property that the head must have once",
    "version": "3.7.4 VERSION is not 2.0",
    "method": "3.7.2 METHOD in a feed",
    "calendar-uid": "a calendar-level UID makes some readers take the feed for one item",
    "twins": "RFC 7986 5.1, 5.2, 5.7 a property and its older twin do not say the same",
    "refresh": "RFC 7986 5.7 REFRESH-INTERVAL is no positive VALUE=DURATION",
    "property": "a property that no feed of ours may have",
    "needs": "3.6.1 an event must have it once",
    "once": "3.6.1 an event may have it once",
    "uid-form": "RFC 7986 5.3 UID is no UUID",
    "uid-shared": "3.8.4.7 two events share a UID",
    "stamp-utc": "3.8.7 a time stamp is not in UTC",
    "stamp-equal": "3.8.7.2 DTSTAMP is not LAST-MODIFIED in a feed without METHOD",
    "stamp-head": "RFC 7986 5.4 the head is older than an event",
    "day-or-utc": "3.6.1 neither all-day values nor times in UTC",
    "no-such-day": "3.3.4 a day or time that does not exist",
    "end-later": "3.8.2.2 DTEND is not later than DTSTART",
    "sequence": "3.8.7.4 SEQUENCE is no count",
    "bare-separator": "3.3.11 a bare comma or semicolon",
    "escape": "3.3.11 a backslash before what needs none",
    "blank-end": "text that ends in blanks, which some readers take off",
    "title": "SUMMARY is not one line of under 60 characters",
    "long-text": "DESCRIPTION is over 4000 characters",
    "category": "CATEGORIES has a separator that some readers split at",
    "markup": "DESCRIPTION has markup, which readers show raw",
    "status": "3.8.1.11 an unknown STATUS",
    "transp": "3.8.2.7 an unknown TRANSP",
    "cancelled": "cancelled work takes time, or rings",
    "color": "RFC 7986 5.9 COLOR is not a CSS3 name that we use",
    "relation-kind": "RFC 9253 another kind of relation",
    "relation-to": "RFC 9253 a relation to what is not in the feed",
    "many-alarms": "more than two alarms",
    "alarm-needs": "3.6.6 an alarm must have it once",
    "alarm-fixed": "3.8.6.3 an alarm at a fixed time",
}
HEAD_NEEDS = (
    "PRODID", "VERSION", "CALSCALE", "NAME", "X-WR-CALNAME", "DESCRIPTION", "X-WR-CALDESC",
    "REFRESH-INTERVAL", "X-PUBLISHED-TTL", "LAST-MODIFIED", "X-WR-RELCALID",
)  # fmt: skip
TWINS = (
    ("NAME", "X-WR-CALNAME"),
    ("DESCRIPTION", "X-WR-CALDESC"),
    ("REFRESH-INTERVAL", "X-PUBLISHED-TTL"),
)
NEEDS = (
    "UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "SEQUENCE", "LAST-MODIFIED", "DESCRIPTION",
    "STATUS", "TRANSP", "CATEGORIES",
)  # fmt: skip
MAY = ("LOCATION", "COLOR")
ALARM_NEEDS = ("ACTION", "TRIGGER", "DESCRIPTION")
STATUSES = {"TENTATIVE", "CONFIRMED", "CANCELLED"}
# those of the CSS3 colour names (W3C CSS Color Module Level 3, 4.3) that our feeds use
CSS3 = {
    "steelblue",
    "seagreen",
    "darkkhaki",
    "slategray",
    "mediumpurple",
    "lightsteelblue",
    "orangered",
}
CSS3 |= {"silver", "goldenrod"}
MAX_TITLE, MAX_TEXT, MAX_ALARMS = 59, 4000, 2
# C1 controls, direction marks and overrides, separators, byte order mark (Unicode 9.1, 23.2)
_UNSEEN = re.compile("[\x80-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff]")
_LINE = re.compile(rb"[A-Z][A-Z0-9-]*(;[A-Z-]+=[^:;\"]+)*:")
_RELATION = re.compile(r"RELATED-TO;(GAP=P\d+D;)?RELTYPE=FINISHTOSTART(;GAP=P\d+D)?:.+")


def faults_of(feed: bytes) -> list[str]:
    """Every fault of a feed, each with the name of its rule first; empty for a clean one."""
    lines = [line.decode("utf-8", "replace") for line in _unfolded(feed)]
    calendar = _Component("")
    faults = [*_byte_faults(feed), *_nest(lines, calendar)]
    head, events = calendar.lines, calendar.parts
    faults += [*_head_faults(head, events), *_whole_faults(events)]
    for event in events:
        faults += _event_faults(event)
    return [f"{rule}: {RULES[rule]} {what}".rstrip() for rule, what in faults]


Faults = Iterator[tuple[str, str]]


@dataclass
class _Component:
    name: str
    lines: list[str] = field(default_factory=list)
    parts: list["_Component"] = field(default_factory=list)

    def names(self) -> list[str]:
        return [_name(line) for line in self.lines]

    def values(self) -> dict[str, str]:
        return {_name(line): line.partition(":")[2] for line in self.lines}

    def of(self, *names: str) -> list[str]:
        return [line for line in self.lines if _name(line) in names]


def _unfolded(feed: bytes) -> list[bytes]:
    return re.sub(rb"\r\n[ \t]", b"", feed).split(b"\r\n")[:-1]


def _name(line: str) -> str:
    return re.split("[;:]", line, maxsplit=1)[0]


def _byte_faults(feed: bytes) -> Faults:
    if not feed.endswith(b"\r\n"):
        yield "line-end", ""
    bare = feed.replace(b"\r\n", b"")
    if b"\n" in bare or b"\r" in bare:
        yield "bare-break", ""
    if re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", feed):
        yield "control", ""
    if _UNSEEN.search(feed.decode("utf-8", "replace")):
        yield "unseen", ""
    for line in feed.split(b"\r\n"):
        if len(line) > 75:
            yield "long-line", repr(line[:40])
        try:
            line.decode("utf-8")
        except UnicodeDecodeError:
            yield "utf-8", repr(line[:40])
    for line in _unfolded(feed):
        if not _LINE.match(line):
            yield "content-line", repr(line[:40])


INSIDE = {"VCALENDAR": "", "VEVENT": "VCALENDAR", "VALARM": "VEVENT"}


def _nest(lines: list[str], calendar: _Component) -> Faults:
    """Put lines into the component they stand in."""
    open_parts = [calendar]
    for line in lines:
        name, _, value = line.partition(":")
        if name == "BEGIN":
            if INSIDE.get(value) != open_parts[-1].name or (
                value == "VCALENDAR" and calendar.name
            ):
                yield "nesting", line
            part = calendar if value == "VCALENDAR" else _Component(value)
            if part is not calendar:
                open_parts[-1].parts.append(part)
            part.name = value
            open_parts.append(part)
        elif name == "END":
            if len(open_parts) < 2 or open_parts.pop().name != value:
                yield "nesting", line
                return
        elif len(open_parts) < 2:
            yield "nesting", line
        else:
            open_parts[-1].lines.append(line)
    if len(open_parts) > 1:
        yield "nesting", "something does not end"


def _head_faults(lines: list[str], events: list[_Component]) -> Faults:
    head = _Component("", lines)
    names, values = head.names(), head.values()
    for needed in HEAD_NEEDS:
        if names.count(needed) != 1:
            yield "head-needs", f"{needed}: {names.count(needed)} times"
    yield from _head_value_faults(head, values, events)
    for name, rule in (("METHOD", "method"), ("UID", "calendar-uid")):
        if name in names:
            yield rule, ""
    for name in sorted(set(names) - {*HEAD_NEEDS, "METHOD", "UID"}):
        yield "property", name


def _head_value_faults(
    head: _Component, values: dict[str, str], events: list[_Component]
) -> Faults:
    if values.get("VERSION") != "2.0":
        yield "version", ""
    for one, other in TWINS:
        if values.get(one) != values.get(other):
            yield "twins", f"{one}, {other}"
    for line in head.of("REFRESH-INTERVAL"):
        if not re.fullmatch(r"REFRESH-INTERVAL;VALUE=DURATION:P(T?[1-9]\d*[WDHMS])+", line):
            yield "refresh", line
    stamps = [event.values().get("LAST-MODIFIED", "") for event in events]
    if stamps and values.get("LAST-MODIFIED", "") < max(stamps):
        yield "stamp-head", ""


def _whole_faults(events: list[_Component]) -> Faults:
    if not events:
        yield "empty", ""
    uids = [event.values().get("UID", "") for event in events]
    for uid in sorted({uid for uid in uids if uids.count(uid) > 1}):
        yield "uid-shared", uid
    for line in (line for event in events for line in event.of("RELATED-TO")):
        if line.partition(":")[2] not in uids:
            yield "relation-to", line


def _event_faults(event: _Component) -> Faults:
    names, values = event.names(), event.values()
    for name in NEEDS:
        if names.count(name) != 1:
            yield "needs", f"{name}: {names.count(name)} times"
    for name in MAY:
        if names.count(name) > 1:
            yield "once", name
    for name in sorted(set(names) - {*NEEDS, *MAY, "RELATED-TO"}):
        yield "property", name
    if not re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", values.get("UID", "")):
        yield "uid-form", values.get("UID", "")
    yield from _time_faults(event, values)
    yield from _word_faults(values)
    yield from _choice_faults(event, values)
    yield from _alarm_faults(event.parts)
    for line in event.of("RELATED-TO"):
        if not _RELATION.fullmatch(line):
            yield "relation-kind", line


def _time_faults(event: _Component, values: dict[str, str]) -> Faults:
    for name in ("DTSTAMP", "LAST-MODIFIED"):
        if not re.fullmatch(r"\d{8}T\d{6}Z", values.get(name, "")):
            yield "stamp-utc", name
    ends = event.of("DTSTART", "DTEND")
    all_day = all(re.fullmatch(r"DT(START|END);VALUE=DATE:\d{8}", line) for line in ends)
    in_utc = all(re.fullmatch(r"DT(START|END):\d{8}T\d{6}Z", line) for line in ends)
    if not all_day and not in_utc:
        yield "day-or-utc", str(ends)
    for name in ("DTSTAMP", "LAST-MODIFIED", "DTSTART", "DTEND"):
        if not _exists(values.get(name, "")):
            yield "no-such-day", f"{name} {values.get(name)}"
    if values.get("DTSTAMP") != values.get("LAST-MODIFIED"):
        yield "stamp-equal", ""
    if not values.get("DTSTART", "0") < values.get("DTEND", "1"):
        yield "end-later", ""
    if not re.fullmatch(r"\d+", values.get("SEQUENCE", "")):
        yield "sequence", values.get("SEQUENCE", "")


def _exists(value: str) -> bool:
    try:
        datetime.strptime(value, "%Y%m%dT%H%M%SZ" if "T" in value else "%Y%m%d")  # noqa: DTZ007  # only whether it exists
    except ValueError:
        return False
    return True


def _word_faults(values: dict[str, str]) -> Faults:
    for name in ("SUMMARY", "DESCRIPTION", "LOCATION"):
        value = values.get(name, "")
        if re.search(r"(?<!\\)[;,]", value.replace("\\\\", "")):
            yield "bare-separator", name
        if re.search(r"\\[^\\;,nN]|\\$", value.replace("\\\\", "")):
            yield "escape", name
        if re.search(r"(\s|\\n)$", value):
            yield "blank-end", name
    title = values.get("SUMMARY", "")
    if "\\n" in title or not 1 <= len(_plain(title)) <= MAX_TITLE:
        yield "title", title
    if len(_plain(values.get("DESCRIPTION", ""))) > MAX_TEXT:
        yield "long-text", ""
    if "\\" in values.get("CATEGORIES", ""):
        yield "category", values["CATEGORIES"]
    if re.search(r"</?[a-zA-Z]+>", values.get("DESCRIPTION", "")):
        yield "markup", ""


def _plain(value: str) -> str:
    return re.sub(r"\\(.)", r"\1", value)


def _choice_faults(event: _Component, values: dict[str, str]) -> Faults:
    if values.get("STATUS") not in STATUSES:
        yield "status", values.get("STATUS", "")
    if values.get("TRANSP") not in ("OPAQUE", "TRANSPARENT"):
        yield "transp", values.get("TRANSP", "")
    quiet = values.get("TRANSP") == "TRANSPARENT" and not event.parts
    if values.get("STATUS") == "CANCELLED" and not quiet:
        yield "cancelled", ""
    if values.get("COLOR", "silver") not in CSS3:
        yield "color", values["COLOR"]


def _alarm_faults(alarms: list[_Component]) -> Faults:
    if len(alarms) > MAX_ALARMS:
        yield "many-alarms", ""
    for alarm in alarms:
        names = alarm.names()
        for name in ALARM_NEEDS:
            if names.count(name) != 1:
                yield "alarm-needs", name
        for name in sorted(set(names) - set(ALARM_NEEDS)):
            yield "property", f"{name} in an alarm"
        for line in alarm.of("TRIGGER"):
            if not re.fullmatch(r"TRIGGER:-?P[0-9DTHMS]+", line):
                yield "alarm-fixed", line
