"""A site's files: what is read, and how every fault is told at once."""

import csv
import dataclasses
import io
import os
import stat
from datetime import date
from pathlib import Path

import pytest

from scheduler.files import Fault, FaultyFilesError, write_whole
from scheduler.holding import LogEntry, RuleBook, read_holding
from scheduler.holding.crew import Crew
from scheduler.holding.references import faults_between
from scheduler.holding.site_files import package_rules
from tests.sites import AS_OF, DEMOS, ROOT, append_to_log, edit, new_site


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def faults(site: Path) -> list[Fault]:
    with pytest.raises(FaultyFilesError) as caught:
        read_holding(site, AS_OF)
    return list(caught.value.faults)


@pytest.mark.parametrize("demo", DEMOS)
def test_the_demo_sites_are_read_without_a_fault(demo: str) -> None:
    holding = read_holding(ROOT / "sites" / demo, AS_OF)
    kinds = {row.plant for row in holding.stock}
    assert 15 <= len(kinds) <= 25
    assert holding.record is not None
    assert holding.record.season.n_days > 30 * 365


CAP = "# heavy_days_in_row = 3"

# file, text that stands there, text put in its place, then what the fault must name
BAD_VALUES = [
    ("site.toml", "lat_deg = 46.5", "lat_deg = 91", "lat_deg", "91", "at most 90"),
    ("site.toml", "lat_deg = 46.5", 'lat_deg = "46.5"', "lat_deg", "'46.5'", "a number"),
    ("site.toml", "lat_deg = 46.5", "lat_deg = nan", "lat_deg", "nan", "finite"),
    ("site.toml", '"Europe/Vienna"', '"Foo"', "zone", "'Foo'", "IANA"),
    ("site.toml", "tolerance = 0.10", "tolerance = 10", "tolerance", "10", "at most 1"),
    ("site.toml", "practice = false", 'practice = "no"', "practice", "'no'", "true or false"),
    ("site.toml", "tolerance =", "tolerence =", "tolerence", "", "did you mean tolerance"),
    ("site.toml", 'own_last = "05-10"', 'own_last = "02-30"', "own_last", "02-30", "MM-DD"),
    ("site.toml", 'id = "test-hill"', 'id = "Test Hill"', "id", "Test Hill", "hyphens"),
    ("plots.toml", "area_m2 = 600.0", "area_m2 = -5", "area_m2", "-5", "more than 0"),
    ("plots.toml", "planted = 2018", "planted = 20018", "planted", "20018", "at most 2100"),
    ("plots.toml", "hazard = []", 'hazard = [{ kind = "cliff" }]', "kind", "cliff", "power-line"),
    ("crew.toml", '"ground-saw"', '"flying"', "skills", "flying", "pole-saw"),
    ("crew.toml", "# spare_share = 0.15", "spare_share = 0.6", "spare_share", "0.6", "most 0.5"),
    ("crew.toml", CAP, "heavy_days_in_row = 15", "heavy_days_in_row", "15", "at most 14"),
    ("crew.toml", CAP, "heavy_days_in_row = 0", "heavy_days_in_row", "0", "at least 1"),
    ("crew.toml", CAP, "heavy_days_in_row = 2.5", "heavy_days_in_row", "2.5", "whole number"),
    ("crew.toml", "hours = 6 ", "hours = 25 ", "hours", "25", "at most 12"),
    ("plan-2027.toml", "first = 2026-12-01", "first = 2030-12-01", "last", "2030", "on or after"),
    ("plan-2027.toml", "first = 2026-12-01", "first = 2026-02-30", "", "nvalid", "TOML"),
    ("plan-2027.toml", "first = 2026-12-01", "first = 2026", "first", "2026", "a date"),
    ("plan-2027.toml", '"dormant"', '"dormnat"', "types", "dormnat", "did you mean dormant"),
    ("stock.csv", "A,alder,high", "A,alder,hihg", "stratum", "hihg", "emergent"),
    ("stock.csv", "A,alder,", "A,aldr,", "plant", "aldr", "did you mean 'alder'? Write: alder"),
    ("stock.csv", "A,alder,", "Z,alder,", "line", "'Z'", "one of A, B"),
    ("stock.csv", "A,alder,", "A,Blak Locust,", "plant", "Locust", "Write: robinia"),
    ("crew.toml", 'id = "climber"', 'id = "arborist"', "id", "arborist", "chipper, climber"),
    ("site.toml", 'own_last = "05-10"', 'own_last = "11-10"', "own_last", "11-10", "before"),
    ("stock.csv", "pollard,8,12", "pollard,8.5,12", "count", "8.5", "whole number"),
    ("stock.csv", "pollard,8,12", "pollard,many,12", "count", "many", "whole number"),
    ("stock.csv", "3.5,2.5,,", "3.5,2.5,2026-02-30,", "last_cut", "2026-02-30", "a date"),
    ("stock.csv", "plot,line,", "plot,lines,", "", "'lines'", "columns plot"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "field", "found", "allowed"), BAD_VALUES)
def test_a_bad_value_is_named_with_file_field_found_and_allowed(  # one for each part of a fault
    site: Path, file: str, old: str, new: str, field: str, found: str, allowed: str
) -> None:
    edit(site, file, old, new)
    told = faults(site)
    assert any(
        fault.file == file
        and field in fault.field
        and found in fault.found
        and allowed in fault.allowed
        for fault in told
    ), told


def test_all_faults_of_all_files_are_told_at_once(site: Path) -> None:
    edit(site, "site.toml", "lat_deg = 46.5", "lat_deg = 91")
    edit(site, "site.toml", '"Europe/Vienna"', '"Foo"')
    edit(site, "plots.toml", "area_m2 = 600.0", "area_m2 = -5")
    edit(site, "stock.csv", "A,alder,high", "A,alder,hihg")
    (site / "crew.toml").unlink()
    told = faults(site)
    assert {fault.file for fault in told} == {"site.toml", "plots.toml", "stock.csv", "crew.toml"}
    assert len(told) == 5


def test_one_fault_in_the_plots_is_not_repeated_for_every_plant(site: Path) -> None:
    edit(site, "plots.toml", "area_m2 = 600.0", "area_m2 = -5")
    edit(site, "stock.csv", "A,alder,", "A,aldr,")
    assert [fault.file for fault in faults(site)] == ["plots.toml", "stock.csv"]


def test_a_day_of_ones_own_outside_the_plan_is_refused(site: Path) -> None:
    with (site / "plan-2027.toml").open("a", encoding="utf-8") as plan:
        plan.write(
            '\n[[own_date]]\ntask = "first-plot.chip"\nnot_before = 2029-01-01\nwhy = "x"\n'
        )
    assert (faults(site)[0].field, faults(site)[0].found) == ("not_before", "2029-01-01")


def test_own_dates_that_contradict_one_another_are_refused(site: Path) -> None:
    with (site / "plan-2027.toml").open("a", encoding="utf-8") as plan:
        plan.write(
            '\n[[own_date]]\ntask = "first-plot.chip"\nnot_before = 2027-06-20\n'
            'not_after = 2027-06-10\nwhy = "x"\n'
            '\n[[own_date]]\ntask = "first-plot.chip"\non = 2027-06-15\nwhy = "y"\n'
        )
    assert [(fault.field, fault.found) for fault in faults(site)] == [
        ("not_after", "2027-06-10"),
        ("task", "'first-plot.chip' 2 times"),
    ]


@pytest.mark.parametrize(("key", "value"), [("group", "tree"), ("biomass", "lots")])
def test_a_plant_of_ones_own_must_lead_somewhere(site: Path, key: str, value: str) -> None:
    told = {"group": "nut", "biomass": "alder"} | {key: value}
    (site / "rules.toml").write_text(
        '[[plant]]\nid = "pawpaw"\nname = "Pawpaw"\nbotanical = "Asimina triloba"\n'
        f'group = "{told["group"]}"\nbiomass = "{told["biomass"]}"\nhabit = "deciduous"\n'
        'source = "the grower"\n',
        encoding="utf-8",
    )
    assert [(fault.field, fault.found) for fault in faults(site)] == [(key, repr(value))]


def test_the_example_plant_of_the_commented_rules_is_taken(site: Path) -> None:
    text = (site / "rules.toml").read_text(encoding="utf-8")
    example = text[text.index("# [[plant]]") : text.index("# A rule of months")]
    plain = "\n".join(line.removeprefix("# ") for line in example.splitlines())
    (site / "rules.toml").write_text(plain, encoding="utf-8")
    assert "pawpaw" in read_holding(site, AS_OF).rules.plants


def test_a_fault_in_a_csv_names_the_row_as_a_spreadsheet_counts_it(site: Path) -> None:
    lines = (site / "stock.csv").read_text(encoding="utf-8").splitlines()
    row = next(i for i, line in enumerate(lines, start=1) if ",alder," in line)
    edit(site, "stock.csv", "A,alder,high", "A,alder,hihg")
    assert [fault.rows for fault in faults(site)] == [(row,)]


def test_a_fault_in_a_list_of_tables_names_which(site: Path) -> None:
    edit(site, "plots.toml", "width_m = 1.5 },\n]", "width_m = 0 },\n]")
    assert faults(site)[0].table == "[[plot]] 1 (first-plot) [[line]] 2 (B)"


def test_a_missing_folder_is_one_plain_fault(tmp_path: Path) -> None:
    assert "no such folder" in str(faults(tmp_path / "nowhere")[0])


def test_names_given_twice_are_faults(site: Path) -> None:
    edit(site, "crew.toml", 'name = "Helper"', 'name = "Ilka"')
    assert "'Ilka' 2 times" in str(faults(site)[0])


def test_a_file_that_is_not_utf8_is_refused(site: Path) -> None:
    (site / "stock.csv").write_bytes("plot,plant\nx,caf\xe9\n".encode("latin-1"))
    assert "not UTF-8" in str(faults(site)[0])


def test_a_spreadsheet_with_semicolons_decimal_commas_and_a_mark_is_read(site: Path) -> None:
    lines = (site / "stock.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    columns = list(range(len(rows[0])))[::-1]  # in another order, too
    sheet = io.StringIO()
    for row in rows:
        csv.writer(sheet, delimiter=";").writerow(row[i].replace(".", ",") for i in columns)
    text = sheet.getvalue()
    before = read_holding(site, AS_OF).stock
    (site / "stock.csv").write_text("\ufeff" + text + "\n;;\n", encoding="utf-8")
    assert read_holding(site, AS_OF).stock == before


def test_a_site_can_add_and_replace_rules_by_id(site: Path) -> None:
    (site / "rules.toml").write_text(
        '[[plant]]\nid = "medronho"\nname = "Medronho"\nbotanical = "Arbutus unedo"\n'
        'group = "evergreen-fruit"\nhabit = "evergreen"\nsource = "the grower"\n'
        '[[rule]]\nid = "harden-before-frost"\nkind = "harden-before-frost"\n'
        'exposes = ["new-growth"]\nweeks = 10\nwords = "ten weeks"\nbasis = "measured"\n'
        'source = "the grower"\n',
        encoding="utf-8",
    )
    rules = read_holding(site, AS_OF).rules
    assert rules.plants["medronho"].name == "Medronho"
    assert getattr(rules.rules["harden-before-frost"], "weeks", None) == 10


def test_a_switch_that_nothing_asks_for_is_refused(site: Path) -> None:
    text = '[[switch]]\nid = "{}"\nstate = "off"\nsource = "the grower"\n'
    (site / "rules.toml").write_text(text.format("dry-spell"), encoding="utf-8")
    (told,) = faults(site)
    assert (told.file, told.table, told.field) == ("rules.toml", "[[switch]] dry-spell", "id")
    assert "dry-winter" in told.allowed
    for known in ("care-months", "nesting-season", "dry-winter"):
        (site / "rules.toml").write_text(text.format(known), encoding="utf-8")
        assert read_holding(site, AS_OF).rules.switches[known].state == "off"


def test_a_rule_without_a_source_is_refused(site: Path) -> None:
    (site / "rules.toml").write_text(
        '[[rule]]\nid = "x"\nkind = "daylight"\nhours = 9\nwords = "w"\nbasis = "computed"\n'
        'source = " "\n',
        encoding="utf-8",
    )
    told = faults(site)[0]
    assert (told.table, told.field) == ("[[rule]] 1 (x)", "source")


def test_the_plan_in_force_is_the_one_that_runs_or_comes_next(site: Path) -> None:
    text = (site / "plan-2027.toml").read_text(encoding="utf-8")
    later = text.replace("2026-12-01", "2027-12-01").replace("2027-11-30", "2028-11-30")
    (site / "plan-2028.toml").write_text(later, encoding="utf-8")
    assert read_holding(site, AS_OF).plan.id == "2027"
    assert read_holding(site, date(2027, 12, 1)).plan.id == "2028"
    assert read_holding(site, date(2031, 1, 1)).plan.id == "2028"
    assert read_holding(site, AS_OF, "2028").plan.id == "2028"
    with pytest.raises(FaultyFilesError, match="no such plan"):
        read_holding(site, AS_OF, "2029")


def test_every_entry_of_the_rule_book_has_a_source_and_leads_somewhere() -> None:
    book = RuleBook.of(package_rules())
    for field in dataclasses.fields(book):
        assert getattr(book, field.name), field.name
        for entry in getattr(book, field.name).values():
            assert entry.source.strip(), entry.id
    assert faults_between(None, (), Crew(person=()), (), book) == []


def test_the_log_is_appended_and_nothing_else_is_touched(site: Path) -> None:
    before = (site / "worklog.csv").read_bytes()
    entry = LogEntry(
        date=date(2027, 5, 1), plan="2027", task="first-plot.weed-lines", hours=3.5, note="a, b"
    )
    later = dataclasses.replace(
        entry, date=date(2027, 5, 2), task="first-plot.cut-medium", percent=40
    )
    append_to_log(site, [entry, later])
    assert (site / "worklog.csv").read_bytes().startswith(before)
    assert read_holding(site, AS_OF).log == (entry, later)


def test_a_log_without_a_last_line_end_keeps_its_last_row(site: Path) -> None:
    path = site / "worklog.csv"
    path.write_text("task,plan,date\nfirst-plot.chip,2027,2027-05-01", encoding="utf-8")
    append_to_log(site, [LogEntry(date=date(2027, 5, 2), plan="2027", task="first-plot.lay-fine")])
    assert [e.task for e in read_holding(site, AS_OF).log] == [
        "first-plot.chip",
        "first-plot.lay-fine",
    ]


def test_writing_is_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "feed.ics"
    assert write_whole(path, b"old")
    assert not write_whole(path, b"old")

    def disk_full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", disk_full)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["feed.ics"]
    assert stat.S_IMODE(path.stat().st_mode) == 0o644
