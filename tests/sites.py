"""Small sites for tests: made by the starter, then edited as a grower would."""

from datetime import date
from pathlib import Path

from scheduler.holding import Answers, starter_files, write_new_site

AS_OF = date(2026, 11, 25)
ROOT = Path(__file__).parent.parent
DEMOS = ("branasol", "klipskadu")


def new_site(folder: Path, **changes: object) -> Path:
    """Write the starter's site into a folder, with other answers where given."""
    told: dict[str, object] = {
        "site_id": "test-hill",
        "name": "Test Hill (invented)",
        "lat_deg": 46.5,
        "lon_deg": 14.2,
        "elev_m": 500.0,
        "zone": "Europe/Vienna",
        "plot_name": "First plot",
        "plot_id": "first-plot",
        "area_m2": 600.0,
        "planted": 2018,
        "person": "Ilka",
        "station": "",
        "own_last": "05-10",
        "own_first": "10-15",
        "as_of": AS_OF,
    }
    write_new_site(folder, starter_files(Answers(**(told | changes))), AS_OF)  # type: ignore[arg-type]  # answers by name
    return folder


def edit(site: Path, file: str, old: str, new: str) -> None:
    """Replace a text that must stand in a file of the site."""
    path = site / file
    text = path.read_text(encoding="utf-8")
    assert old in text, f"{old!r} does not stand in {file}"
    path.write_text(text.replace(old, new), encoding="utf-8")
