"""A point on the ground and the clock that people there live by."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """Where the sky is looked at from.

    Args:
        lat_deg: geographic latitude, -90 to 90, north positive.
        lon_deg: geographic longitude, -180 to 180, east positive.
        zone: IANA zone name, such as ``Europe/Madrid``.
        horizon_deg: altitude of the skyline above the flat horizon, 0 to 45; 0 is open land.
    """

    lat_deg: float
    lon_deg: float
    zone: str
    horizon_deg: float = 0.0

    @property
    def southern(self) -> bool:
        """Whether seasons are those of the southern hemisphere."""
        return self.lat_deg < 0
