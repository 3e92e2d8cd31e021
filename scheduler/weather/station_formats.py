"""Layouts of daily station files, recognised from their content.

* plain CSV with a header ``date,tmin_c`` (or ``tmin_f``) and, if wanted, ``tmax_c`` and
  ``rain_mm``;
* GHCN-Daily of NOAA/NCEI, tenths of a degree C: fixed columns (``.dly``), by-station CSV
  without header, and "access" CSV with ``STATION``, ``DATE``, ``TMIN``,
  ``TMIN_ATTRIBUTES``. A value whose quality flag is not blank has failed a check of the
  archive (GHCN-Daily readme);
* ECA&D text: a preamble, then ``STAID, SOUID, DATE, TN, Q_TN``, tenths of a degree C;
  quality 0 valid, 1 suspect, 9 missing (ECA&D file preamble). Its rain is in a file of its
  own (``RR``, from memory) and is not read;
* the daily climate file of the German weather service: ``;`` between columns,
  ``MESS_DATUM`` and ``TNK``, the minimum at 2 m in degrees C (``TGK`` is the minimum at
  5 cm, and not taken), ``RSK`` the rain of the day in mm; missing -999; layout in part from
  memory;
* the daily file of the Australian bureau: year, month and day in columns of their own,
  ``Minimum temperature (Degree C)``; days of accumulation above 1 mean that the lowest
  of several nights is written on the last; layout in part from memory. Its rain is in a file
  of its own (product IDCJAC0009, from memory) and is not read.

Rain of a layout that keeps it elsewhere can be given as the column ``rain_mm`` of a plain CSV.

Lines that begin with ``#`` are comments; ``# unit: F`` among them names the unit.
"""

import csv
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

from scheduler.files import Fault, cells_at, delimiter_of, quote_fault

UNITS = ("C", "F", "0.1 C")  # none is ever guessed
# a slip in a year far off would make a record of millions of days
FIRST_DAY, LAST_DAY = date(1850, 1, 1), date(2100, 12, 31)

MISSING = frozenset({"", "NA", "NaN", "nan", "-9999"})
_PREAMBLE_LINES = 80
_DLY = re.compile(r"[A-Z]{2}[A-Za-z0-9_-]{9}\d{6}[A-Z0-9]{4}[ \d-]{5}")
_NAMED = re.compile(
    r"(?:°|\bdeg(?:rees?)?\.?\s*|[_(,\[]\s*|\s)(c|f|celsius|fahrenheit)\b", re.IGNORECASE
)
_UNIT_LINE = re.compile(r"#\s*unit\s*[:=]\s*(.+?)\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Text:
    """Lines of a file without comments, numbered as in the file, and the unit they name."""

    name: str
    lines: tuple[str, ...]  # empty where a comment stood
    unit: str | None  # ``C``, ``F`` or ``0.1 C``; None where none is named
    # faults of lines that could not be parted into cells; grows as they are read
    torn: list[Fault] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Reading:
    """What a file says of one day, still as text."""

    row: int  # number of the line
    day: str  # ISO date
    value: str  # the minimum
    flag: str = ""  # not empty where the archive doubts the value
    maximum: str = ""  # of the same day, where the file has it
    rain: str = ""  # of the same day, in the unit of the layout's rain, where the file has it


@dataclass(frozen=True, slots=True)
class Layout:
    """A recognised layout with its readings."""

    column: str  # what the file calls the minimum
    unit: str  # ``C``, ``F`` or ``0.1 C``
    readings: Iterator[Reading]  # one for each day that the file speaks of
    missing: frozenset[str] = MISSING  # texts that stand for no value
    unit_in_doubt: bool = False  # whether files of this layout circulate in other units too
    rain_mm: float = 1.0  # millimetres in a unit of rain
    # latitude and longitude of the station, degrees, where the file tells them
    place: tuple[float, float] | None = None


def lines_of(name: str, lines: Iterable[str], unit: str | None) -> Text:
    """Take out comments, keeping the numbers of the lines; a unit in the file goes first.

    A spreadsheet may have put a comment in quotes, and delimiters behind it.
    """
    kept: list[str] = []
    for number, line in enumerate(lines):
        text = (line.removeprefix("\ufeff") if number == 0 else line).rstrip("\r\n")
        if text.lstrip('"').startswith("#"):
            named = _UNIT_LINE.match(text.strip('",;\t '))
            unit = named.group(1) if named else unit
            text = ""
        kept.append(text)
    return Text(name, tuple(kept), unit)


def recognised(text: Text) -> Layout | Fault:
    """The layout of a daily file, or the fault that it is none of those known."""
    head = [(at, line) for at, line in enumerate(text.lines) if line.strip()][:_PREAMBLE_LINES]
    if not head:
        return Fault(text.name, "", "", "no rows", "a daily record")
    for line_at, line in head:
        for find in (_dly, _by_station, _plain, _access, _eca, _german, _australian):
            layout = find(text, line_at, line)
            if layout is not None and text.unit in (None, layout.unit):
                return layout
            if layout is not None:
                return Fault(
                    text.name, "", "unit", repr(text.unit), f"{layout.unit}, as the file has"
                )
    found = repr(head[0][1][:60])
    allowed = "a header date,tmin_c, or a daily file of GHCN, ECA&D, DWD or BoM"
    return Fault(text.name, f"row {head[0][0] + 1}", "", found, allowed)


def cells_below(text: Text, header_at: int, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Rows under a header: line number and stripped cells; blank lines are passed over.

    No cell runs over several lines, so that a stray quote spoils its own line and no other;
    what is wrong with that is put into ``text.torn``.
    """
    for number, line in enumerate(text.lines[header_at + 1 :], start=header_at + 2):
        try:
            row, _ = cells_at([line], 0, delimiter)
        except csv.Error as error:
            text.torn.append(quote_fault(text.name, f"row {number}", error))
            continue
        if row:
            cells = [cell.strip() for cell in row]
            # between semicolons a comma can only be a decimal sign
            yield number, [c.replace(",", ".") for c in cells] if delimiter == ";" else cells


def names_in(line: str, delimiter: str) -> list[str]:
    """The column names of a header line, in small letters; none where a quote is astray."""
    try:
        cells, _ = cells_at([line], 0, delimiter)
    except csv.Error:
        return []
    return [] if any('"' in cell for cell in cells) else [cell.strip().lower() for cell in cells]


def _columns(
    text: Text, line_at: int, delimiter: str, *wanted: str
) -> Iterator[tuple[int, list[str]]]:
    """Line numbers and the cells of some columns; empty where the file has none of that name."""
    names = names_in(text.lines[line_at], delimiter)
    columns = [names.index(name) if name in names else None for name in wanted]
    for row, cells in cells_below(text, line_at, delimiter):
        yield row, [_at(cells, column) for column in columns]


def _at(cells: Sequence[str], column: int | None) -> str:
    return cells[column] if column is not None and column < len(cells) else ""


def _compact_day(text: str) -> str:
    """20270501 as 2027-05-01."""
    return f"{text[:4]}-{text[4:6]}-{text[6:]}"


# ---- plain


def _plain(text: Text, line_at: int, line: str) -> Layout | None:
    delimiter = delimiter_of(line)
    names = names_in(line, delimiter)
    column = next((n for n in names if n in ("tmin_c", "tmin_f")), None)
    if column is None or "date" not in names:
        return None
    wanted = ("date", column, column.replace("tmin", "tmax"), "rain_mm")
    readings = (
        Reading(row, day, value, "", maximum, rain)
        for row, (day, value, maximum, rain) in _columns(text, line_at, delimiter, *wanted)
    )
    return Layout(column, unit_named_in(column) or "C", readings)


# ---- GHCN-Daily


def _dly(text: Text, line_at: int, line: str) -> Layout | None:
    if not _DLY.match(line):
        return None
    return Layout("TMIN", "0.1 C", _from_dly(text, line_at), rain_mm=0.1)


def _from_dly(text: Text, begin: int) -> Iterator[Reading]:
    """Station 1-11, year 12-15, month 16-17, element 18-21, then 31 times 5+1+1+1."""
    lines = text.lines
    maxima, rains = (
        {line[11:17]: line for line in lines[begin:] if line[17:21] == element}
        for element in ("TMAX", "PRCP")
    )
    for number, line in enumerate(lines[begin:], start=begin + 1):
        if line.strip() and not _DLY.match(line):
            allowed = "station, month, element and values in their columns, as in the first line"
            text.torn.append(Fault(text.name, f"row {number}", "", repr(line[:60]), allowed))
        if line[17:21] != "TMIN":
            continue
        tmax_line, rain_line = maxima.get(line[11:17], ""), rains.get(line[11:17], "")
        for day in range(31):
            at = 21 + 8 * day
            value = line[at : at + 5].strip()
            if value in MISSING:
                continue
            tmax, rain = (
                "" if other[at + 6 : at + 7].strip() else other[at : at + 5].strip()
                for other in (tmax_line, rain_line)
            )
            iso = f"{line[11:15]}-{line[15:17]}-{day + 1:02d}"
            yield Reading(number, iso, value, line[at + 6 : at + 7].strip(), tmax, rain)


def _by_station(text: Text, line_at: int, line: str) -> Layout | None:
    cells = line.split(",")
    if len(cells) not in (7, 8) or not re.fullmatch(r"\d{8}", cells[1].strip()):
        return None
    return Layout("TMIN", "0.1 C", _from_by_station(text, line_at), rain_mm=0.1)


def _from_by_station(text: Text, line_at: int) -> Iterator[Reading]:
    rows = list(cells_below(text, line_at - 1, ","))
    maxima, rains = (
        {row[1]: _at(row, 3) for _, row in rows if _at(row, 2) == element and not _at(row, 5)}
        for element in ("TMAX", "PRCP")
    )
    for number, row in rows:
        if _at(row, 2) == "TMIN":
            maximum, rain = maxima.get(row[1], ""), rains.get(row[1], "")
            yield Reading(number, _compact_day(row[1]), _at(row, 3), _at(row, 5), maximum, rain)


def _access(text: Text, line_at: int, line: str) -> Layout | None:
    if not {"station", "date", "tmin"} <= set(names_in(line, ",")):
        return None
    # the same header stands over exports in degrees C or F
    unit = text.unit or "0.1 C"
    return Layout(
        "TMIN",
        unit,
        _from_access(text, line_at),
        unit_in_doubt=text.unit is None,
        # exports in degrees give rain in mm, those in F in inches
        rain_mm={"0.1 C": 0.1, "C": 1.0, "F": 25.4}[unit],
        place=_place(text, line_at),
    )


def _place(text: Text, line_at: int) -> tuple[float, float] | None:
    """Where the station of an access file stands, from its first row."""
    for _, (lat_deg, lon_deg) in _columns(text, line_at, ",", "latitude", "longitude"):
        try:
            return float(lat_deg), float(lon_deg)
        except ValueError:  # no such column, or nothing in it
            return None
    return None


def _from_access(text: Text, line_at: int) -> Iterator[Reading]:
    elements = ("tmin", "tmax", "prcp")
    wanted = ("date", *elements, *(f"{element}_attributes" for element in elements))
    for row, (day, value, maximum, rain, *attributes) in _columns(text, line_at, ",", *wanted):
        flag, no_maximum, no_rain = map(_quality, attributes)
        yield Reading(
            row, day, value, flag, "" if no_maximum else maximum, "" if no_rain else rain
        )


def _quality(attributes: str) -> str:
    """The quality flag among measurement, quality and source flag."""
    flags = attributes.split(",")
    return flags[1].strip() if len(flags) > 1 else ""


# ---- Europe, Germany, Australia


def _eca(text: Text, line_at: int, line: str) -> Layout | None:
    wanted = ("date", "tn", "q_tn")
    if not set(wanted) <= set(names_in(line, ",")):
        return None
    readings = (
        Reading(
            row,
            _compact_day(day),
            "" if quality == "9" else value,
            "suspect" if quality == "1" else "",
        )
        for row, (day, value, quality) in _columns(text, line_at, ",", *wanted)
    )
    return Layout("TN", "0.1 C", readings)


def _german(text: Text, line_at: int, line: str) -> Layout | None:
    if not {"mess_datum", "tnk"} <= set(names_in(line, ";")):
        return None
    wanted = ("mess_datum", "tnk", "txk", "rsk")
    readings = (
        Reading(row, _compact_day(day), value, "", maximum, rain)
        for row, (day, value, maximum, rain) in _columns(text, line_at, ";", *wanted)
    )
    return Layout("TNK", "C", readings, MISSING | {"-999", "-999.0"})


def _australian(text: Text, line_at: int, line: str) -> Layout | None:
    names = names_in(line, ",")
    column = next((n for n in names if n.startswith("minimum temperature (")), None)
    if column is None or not {"year", "month", "day"} <= set(names):
        return None
    wanted = ("year", "month", "day", column)
    readings = (
        Reading(row, f"{year}-{month:0>2}-{day:0>2}", value)
        for row, (year, month, day, value) in _columns(text, line_at, ",", *wanted)
    )
    return Layout(column, unit_named_in(column) or "C", readings)


# ---- units


def unit_named_in(heading: str) -> str | None:
    """The unit that a column heading names, or None.

    >>> unit_named_in("Temp, °C"), unit_named_in("tmin_f"), unit_named_in("temperature")
    ('C', 'F', None)
    """
    found = _NAMED.search(heading)
    return found.group(1)[0].upper() if found else None
