"""Templates into pages: one environment, every name escaped, the same rows the same bytes.

Decided: a code holds the webcal address. Refused: https, which phones import once.
Held by tests/ways_out/test_share.py::test_another_reader_reads_the_webcal_address_off_each_code.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from io import BytesIO, StringIO
from math import cos, radians
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from scheduler.terms import Season, day_words
from scheduler.words import brief_hours, plain

QR_BORDER = 4  # a quiet border of four cells is what ISO/IEC 18004 asks for
AT_ONCE = 140  # letters of a notice that are shown without being asked for
Rows = dict[str, Any]  # what a page shows, by name; its JSON has the same
MARK = b'<meta name="generator" content="scheduler">'  # in each page: it is one of ours


@dataclass(frozen=True, slots=True)
class Page:
    """One page as bytes."""

    name: str  # its file name without ending
    title: str  # as links show it
    html: bytes  # the page; it needs no other file and no network
    data: bytes  # the same rows as JSON


def page(name: str, title: str, template: str, sheet: Any, **more: Any) -> Page:  # noqa: ANN401  # any rows
    """Draw one page, with its file name without ending, from a file in ``templates``.

    The page shows the rows of its sheet, and its JSON is made of them; ``more`` is what else the
    template needs, such as links.
    """
    html = drawn(template, here=name, sheet=sheet, title=title, **more)
    data = json.dumps(plain(sheet), ensure_ascii=False, indent=1)
    return Page(name, title, html, f"{data}\n".encode())


def month_starts(season: Season) -> tuple[date, ...]:
    """The first day of each month in a season, a month that began before it by its first day."""
    return tuple(day for day in season if day.day == 1 or day == season.first)


def drawn(template: str, **rows: Any) -> bytes:  # noqa: ANN401  # any rows
    """One template with its rows."""
    return _environment().get_template(template).render(**rows).encode()


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("scheduler.pages"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
    )
    filters: Mapping[str, Any] = {
        "day": day_words,
        "short_day": lambda day: f"{day.day} {day:%b}",
        "weekday": lambda day: f"{day:%A}",
        "hours": brief_hours,
        "parted": parted,
        "sentence": lambda words: words[:1].upper() + words[1:],
        "disc": lit_path,
        "webcal": lambda address: f"webcal://{address.partition('://')[2]}",
        "code": code_of,
    }
    environment.filters.update(filters)
    return environment


def parted(words: str) -> tuple[str, str]:
    """What is the matter, and the rest of a long notice; of a short one all of it.

    >>> parted("The kit is not booked."), parted(f"It is unscheduled: {'why, ' * 40}")[0]
    (('The kit is not booked.', ''), 'It is unscheduled')
    """
    head, _, rest = words.partition(": ")
    return (head, rest) if len(words) > AT_ONCE else (words, "")


def code_of(address: str) -> Markup:
    """An address as a QR code, an SVG that scales as a whole."""
    import segno

    svg = BytesIO()
    code = segno.make_qr(address, error="m")
    code.save(svg, kind="svg", border=QR_BORDER, omitsize=True, xmldecl=False, svgclass="code")
    # the library escapes; nothing but the strokes and their box stands in it
    return Markup(svg.getvalue().decode().strip())  # noqa: S704


def code_lines(address: str) -> str:
    """The same for a terminal, drawn in half blocks."""
    import segno

    text = StringIO()
    segno.make_qr(address, error="l").terminal(text, compact=True)
    return text.getvalue().rstrip("\n")


def lit_path(elongation_deg: float, southern: bool, radius: float) -> str:  # noqa: FBT001  # a filter takes it by place
    """The lit part of the Moon's disc as an SVG path about the origin.

    North of the tropics the Moon waxes from the right, seen from the south from the left.
    The edge of the light is half an ellipse whose half axis is cos(elongation) of the radius,
    which is in the units of the drawing. The elongation is the Moon's ecliptic longitude minus
    the Sun's: 0 new, 180 full.
    """
    waxing = elongation_deg % 360 < 180
    right = waxing is not southern
    edge = radius * cos(radians(elongation_deg))
    limb, back = (1, 0) if right else (0, 1)
    sweep = back if edge >= 0 else limb
    return (
        f"M0,{-radius:g} A{radius:g},{radius:g} 0 0 {limb} 0,{radius:g} "
        f"A{abs(edge):.2f},{radius:g} 0 0 {sweep} 0,{-radius:g} Z"
    )
