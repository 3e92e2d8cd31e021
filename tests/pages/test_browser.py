"""Pages in a real browser: a phone, a desk, paper; and a day at the desk played through.

Chromium, driven by Playwright's core; axe-core judges what people need who see or move otherwise
(WCAG 2.2). All three are fetched where the tests run, or these tests skip.
"""

import json
import os
import shutil
import subprocess
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from scheduler.holding import read_holding
from tests.sites import DEMOS, ROOT, new_site
from tests.ways_out.servers import serving

SCRIPT = Path(__file__).with_name("browser.mjs")
MODULES = Path(os.environ.get("BROWSER_JS", "nowhere")) / "node_modules"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
DAY = date(2027, 5, 12)

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        CHROMIUM is None or shutil.which("node") is None or not MODULES.is_dir(),
        reason="no browser here: chromium, node, and BROWSER_JS with playwright-core and axe-core",
    ),
]


def played(task: str, told: str) -> dict[str, Any]:
    command = ["node", str(SCRIPT), str(CHROMIUM), str(MODULES), task, told]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)
    assert done.returncode == 0, done.stderr
    seen: dict[str, Any] = json.loads(done.stdout)
    return seen


def assert_sound(seen: dict[str, Any]) -> None:
    assert seen["errors"] == []
    assert seen["outside"] == [], "no request leaves the machine"
    for page in seen["pages"]:
        assert page["wide"] <= 0, f"{page['url']} is wider than {page['width']} pixels"
        assert page["violations"] == [], (page["url"], page["width"])


@pytest.mark.parametrize("name", DEMOS)
def test_pages_fit_a_phone_a_desk_and_paper_and_hide_nothing_from_anybody(name: str) -> None:
    folder = ROOT / "calendars" / name / "pages"
    heavy = max(folder.glob("day-*.html"), key=lambda path: path.stat().st_size)
    plot = min(folder.glob("plot-*.html"))
    paths = [folder / "index.html", folder / "frost.html", plot, heavy, folder / "season.html"]
    seen = played("look", json.dumps([path.as_uri() for path in paths]))
    assert len(seen["pages"]) == 2 * len(paths)
    assert_sound(seen)
    sheets = {page["url"].rpartition("/")[2]: page["sheets"] for page in seen["pages"][-5:]}
    assert sheets["season.html"] == 1, "one page for the wall"


def test_the_desk_fits_a_phone(tmp_path: Path) -> None:
    (tmp_path / "calendars").mkdir()
    site = new_site(tmp_path / "site")
    with serving(tmp_path / "calendars", site=site, open_to_all=True) as own:
        urls = [f"{own.url}{name}.html" for name in ("index", "happened", "stock")]
        seen = played("look", json.dumps(urls))
    assert len(seen["pages"]) == 6
    assert_sound(seen)


def test_a_day_with_rain_is_told_kept_and_on_the_phones(tmp_path: Path) -> None:
    """Of the release visit the first day is worked, then it rains for two days."""
    (tmp_path / "calendars").mkdir()
    site = new_site(tmp_path / "site")
    with serving(tmp_path / "calendars", site=site) as own:
        own.desk.write_again()
    with serving(tmp_path / "calendars", site=site, as_of=DAY) as own:
        told = {"base": f"{own.url}{own.links.desk}/", "last": "2027-05-13"}
        seen = played("story", json.dumps(told))
    assert seen["errors"] == []
    assert seen["outside"] == []
    ticked, rain, kept, front = seen["told"]
    assert "Done on 12 May 2027, 1.5 person-hours: first-plot.weed-lines 100 %" in ticked
    assert "No work on 12 May 2027 to 13 May 2027: rain." in rain
    assert "First plot: release visit" in rain
    assert "closed by the grower: rain" in rain.lower()
    assert kept.startswith("Kept ")
    assert "What has moved" in front
    assert "no work, rain" in front
    assert "It moved:" in front
    assert seen["changed"], "the calendar that phones read"
    holding = read_holding(site, DAY)
    assert [entry.hours for entry in holding.log if entry.date == DAY] == [1.5]
    assert [c.first for c in holding.plan.says.closed if c.why == "rain"] == [DAY]
    (cookie,) = seen["cookies"]
    assert cookie["httpOnly"]
    assert cookie["sameSite"] == "Lax"
