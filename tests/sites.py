"""Small sites for tests: made by the starter, or copied, then edited as a grower would."""

import shutil
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from types import MappingProxyType

from scheduler.holding import LogEntry, locked_site, log_with, read_holding
from scheduler.reasons import SeasonPlan
from scheduler.season import Published
from scheduler.terms import DaySpan
from tests.once import plan_once

AS_OF = date(2026, 11, 25)
ROOT = Path(__file__).parent.parent
DEMOS = ("branasol", "klipskadu")
STARTER = Path(__file__).parent / "starter"  # a small invented site, to be filled in


def new_site(folder: Path, **changes: object) -> Path:
    """Write the starter's site into a folder, with other answers where given."""
    told: dict[str, object] = {
        "id": "test-hill",
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
        "first": date(2026, 12, 1),
        "last": date(2027, 11, 30),
    }
    told |= changes
    told["stations"] = f'"{told["station"]}"' if told["station"] else ""
    for key, example in (("own_last", "05-10"), ("own_first", "10-20")):
        told[key] = f'{key} = "{told[key]}"' if told[key] else f'# {key} = "{example}"'
    folder.mkdir(parents=True, exist_ok=True)
    for path in STARTER.iterdir():
        name = "plan-2027.toml" if path.name == "plan.toml" else path.name
        text = path.read_text(encoding="utf-8").format(**told)
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def edit(site: Path, file: str, old: str, new: str) -> None:
    """Replace a text that must stand in a file of the site."""
    path = site / file
    text = path.read_text(encoding="utf-8")
    assert old in text, f"{old!r} does not stand in {file}"
    path.write_text(text.replace(old, new), encoding="utf-8")


def add(site: Path, file: str, text: str) -> None:
    """Put a text at the end of a file of the site."""
    with (site / file).open("a", encoding="utf-8") as end:
        end.write(text)


def demo(folder: Path, name: str, *edits: tuple[str, str, str]) -> Path:
    """A copy of a demo site, edited: file, text that must stand there, text put in its place."""
    site = Path(shutil.copytree(ROOT / "sites" / name, folder / name))
    for file, old, new in edits:
        edit(site, file, old, new)
    return site


def append_to_log(site: Path, entries: Sequence[LogEntry]) -> None:
    with locked_site(site) as write:
        write({"worklog.csv": log_with(site, entries)})


def own_date(site: Path, task: str, **days: object) -> None:
    """Let the grower give days for a task or visit: ``on``, ``not_before``, ``not_after``."""
    told = "\n".join(f"{name} = {day}" for name, day in days.items())
    add(site, "plan-2027.toml", f'\n[[own_date]]\ntask = "{task}"\n{told}\nwhy = "visitors"\n')


def grown(folder: Path, n_plots: int) -> Path:
    """Branasol with its first plot so many times more."""
    site = demo(folder, "branasol")
    first = (site / "plots.toml").read_text(encoding="utf-8").split("[[plot]]")[1]
    rows = (site / "stock.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    for n in range(2, n_plots + 2):
        add(site, "plots.toml", "\n[[plot]]" + first.replace('"fondal"', f'"fondal-{n}"'))
        mine = (row for row in rows if row.startswith("fondal,"))
        add(site, "stock.csv", "".join(row.replace("fondal,", f"fondal-{n},", 1) for row in mine))
    return site


def planned(
    site: Path, as_of: date = AS_OF, published: Published = MappingProxyType({})
) -> SeasonPlan:
    """The season of a site; the same object for sites of the same content."""
    return plan_once(read_holding(site, as_of), as_of, published=published)


def published(plan: SeasonPlan) -> dict[str, tuple[DaySpan, ...]]:
    """The days of a plan by visit, as its work feed would tell them."""
    days: dict[str, set[date]] = {}
    for task_id, stint in plan.placed.stints.items():
        dates = {plan.placed.season.date_of(day) for day in stint.days}
        days.setdefault(plan.placed.visit_of[task_id], set()).update(dates)
    return {v: tuple(DaySpan(day, day) for day in sorted(there)) for v, there in days.items()}


def asks_for(
    site: Path,
    *types: str,
    plots: tuple[str, ...] = (),
    first: object = "2026-12-01",
    last: object = "2027-11-30",
) -> None:
    """Let the plan ask for some work only, in some plots or all, without any own date."""
    told = f"types = {list(types)}\nplots = {list(plots)}\n"
    plan = f'title = "Told"\nfirst = {first}\nlast = {last}\n\n[[work]]\n{told}'
    (site / "plan-2027.toml").write_text(plan, encoding="utf-8")
