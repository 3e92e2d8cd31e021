"""A point on the ground and the clock that people there live by."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """Where the sky is looked at from."""

    lat_deg: float  # geographic latitude, -90 to 90, north positive
    lon_deg: float  # geographic longitude, -180 to 180, east positive
    zone: str  # IANA zone name, such as ``Europe/Madrid``
    # altitude of the skyline above the flat horizon, 0 to 45; 0 is open land
    horizon_deg: float = 0.0

    @property
    def southern(self) -> bool:
        """Whether seasons are those of the southern hemisphere."""
        return self.lat_deg < 0
