"""Units of temperature that a record may be written in. None is ever guessed."""

import re

UNITS = ("C", "F", "0.1 C")

_NAMED = re.compile(
    r"(?:°|\bdeg(?:rees?)?\.?\s*|[_(,\[]\s*|\s)(c|f|celsius|fahrenheit)\b", re.IGNORECASE
)


def to_celsius(value: float, unit: str) -> float:
    """A temperature in degrees C.

    >>> to_celsius(28, "F"), to_celsius(-22, "0.1 C")
    (-2.2222222222222223, -2.2)
    """
    if unit == "F":
        return (value - 32) / 1.8
    return value / 10 if unit == "0.1 C" else value


def unit_named_in(heading: str) -> str | None:
    """The unit that a column heading names, or None.

    >>> unit_named_in("Temp, °C"), unit_named_in("tmin_f"), unit_named_in("temperature")
    ('C', 'F', None)
    """
    found = _NAMED.search(heading)
    return found.group(1)[0].upper() if found else None
