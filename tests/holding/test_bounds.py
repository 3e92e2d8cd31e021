"""Numbers, names and days that no site has are faults of their field, and end no program."""

from pathlib import Path

import pytest

from tests.sites import edit, new_site
from tests.test_strange_input import AS_OF, ran

ROW = "first-plot,A,alder,high,support,pollard,6,14,8,3.5"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


@pytest.mark.parametrize(
    ("file", "old", "new", "field"),
    [
        ("crew.toml", "lead_days = 28", "lead_days = 3000000", "lead_days"),
        ("crew.toml", "count = 1 ", "block_days = 1e15", "block_days"),
        ("crew.toml", "count = 1 ", "count = 100000000000000000000", "count"),
        ("crew.toml", "# hour_price = 15", "hour_price = 1e300", "hour_price"),
        ("plots.toml", "area_m2 = 600.0", "area_m2 = 1e12", "area_m2"),
        (
            "plots.toml",
            "width_m = 1.5",
            "width_m = 1.5, mulch_cm = 1e308, mulch_on = 2026-01-01",
            "mulch_cm",
        ),
        (
            "plots.toml",
            "width_m = 1.5",
            "width_m = 1.5, mulch_cm = 8, mulch_on = 2199-01-01",
            "mulch_on",
        ),
        ("plots.toml", 'name = "First plot"', 'name = "First\\nplot"', "name"),
        ("plots.toml", 'name = "First plot"', 'name = "First \\u202e plot"', "name"),
        ("site.toml", '"Europe/Vienna"', '"Factory"', "zone"),
        ("site.toml", '"Europe/Vienna"', '"localtime"', "zone"),
        ("plan-2027.toml", "last = ", "last = 2028-11-30 #", "last"),
    ],
)
def test_what_no_site_has_is_a_fault_of_its_field(
    site: Path, file: str, old: str, new: str, field: str
) -> None:
    edit(site, file, old, new)
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    line, *_ = result.stderr.splitlines()
    assert line.startswith(f"{file}, ")
    assert f"field {field}: found " in line


@pytest.mark.parametrize(
    ("column", "value"),
    [("count", "100000000000000000000"), ("stem_cm", "1e5"), ("height_m", "1e3"),
     ("crown_m", "1e300"), ("crown_m", "0")],
)  # fmt: skip
def test_a_row_of_stock_has_bounds_too(site: Path, column: str, value: str) -> None:
    head, row = _with(site, column, value)
    edit(site, "stock.csv", head, row)
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    assert f" ({column}): found " in result.stderr


def _with(site: Path, column: str, value: str) -> tuple[str, str]:
    """A row of the stock, and the same with another value in a column."""
    lines = (site / "stock.csv").read_text(encoding="utf-8").splitlines()
    lines = [line for line in lines if line and not line.startswith("#")]
    at = lines[0].split(",").index(column)
    cells = lines[1].split(",")
    return lines[1], ",".join([*cells[:at], value, *cells[at + 1 :]])


def test_more_plants_than_a_plot_can_hold_are_a_fault_of_their_row(site: Path) -> None:
    edit(site, "stock.csv", *_with(site, "count", "9999"))
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    assert " (count): found 9999 crowns of " in result.stderr


def test_a_log_entry_of_another_century_is_a_fault(site: Path) -> None:
    with (site / "worklog.csv").open("a", encoding="utf-8") as log:
        log.write("1700-01-01,2027,first-plot.release\n")
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    assert "worklog.csv, cell A" in result.stderr
    assert "(date): found 1700-01-01" in result.stderr


def test_a_site_without_plots_is_told_so(site: Path) -> None:
    (site / "plots.toml").write_text("plot = []\n", encoding="utf-8")
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    assert "plots.toml, [[plot]]: found none; allowed: at least one plot" in result.stderr


@pytest.mark.parametrize(
    ("stem", "height", "code"), [("10", "40", "stem-too-thin"), ("0", "8", "stem-too-thin")]
)
def test_a_tree_that_no_wind_would_leave_standing_is_doubted(
    site: Path, stem: str, height: str, code: str
) -> None:
    for column, value in (("stem_cm", stem), ("height_m", height)):
        edit(site, "stock.csv", *_with(site, column, value))
    result = ran("check", site, *AS_OF, "--json")
    assert result.exit_code == 1
    assert code in result.stdout


def test_mulch_measured_on_a_day_to_come_is_doubted(site: Path) -> None:
    edit(site, "plots.toml", "width_m = 1.5", "width_m = 1.5, mulch_cm = 8, mulch_on = 2027-05-01")
    assert "mulch-to-come" in ran("check", site, *AS_OF, "--json").stdout


def test_braces_in_the_words_of_a_rule_are_words(site: Path) -> None:
    with (site / "rules.toml").open("a", encoding="utf-8") as rules:
        rules.write(
            '\n[[rule]]\nid = "own"\nkind = "months"\nspans = [{ first = 0, last = 9 }]\n'
            'words = "as { we } } do {plot} {0}"\nbasis = "planned"\nsource = "ours"\n'
        )
    assert ran("check", site, *AS_OF).exit_code in (0, 1)


@pytest.mark.parametrize(("with_task", "faults"), [("own", 1), ("nosuch", 1), ("lay-fine", 0)])
def test_a_task_that_leads_back_to_itself_is_a_fault(
    site: Path, with_task: str, faults: int
) -> None:
    with (site / "rules.toml").open("a", encoding="utf-8") as rules:
        rules.write(
            '\n[[task]]\nid = "own"\ntitle = "Look"\nvisit = "release"\norder = 300\n'
            f'with_task = "{with_task}"\nrate = "weed"\nteam = {{ hands = 1 }}\nhow = "look"\n'
            'source = "ours"\n'
        )
    result = ran("check", site, *AS_OF)
    told = [line for line in result.stderr.splitlines() if "field with_task: found " in line]
    assert len(told) == faults
    assert (result.exit_code == 2) is bool(faults)


def test_growth_that_takes_more_than_a_year_to_harden_is_a_fault(site: Path) -> None:
    rule = [
        "[[rule]]", 'id = "harden-before-frost"', 'kind = "harden-before-frost"',
        "weeks = 53", 'exposes = ["new-growth"]', 'basis = "measured"',
        'words = "{weeks} weeks to harden in {plot} ({opens})"', 'source = "a test"',
    ]  # fmt: skip
    (site / "rules.toml").write_text("\n".join(rule), encoding="utf-8")
    result = ran("due", site, *AS_OF)
    assert result.exit_code == 2
    assert "weeks" in result.stderr


@pytest.mark.parametrize(
    ("kind", "near"), [("before-last-frost", "until_weeks"), ("after-first-frost", "from_weeks")]
)
def test_weeks_that_end_before_they_begin_are_a_fault(site: Path, kind: str, near: str) -> None:
    rule = [
        "[[rule]]", 'id = "own-weeks"', f'kind = "{kind}"', 'tasks = ["walk-plots"]',
        "weeks = 8", f"{near} = 60", 'basis = "measured"', 'words = "x"', 'source = "a test"',
    ]  # fmt: skip
    (site / "rules.toml").write_text("\n".join(rule), encoding="utf-8")
    result = ran("due", site, *AS_OF)
    assert result.exit_code == 2
    assert f"field {near}: found 60; allowed: at most its weeks, 8" in result.stderr
