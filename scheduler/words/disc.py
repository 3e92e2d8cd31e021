"""The Moon's disc in a few characters, as it stands in the sky of the hemisphere."""

import math

WIDTH = 7  # cells from rim to rim; odd, so that the middle of the disc has a cell


def disc_of(elongation_deg: float, *, southern: bool) -> str:
    """A slice through the disc from its left to its right rim: ``#`` lit, ``.`` dark.

    North of the tropics the Moon stands in the south and waxes from the right; seen from the
    south it waxes from the left. The edge of the light crosses the middle of the disc at
    cos(elongation) of the radius.

    Args:
        elongation_deg: Moon's ecliptic longitude minus the Sun's, 0 new, 180 full.
        southern: whether it is looked at from the southern hemisphere.

    >>> disc_of(90.0, southern=False), disc_of(90.0, southern=True), disc_of(180.0, southern=False)
    ('(...####)', '(####...)', '(#######)')
    """
    waxing = elongation_deg % 360 < 180  # half a round
    edge = math.cos(math.radians(elongation_deg))
    at = [2 * (cell + 0.5) / WIDTH - 1 for cell in range(WIDTH)]
    lit = [(x > edge - 1e-9) if waxing else (x < -edge + 1e-9) for x in at]
    return "(" + "".join("#" if on else "." for on in (lit[::-1] if southern else lit)) + ")"
