"""Invented holdings by the hundred: what grows in them is drawn, from a seed that is told.

    python -m tests.bench.holdings FOLDER [NUMBER]

Each has 1 to 12 plots (few have many), 3 to 12 kinds a plot, 1 to 5 people, and lies on a grid of
places on both halves of the Earth; holdings of one place share a frost record, which is that of a
demo site, warmer or colder by the place. All names are invented.
"""

import random
import sys
from datetime import date
from pathlib import Path

from scheduler.files import fields, text_of
from scheduler.holding import Answers, CountedStock, NewPlot, Person, starter_files, write_new_site

SEED = 20261127
AS_OF = date(2027, 2, 1)
ROOT = Path(__file__).parent.parent.parent
PLACES = (  # latitude, longitude, zone, demo site whose record is taken, degrees warmer
    (43.1, -7.2, "Europe/Madrid", "branasol", 0.0),
    (46.5, 14.2, "Europe/Vienna", "branasol", -1.5),
    (44.9, 2.1, "Europe/Paris", "branasol", -0.5),
    (41.9, 12.9, "Europe/Rome", "branasol", 0.8),
    (-33.9, 20.4, "Africa/Johannesburg", "klipskadu", 0.0),
    (-29.2, 29.4, "Africa/Johannesburg", "klipskadu", -1.5),
    (-36.6, 143.5, "Australia/Melbourne", "klipskadu", 0.5),
    (-38.1, -70.9, "America/Argentina/Buenos_Aires", "klipskadu", -1.0),
)
KINDS = (
    "alder", "tagasaste", "black-locust", "willow", "poplar", "apple", "pear", "quince", "plum",
    "peach", "apricot", "cherry", "fig", "hazel", "walnut", "chestnut", "elder", "currant",
    "mulberry", "persimmon", "pomegranate", "loquat", "feijoa", "olive", "lemon",
)  # fmt: skip
DAYS: tuple[tuple[fields.Weekday, ...], ...] = (
    ("sat", "sun"),
    ("sat",),
    ("mon", "tue", "wed", "thu", "fri"),
    ("fri", "sat"),
)
SKILLS: tuple[tuple[fields.Skill, ...], ...] = (
    ("ground-saw", "pole-saw", "chipper-hand"),
    ("ground-saw",),
    ("pole-saw",),
    (),
)


def make_holdings(folder: Path, n: int, most_plots: int = 12, seed: int = SEED) -> list[Path]:
    """Make so many holdings below a folder, and return their folders."""
    draw = random.Random(seed)  # noqa: S311  # no secret
    stations = [_station(folder / "stations", at) for at in range(len(PLACES))]
    known = _known_kinds()
    sites = []
    for number in range(n):
        at = number % len(PLACES)
        name = f"Holding {number:04d}"
        answers = _answers(name, PLACES[at], stations[at], known, draw, most_plots)
        site = folder / "sites" / answers.site_id
        site.mkdir(parents=True)  # the record is found from there
        write_new_site(site, starter_files(answers), AS_OF)
        sites.append(site)
    return sites


def _known_kinds() -> tuple[str, ...]:
    from scheduler.holding import kind_doubt, package_book

    return tuple(kind for kind in KINDS if not kind_doubt(kind, "", package_book()))


def _station(folder: Path, at: int) -> str:
    """The record of a place, as the sites name it."""
    folder.mkdir(parents=True, exist_ok=True)
    _, _, _, demo, warmer_c = PLACES[at]
    source = (ROOT / "sites" / demo / "station.csv").read_bytes()
    lines, name = [], f"{demo}-{at}.csv"
    for line in text_of(source, "station.csv").splitlines():
        cells = line.split(",")
        if line[:1].isdigit() and cells[1]:
            cells[1] = f"{float(cells[1]) + warmer_c:.1f}"
        lines.append(",".join(cells))
    (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    return f"../../stations/{name}"


def _answers(
    name: str,
    place: tuple[float, float, str, str, float],
    station: str,
    known: tuple[str, ...],
    draw: random.Random,
    most_plots: int,
) -> Answers:
    lat_deg, lon_deg, zone, _, _ = place
    n_plots = min(most_plots, 1 + int(draw.expovariate(1 / 3)))
    plots, stock = list[NewPlot](), list[CountedStock]()
    for number in range(1, n_plots + 1):
        plot = NewPlot(
            id=f"plot-{number}",
            name=f"Plot {number}",
            area_m2=draw.choice((300, 600, 900, 1500, 2500)),
            planted=draw.randint(2012, 2024),
            offset_c=draw.choice((-2.0, -1.0, 0.0, 0.0, 1.0)),
        )
        plots.append(plot.with_lines())
        kinds = draw.sample(known, draw.randint(3, 12))
        stock += [
            CountedStock(plot=plot.id, plant=kind, count=draw.randint(1, 12)) for kind in kinds
        ]
    skills = [SKILLS[0], *draw.choices(SKILLS, k=draw.randint(0, 4))]
    people = tuple(
        Person(name=f"Person {number}", days=draw.choice(DAYS), skills=handles)
        for number, handles in enumerate(skills, start=1)
    )
    return Answers(
        site_id=name.lower().replace(" ", "-"),
        name=f"{name} (invented)",
        lat_deg=lat_deg + draw.uniform(-0.2, 0.2),
        lon_deg=lon_deg + draw.uniform(-0.2, 0.2),
        elev_m=draw.randint(100, 900),
        zone=zone,
        plots=tuple(plots),
        people=people,
        stock=tuple(stock),
        as_of=AS_OF,
        works_alone=len(people) == 1,
        hires_climber=draw.random() < 0.5,
        moon=draw.random() < 0.3,
        station=station,
    )


if __name__ == "__main__":
    made = make_holdings(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 100)
    print(f"{len(made)} holdings, seed {SEED}")
