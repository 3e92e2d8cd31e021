"""What somebody types to set up a site, understood: the same on a terminal and as an option.

Each function takes a text and raises ``ValueError`` with what is allowed, in words.
"""

import re
from datetime import date
from typing import Any

from scheduler.files import fields, validated
from scheduler.holding import NewPlot, Person
from scheduler.words import slug_of

NOTHING = ("", "no", "none", "nobody", "nothing", "-")
PLOT = (
    "name, ground, year of planting, and if you like its lines, and how much colder it is; such "
    "as: Hollow, 800 m2, 2019, 5 lines of 30, 2 colder"
)
PERSON = "name, days, what they handle; such as: Ana, sat sun, saw pole-saw chipper"
SKILLS = {
    **dict.fromkeys(("hands", "none", "loppers", "shears", "ladder"), ()),
    **dict.fromkeys(("saw", "chainsaw", "ground-saw"), ("ground-saw",)),
    "pole-saw": ("pole-saw",),
    **dict.fromkeys(("chipper", "chipper-hand"), ("chipper-hand",)),
    **dict.fromkeys(("climber", "climbs"), ("climber",)),
    "all": ("ground-saw", "pole-saw", "chipper-hand"),
}
_NUMBER = r"\d+(?:[.,]\d+)?"
_HALF = re.compile(
    rf"([+-]?{_NUMBER})\s*°?\s*(?:({_NUMBER})\s*['′])?\s*"
    rf"(?:({_NUMBER})\s*(?:\"|″|''))?\s*([NSEW])?",
    re.IGNORECASE,
)


def checked(shape: Any, value: Any) -> Any:  # noqa: ANN401  # any kind of value of a file
    """A value that a file of a site may hold.

    Raises:
        ValueError: it may not; with what is allowed.
    """
    good, faults = validated(shape, value, "")
    if faults:
        raise ValueError(faults[0].allowed)
    return good


def name_in(text: str) -> str:
    """A name, as people call something."""
    return str(checked(fields.Name, text.strip()))


def number_in(text: str) -> float:
    """A number, with a point or a comma; whole ones without a fraction.

    >>> number_in("37,5"), number_in("600 m")
    (37.5, 600)
    """
    found = re.fullmatch(rf"\s*([+-]?{_NUMBER})\s*[a-z]*\s*", text)
    if found is None:
        raise ValueError("a number, such as 430")
    value = float(found[1].replace(",", "."))
    return int(value) if value.is_integer() else value


def height_in(text: str) -> float:
    """Height above sea level, m."""
    return float(checked(fields.ElevM, number_in(text)))


def place_in(text: str) -> tuple[float, float]:
    r"""Latitude and longitude in degrees, north and east positive, however a map writes them.

    >>> place_in("43.1, -7.2"), place_in("geo:43.1,-7.2"), place_in("33.9 S 20.5 E")
    ((43.1, -7.2), (43.1, -7.2), (-33.9, 20.5))
    >>> place_in("N 43.1 W 7.2"), place_in("S 33.9, E 20.5"), place_in("52.5N 1.5W")
    ((43.1, -7.2), (-33.9, 20.5), (52.5, -1.5))
    >>> place_in("43°06'00\"N 7°12'00\"W")
    (43.1, -7.2)
    """
    halves = [found for found in _HALF.finditer(_letters_behind(text)) if found[1]]
    letters = "".join((found[4] or "").upper() for found in halves)
    if len(halves) != 2 or letters not in ("", "NE", "NW", "SE", "SW"):
        raise ValueError(
            "latitude, then longitude, as a map shows them, such as 43.12, -7.25 or 43.1 N 7.2 W"
        )
    lat_deg, lon_deg = (_degrees_of(*half.groups()) for half in halves)
    return checked(fields.LatDeg, lat_deg), checked(fields.LonDeg, lon_deg)


def _letters_behind(text: str) -> str:
    """A place with each letter behind its number, where it stands before it."""
    plain = text.replace("geo:", "").strip()
    if plain[:1].upper() not in ("N", "S", "E", "W"):
        return plain
    before = re.compile(r"([NSEW])\s*([^NSEW]+?)[\s,;]*(?=[NSEW]|$)", re.IGNORECASE)
    return before.sub(r"\2 \1 ; ", plain)


def _degrees_of(whole: str, minutes: str | None, seconds: str | None, letter: str | None) -> float:
    parts = [float((part or "0").replace(",", ".")) for part in (whole, minutes, seconds)]
    size = abs(parts[0]) + parts[1] / 60 + parts[2] / 3600
    below = whole.startswith("-") or (letter or "").upper() in ("S", "W")
    return round(-size if below else size, 5)


def zone_in(text: str) -> str:
    """An IANA time zone."""
    return str(checked(fields.Zone, text.strip()))


def yes_in(text: str) -> bool:
    """Yes or no."""
    word = text.strip().casefold()
    if word in ("y", "yes", "true", "1"):
        return True
    if word in ("n", *NOTHING):
        return False
    raise ValueError("yes or no")


def month_day_in(text: str) -> str:
    """A day of the year as MM-DD; empty where nothing is known.

    >>> month_day_in("10 May"), month_day_in("05-10"), month_day_in("20th of Sept.")
    ('05-10', '05-10', '09-20')
    >>> month_day_in("October 3"), month_day_in("")
    ('10-03', '')
    """
    if text.strip().casefold() in NOTHING:
        return ""
    return f"{_day_of_year(text, 2001):%m-%d}"  # a day that stands in every year


def _day_of_year(text: str, year: int) -> date:
    plain = re.sub(r"(?<=\d)(st|nd|rd|th)\b|\bof\b|\.", " ", text.casefold())
    words = re.split(r"[\s-]+", plain.strip())
    numbers = [int(word) for word in words if word.isdecimal()]
    named = [month for word in words for month in _months_named(word)]
    if len(named) == len(numbers) == 1:
        month, day = named[0], numbers[0]
    elif len(numbers) == len(words) == 2 and "-" in text:
        month, day = numbers
    else:
        raise ValueError("a day of the year, such as 10 May or 05-10")
    try:
        return date(year, month, day)
    except ValueError as error:
        raise ValueError(f"a day that there is; {text.strip()!r} is none") from error


def _months_named(word: str) -> list[int]:
    """The month whose name, or three or four letters of it, a word is."""
    names = (f"{date(2001, month, 1):%B}".casefold() for month in range(1, 13))
    return [
        month
        for month, name in enumerate(names, start=1)
        if word in (name, name[:3], name[:4]) and len(word) >= 3
    ]


def day_between(text: str, first: date, last: date) -> date:
    """A day in a year, with it or without.

    >>> day_between("20 July", date(2026, 6, 1), date(2026, 11, 27))
    datetime.date(2026, 7, 20)
    """
    found = re.fullmatch(r"(\d{4}-\d\d-\d\d)|(.*?)(?:\s+(\d{4}))?", text.strip())
    assert found is not None, "every text is one or the other"
    if found[1]:
        try:
            days = [date.fromisoformat(found[1])]
        except ValueError as error:
            raise ValueError(f"a day that there is; {text.strip()!r} is none") from error
    else:
        years = [int(found[3])] if found[3] else sorted({first.year, last.year})
        days = [_day_of_year(found[2] or "", year) for year in years]
    inside = [day for day in days if first <= day <= last]
    if not inside:
        raise ValueError(f"a day from {first} to {last}; {text.strip()!r} is not")
    return inside[0]


def plot_in(text: str) -> NewPlot | None:
    """A plot; None for nothing. Lines and how much colder it is may follow.

    >>> plot = plot_in("Top terrace, 20 x 40 m, planted 2019, 4 lines of 38, 2 degrees colder")
    >>> (plot.name, plot.area_m2, plot.planted, plot.n_lines, plot.line_m, plot.offset_c)
    ('Top terrace', 800, 2019, 4, 38.0, -2.0)
    """
    if text.strip().casefold() in NOTHING:
        return None
    name, *parts = _parts(text)
    told: dict[str, Any] = {}
    for part in parts:
        plain = re.sub(r"\b(about|ca|planted|in|since)\b\.?", "", part.casefold()).strip()
        lines = re.fullmatch(rf"(\d+)\s*(?:x|(?:tree )?lines? of)\s*({_NUMBER})\s*m?", plain)
        offset = re.fullmatch(rf"({_NUMBER})\s*(?:°|degrees?|c)*\s*(colder|warmer)", plain)
        if re.fullmatch(r"(19|20)\d\d", plain) and "area_m2" in told and "planted" not in told:
            told["planted"] = checked(fields.Year, int(plain))
        elif "area_m2" not in told:
            told |= _ground(plain)
        elif lines:
            told["n_lines"] = checked(fields.SmallCount, int(lines[1]))
            told["line_m"] = checked(fields.LineM, number_in(lines[2]))
        elif offset:
            sign = -1 if offset[2] == "colder" else 1
            told["offset_c"] = checked(fields.OffsetC, sign * number_in(offset[1]))
        else:
            raise ValueError(f"{PLOT}. {part!r} is none of these")
    if "planted" not in told:
        raise ValueError(PLOT)
    side_m = told.pop("side_m", None)
    return NewPlot(id=slug_of(name, "plot"), name=name_in(name), **told).with_lines(side_m)


def _parts(text: str) -> list[str]:
    """The parts of a line between semicolons, or commas; those in 1,800 part thousands."""
    plain = re.sub(r"(?<=\d),(?=\d{3}\b)", "", text)
    return [part.strip() for part in plain.split(";" if ";" in plain else ",")]


def _ground(text: str) -> dict[str, Any]:
    """Ground in m2, told so, in ha, or as two sides in m; of those the longer, too.

    >>> _ground("800"), _ground("0.08 ha"), _ground("600 m²")
    ({'area_m2': 800}, {'area_m2': 800}, {'area_m2': 600})
    >>> _ground("20x40")
    {'area_m2': 800, 'side_m': 40}
    """
    plain = text.casefold().replace("²", "2")
    sides = re.fullmatch(rf"({_NUMBER})\s*m?\s*[x×]\s*({_NUMBER})\s*m?", plain)
    area = re.fullmatch(rf"({_NUMBER})\s*(m2|ha)?", plain)
    told: dict[str, Any] = {}
    if sides:
        one, other = number_in(sides[1]), number_in(sides[2])
        value, told["side_m"] = one * other, max(one, other)
    elif area:
        value = number_in(area[1]) * (10_000 if area[2] == "ha" else 1)
    else:
        raise ValueError(f"ground as 800 m2, 0.08 ha or 20 x 40 m, not {text!r}")
    checked(fields.GroundM2, value)
    value = round(value, 1)
    return {"area_m2": int(value) if float(value).is_integer() else value} | told


def person_in(text: str) -> Person | None:
    """Somebody who works there; None for nothing. Hours a day may follow.

    >>> ana = person_in("Ana, Mon, Wed-Fri, saw, pole saw and loppers, 5 h")
    >>> ana.name, ana.days, ana.skills, ana.hours
    ('Ana', ('mon', 'wed', 'thu', 'fri'), ('ground-saw', 'pole-saw'), 5.0)
    """
    if text.strip().casefold() in NOTHING:
        return None
    name, *parts = _parts(text)
    days, skills, hours = list[str](), list[str](), 6.0
    for part in parts:
        if re.fullmatch(rf"{_NUMBER}\s*(h|hours?)?( a day)?", part.casefold()):
            hours = checked(fields.DayHours, number_in(part.split()[0].rstrip("h")))
        elif skills or not _are_days(part):
            skills.append(part)
        else:
            days.append(part)
    if not days or not skills:
        raise ValueError(f"{PERSON}. They handle saw, pole-saw, chipper, or hands for none")
    return Person(name=name_in(name), days=days_in(" ".join(days)),
                  skills=_skills(" ".join(skills)), hours=hours)  # fmt: skip


def _are_days(text: str) -> bool:
    try:
        return bool(days_in(text))
    except ValueError:
        return False


def days_in(text: str) -> tuple[Any, ...]:
    """Days of the week.

    >>> days_in("mon-wed sat"), days_in("Saturday and Sunday")
    (('mon', 'tue', 'wed', 'sat'), ('sat', 'sun'))
    """
    week = fields.WEEKDAYS

    plain = re.sub(r"\s*(-|–|to)\s*(?=[a-z])", "-", text.casefold())  # a dash
    plain = re.sub(r"\bevery ?day\b|\bdaily\b|\ball\b", "mon-sun", plain)
    plain = re.sub(r"\bweekends?\b", "sat sun", plain)
    plain = re.sub(r"\bweekdays?\b", "mon-fri", plain)
    wanted: set[str] = set()
    for word in re.split(r"[\s/+&]+", re.sub(r"\band\b|\bon\b", " ", plain).strip()):
        ends = [end[:3] for end in word.split("-")]
        if not all(end in week for end in ends) or len(ends) > 2:
            raise ValueError("days as sat sun, mon-fri, weekends or every day")
        first, last = week.index(ends[0]), week.index(ends[-1])
        span = range(first, last + 1 if last >= first else last + 8)
        wanted |= {week[at % 7] for at in span}
    return tuple(day for day in week if day in wanted)


def _skills(text: str) -> tuple[Any, ...]:
    plain = re.sub(r"pole[ -]?saw", "pole-saw", text.casefold())
    plain = re.sub(r"chain[ -]saw", "chainsaw", plain)
    words = [w for w in re.split(r"[\s/+&]+", plain) if w not in ("and", "the", "a", "")]
    if strange := [word for word in words if word not in SKILLS]:
        raise ValueError(f"saw, pole-saw, chipper, climber, or hands for none; not {strange[0]!r}")
    return tuple(dict.fromkeys(skill for word in words for skill in SKILLS[word]))


def plants_in(text: str) -> tuple[tuple[int, str], ...]:
    """Counts and names of plants.

    >>> plants_in("8 alders, 12 x tree lucerne; apple 6")
    ((8, 'alders'), (12, 'tree lucerne'), (6, 'apple'))
    """
    if text.strip().casefold() in NOTHING:
        return ()
    rows = []
    for part in filter(
        None, (part.strip() for part in re.split(r"[,;\n]|\band\b(?=\s*\d)", text))
    ):
        before = re.fullmatch(r"(\d+)\s*(?:x\s+)?(\D.*)", part)
        after = re.fullmatch(r"(\D.*?)\s*:?\s+x?\s*(\d+)", part)
        if not (before or after):
            raise ValueError(
                f"counts and names, such as: 8 alders, 6 apples. {part!r} has not both"
            )
        count, name = before.groups() if before else reversed(after.groups())  # type: ignore[union-attr]
        rows.append((int(checked(fields.CountOfSome, int(count))), name_in(name)))
    return tuple(rows)
