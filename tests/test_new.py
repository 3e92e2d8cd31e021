"""Setting up a site: by options, by answers on a terminal, and the plan of its next year."""

import dataclasses
import json
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.commands import new_questions
from scheduler.commands.app import app
from scheduler.files import FaultyFilesError
from scheduler.holding import Answers, NewPlot, read_holding, starter_files
from scheduler.holding.crew import Crew, Hire, Person
from scheduler.holding.plan import Closed, OwnDate, PlanFile, Work
from scheduler.holding.plots import CountedStock, Hazard, Line, Plot
from scheduler.holding.site import FrostPolicy, MoonPractice, Site
from scheduler.holding.worklog import LogEntry
from tests.sites import AS_OF, ROOT, add, demo, edit, planned

NORTH = (
    "--place", "43.1 N 7.2 W", "--plot", "Low, 600 m2, 2019", "--person", "Ana, sat sun, saw",
)  # fmt: skip
TODAY = ("--as-of", "2026-11-25")


def ran(*args: object, answers: list[str] | None = None) -> Result:
    typed = None if answers is None else "\n".join(answers) + "\n"
    return CliRunner().invoke(app, [str(arg) for arg in args], input=typed)


@contextmanager
def a_terminal(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    with monkeypatch.context() as patch:
        patch.setattr("scheduler.commands.setting_up.can_ask", lambda: True)
        yield


def answered(**changes: object) -> Answers:
    plot = NewPlot(id="low", name="Low plot", area_m2=600, planted=2019).with_lines()
    told: dict[str, object] = {
        "site_id": "hill",
        "name": "Hill",
        "lat_deg": 43.1,
        "lon_deg": -7.2,
        "elev_m": 400.0,
        "zone": "Europe/Madrid",
        "plots": (plot,),
        "people": (Person(name="Ana", days=("sat", "sun"), skills=("ground-saw",)),),
        "stock": (CountedStock(plot="low", plant="alder", count=4),),
        "as_of": AS_OF,
    }
    return Answers(**(told | changes))  # type: ignore[arg-type]  # answers by name


# ---- what is written


def test_nothing_of_an_example_passes_as_mine(tmp_path: Path) -> None:
    """All that the files say was answered: no plants, people, hire or days that nobody gave."""
    result = ran("new", tmp_path / "hill", *NORTH, *TODAY)
    assert result.exit_code == 0, result.output
    holding = read_holding(tmp_path / "hill", AS_OF)
    assert holding.stock == ()
    assert [(p.name, p.days, p.skills) for p in holding.crew.person] == [
        ("Ana", ("sat", "sun"), ("ground-saw",))
    ]
    assert holding.crew.hire == ()
    assert holding.plan.says.own_date == ()
    assert holding.plan.says.closed == ()
    assert [plot.name for plot in holding.plots] == ["Low"]
    assert holding.plots[0].alley_plants == 0
    assert not holding.site.moon.practice
    assert not holding.site.works_alone
    assert holding.site.dry == ()
    assert "No plants yet" in result.stdout
    assert "Without both frost dates" in result.stdout
    assert "Guessed: the tree lines of Low" in result.stdout


def test_one_person_with_one_plot_gets_one_work_calendar(tmp_path: Path) -> None:
    plants = ("--plants", "Low: 8 alders, 6 apples", "--works-alone")
    assert ran("new", tmp_path / "hill", *NORTH, *plants, *TODAY).exit_code == 0
    ran("write", tmp_path / "hill", "--to", tmp_path / "out", *TODAY)
    feeds = {path.name for path in (tmp_path / "out").glob("*.ics")}
    assert "work.ics" in feeds
    assert not {name for name in feeds if name.startswith(("person-", "plot-"))}


def test_a_twin_that_phones_know_goes_on(tmp_path: Path) -> None:
    """Somebody leaves: whoever is left has subscribed to a calendar of their own."""
    more = ("--person", "Brais, sat sun, hands", "--plants", "Low: 8 alders, 6 apples")
    assert ran("new", tmp_path / "hill", *NORTH, *more, *TODAY).exit_code == 0
    ran("write", tmp_path / "hill", "--to", tmp_path / "out", *TODAY)
    before = (tmp_path / "out" / "person-ana.ics").read_bytes()
    crew = (tmp_path / "hill" / "crew.toml").read_text(encoding="utf-8")
    at = crew.index("[[person]]", crew.index("[[person]]") + 1)
    (tmp_path / "hill" / "crew.toml").write_text(crew[:at], encoding="utf-8")
    edit(tmp_path / "hill", "site.toml", "# works_alone", "works_alone")
    ran("write", tmp_path / "hill", "--to", tmp_path / "out", "--yes", "--as-of", "2026-11-26")
    assert (tmp_path / "out" / "person-ana.ics").read_bytes() != before


SHAPES_BY_FILE = {
    "site.toml": (Site, FrostPolicy, MoonPractice),
    "plots.toml": (Plot, Line, Hazard),
    "stock.csv": (CountedStock,),
    "crew.toml": (Crew, Person, Hire),
    "plan-2027.toml": (PlanFile, Work, OwnDate, Closed),
    "worklog.csv": (LogEntry,),
}


@pytest.mark.parametrize("file", SHAPES_BY_FILE)
def test_every_key_is_documented_by_the_commented_files(file: str) -> None:
    text = starter_files(answered())[file].decode()
    keys = [field.name for shape in SHAPES_BY_FILE[file] for field in dataclasses.fields(shape)]
    assert keys
    assert [key for key in keys if key not in text] == []


@pytest.mark.parametrize("file", ["crew.toml", "site.toml", "plan-2027.toml", "rules.toml"])
def test_what_stands_behind_a_sign_can_be_used(file: str) -> None:
    """Each example in the comments is good once the sign before it is taken away."""
    files = starter_files(answered())
    text = files[file].decode()
    lines = [line.removeprefix("# ") for line in text.splitlines() if line.startswith("# ")]
    keys = [line for line in lines if " = " in line and line.split(" = ")[0].isidentifier()]
    assert len(keys) > 3
    for line in keys:
        assert tomllib.loads(line), line


@pytest.mark.parametrize("name", ['He said "hi"', "a\\b", "Ünï", "{{ braces }}", "=1+1"])
def test_any_name_can_start_a_site(tmp_path: Path, name: str) -> None:
    plants = (CountedStock(plot="low", plant=name, count=3, group="evergreen fruit tender"),)
    person = Person(name=name, days=("sun",), skills=())
    files = starter_files(answered(name=name, people=(person,), stock=plants, emergency=name))
    holding = read_holding(tmp_path, AS_OF, edited=files)
    assert (holding.site.name, holding.site.emergency) == (name, name)
    assert holding.crew.person[0].name == name
    assert holding.stock[0].count == 3


@pytest.mark.parametrize(
    ("lat_deg", "as_of", "first"),
    [
        (43.1, date(2026, 11, 27), date(2026, 12, 1)),
        (43.1, date(2027, 3, 10), date(2026, 12, 1)),
        (43.1, date(2027, 10, 10), date(2026, 12, 1)),
        (-33.9, date(2026, 11, 27), date(2026, 6, 1)),
        (-33.9, date(2027, 4, 20), date(2027, 6, 1)),
    ],
)
def test_the_plan_begins_in_the_rest_season_and_has_no_end(
    tmp_path: Path, lat_deg: float, as_of: date, first: date
) -> None:
    files = starter_files(answered(lat_deg=lat_deg, as_of=as_of))
    holding = read_holding(tmp_path, as_of, edited=files)
    assert holding.plan.season.first == first
    assert holding.plan.whole.last is None
    assert 364 <= holding.plan.season.n_days <= 366


# ---- options


def test_what_is_needed_is_told_where_nobody_can_be_asked(tmp_path: Path) -> None:
    result = ran("new", tmp_path / "hill", "--plot", "Low, 600, 2019")
    assert result.exit_code == 2
    assert "--place, --person" in result.stderr
    assert not (tmp_path / "hill").exists()


@pytest.mark.parametrize(
    ("option", "value", "told"),
    [
        ("--place", "Lugo", "such as 43.12, -7.25"),
        ("--place", "91, 5", "at most 90"),
        ("--place", "7.2 W 43.1 N", "latitude, then longitude"),
        ("--done", "Low: dormant 2026-11-20", "plants are given"),
        ("--elev", "high", "a number"),
        ("--plot", "Low, 600", "name, ground, year"),
        ("--plot", "Low, 600 acres, 2019", "0.08 ha"),
        ("--plot", "Low, 600, 2019, round", "'round' is none"),
        ("--plot", "Low, 600, 2035", "up to 2027"),
        ("--person", "Ana, holidays, saw", "hands for none"),
        ("--person", "Ana, sun, axe", "not 'axe'"),
        ("--person", "Ana, sun", "or hands for none"),
        ("--plants", "Low: alders", "'alders' has not both"),
        ("--plants", "Hollow: 3 alders", "one of Low"),
        ("--plants", "3 alders", "a colon"),
        ("--climber", "Rui", "hired, nobody, or one of Ana"),
        ("--last-frost", "soon", "10 May"),
        ("--station", "nowhere.csv", "no file here"),
        ("--timezone", "Foo", "'Foo'"),
        ("--stock", "plants.ods", ".csv or .xlsx"),
    ],
)
def test_a_wrong_option_is_told_with_what_is_allowed(
    tmp_path: Path, option: str, value: str, told: str
) -> None:
    others = [arg for arg in zip(NORTH[::2], NORTH[1::2], strict=True) if arg[0] != option]
    flat = [each for pair in others for each in pair]
    result = ran("new", tmp_path / "hill", *flat, option, value, *TODAY)
    assert result.exit_code == 2, result.output
    assert told in result.stderr
    assert not (tmp_path / "hill").exists()


@pytest.mark.parametrize(
    ("kind", "twice"), [("--plot", "Low, 300, 2020"), ("--person", "Ana, fri, hands")]
)
def test_a_name_is_given_once(tmp_path: Path, kind: str, twice: str) -> None:
    result = ran("new", tmp_path / "hill", *NORTH, kind, twice, *TODAY)
    assert result.exit_code == 2
    assert "is there already" in result.stderr


def test_the_climbers_come_on_days_of_the_crew(tmp_path: Path) -> None:
    """Else they would never meet."""
    made = ran("new", tmp_path / "hill", *NORTH, "--climber", "hired", *TODAY)
    assert "the climbers come sat sun" in made.stdout
    (hire,) = read_holding(tmp_path / "hill", AS_OF).crew.hire
    assert hire.days == ("sat", "sun")


def test_who_works_alone_is_joined_by_the_climbers(tmp_path: Path) -> None:
    """A pollard of 11 m is climbed: one on the rope, the grower on the ground."""
    plants = ("--plants", "Low: 8 alders", "--works-alone", "--climber", "hired")
    assert ran("new", tmp_path / "hill", *NORTH, *plants, *TODAY).exit_code == 0
    edit(tmp_path / "hill", "stock.csv", "plot,plant,count\n", "plot,plant,count,height_m\n")
    edit(tmp_path / "hill", "stock.csv", "low,alders,8", "low,alders,8,11")
    placed = planned(tmp_path / "hill").placed
    tall = placed.tasks["low.cut-dormant-tall"]
    assert dict(tall.team) == {"ground-saw": 1, "climber": 1}
    assert "low.cut-dormant-tall" in placed.stints


def test_a_crop_can_be_left_out_by_name(tmp_path: Path) -> None:
    plants = ("--plants", "Low: 6 apples, 4 hazels", "--works-alone")
    assert ran("new", tmp_path / "hill", *NORTH, *plants, *TODAY).exit_code == 0
    plan = next((tmp_path / "hill").glob("plan-*")).name
    assert "low.pick:apple" in planned(tmp_path / "hill").placed.tasks
    edit(tmp_path / "hill", plan, "without = []", 'without = ["pick:apple"]')
    tasks = planned(tmp_path / "hill").placed.tasks
    assert "low.pick:apple" not in tasks
    assert "low.pick:hazel" in tasks
    edit(tmp_path / "hill", plan, "pick:apple", "pick:aple")
    result = ran("check", tmp_path / "hill", *TODAY)
    assert result.exit_code == 2
    assert "field without: found 'pick:aple'" in result.stderr


def test_all_wrong_options_are_told_at_once(tmp_path: Path) -> None:
    wrong = ("--elev", "high", "--first-frost", "soon", "--plants", "Low: alders")
    result = ran("new", tmp_path / "hill", *NORTH, *wrong, *TODAY)
    assert [line.split()[0] for line in result.stderr.splitlines()] == [
        "--elev", "--plants", "--first-frost",
    ]  # fmt: skip


def test_an_option_for_one_plot_may_be_given_twice(tmp_path: Path) -> None:
    plants = ("--plants", "Low: 5 alders", "--plants", "Low: 3 apples and 2 hazels")
    assert ran("new", tmp_path / "hill", *NORTH, *plants, *TODAY).exit_code == 0
    counts = {row.plant: row.count for row in read_holding(tmp_path / "hill", AS_OF).stock}
    assert counts == {"alder": 5, "apple": 3, "hazel": 2}


def test_an_unknown_plant_is_asked_about_by_its_option(tmp_path: Path) -> None:
    plants = ("--plants", "Low: 3 grumblewoods, 4 alders")
    result = ran("new", tmp_path / "hill", *NORTH, *plants, *TODAY)
    assert result.exit_code == 2
    assert (
        "--like is needed. grumblewoods is not known. Another name, or what it is like"
        in result.stderr
    )
    like = ("--like", "grumblewoods: tender evergreen fruit")
    assert ran("new", tmp_path / "hill", *NORTH, *plants, *like, *TODAY).exit_code == 0
    holding = read_holding(tmp_path / "hill", AS_OF)
    assert [row.plant for row in holding.stock] == ["grumblewoods", "alder"]
    assert holding.guessed == ("grumblewoods",)


@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
def test_a_table_of_plants_is_taken_as_it_is(tmp_path: Path, ending: str) -> None:
    rows = [("plot", "plant", "count"), ("Low", "alders", 4)]
    table = tmp_path / f"mine{ending}"
    if ending == ".csv":
        table.write_text("".join(f"{a},{b},{c}\n" for a, b, c in rows), encoding="utf-8")
    else:
        import openpyxl

        book = openpyxl.Workbook()
        for row in rows:
            book.active.append(row)
        book.save(table)
    assert ran("new", tmp_path / "hill", *NORTH, "--stock", table, *TODAY).exit_code == 0
    assert read_holding(tmp_path / "hill", AS_OF).stock[0].plant == "alder"
    assert (tmp_path / "hill" / f"stock{ending}").exists()
    assert len(list((tmp_path / "hill").glob("stock.*"))) == 1


def test_it_never_writes_over_a_site(tmp_path: Path) -> None:
    assert ran("new", tmp_path / "hill", *NORTH, *TODAY).exit_code == 0
    before = {path: path.read_bytes() for path in (tmp_path / "hill").iterdir()}
    again = ran("new", tmp_path / "hill", *NORTH, *TODAY)
    assert again.exit_code == 2
    assert "already there" in again.stderr
    assert {path: path.read_bytes() for path in (tmp_path / "hill").iterdir()} == before


def test_a_record_is_copied_and_checked(tmp_path: Path) -> None:
    record = tmp_path / "minima.csv"
    record.write_text("date,tmin_c\n2020-01-01,cold\n", encoding="utf-8")
    result = ran("new", tmp_path / "hill", *NORTH, "--station", record, *TODAY)
    assert result.exit_code == 2
    assert "minima.csv, row 2, field tmin_c: found 'cold'" in result.stderr
    record.write_bytes((ROOT / "sites" / "branasol" / "station.csv").read_bytes())
    assert ran("new", tmp_path / "hill", *NORTH, "--station", record, *TODAY).exit_code == 0
    frost = json.loads(ran("frost", tmp_path / "hill", "--json", *TODAY).stdout)
    assert frost["plots"][0]["n_seasons"] == 30


def test_without_a_record_the_work_is_planned_with_the_doubt_of_the_dates(tmp_path: Path) -> None:
    """A doubt of 14 days holds the heavy work back by 14 days, and leaves none of it out."""
    ready = {}
    for doubt in (0, 14):
        site = tmp_path / f"hill-{doubt}"
        frost = ("--last-frost", "10 May", "--first-frost", "20 Oct", "--doubt", doubt)
        plants = ("--plants", "Low: 8 apples, 12 tree lucerne", "--works-alone")
        result = ran("new", site, *NORTH, *plants, *frost, *TODAY)
        assert result.exit_code == 0, result.output
        ready[doubt] = json.loads(ran("due", site, "--json", *TODAY).stdout)["plots"][0]
        heavy = json.loads(ran("plan", site, "--json", *TODAY).stdout)["heavy_days"]
        assert heavy
    assert [ready[doubt]["released"] for doubt in (0, 14)] == ["2027-05-11", "2027-05-25"]


# ---- answers on a terminal


TYPED = [
    "My hill", "43.1, -7.2", "430", "Low, 600, 2019", "", "8 alders, 2 grumblewoods",
    "evergreen fruit tender", "Ana, weekends, saw", "", "no", "nobody", "", "no", "", "10 May",
    "20 October", "14", "yes",
]  # fmt: skip


def test_the_answers_make_the_site_that_the_options_make(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with a_terminal(monkeypatch):
        asked = ran("new", tmp_path / "asked", *TODAY, answers=TYPED)
    assert asked.exit_code == 0, asked.output
    told = ran(
        "new", tmp_path / "told", "--name", "My hill", "--place", "43.1, -7.2", "--elev", 430,
        "--plot", "Low, 600, 2019", "--plants", "Low: 8 alders, 2 grumblewoods",
        "--like", "grumblewoods: evergreen fruit tender", "--person", "Ana, weekends, saw",
        "--last-frost", "10 May", "--first-frost", "20 October", *TODAY,
    )  # fmt: skip
    assert told.exit_code == 0, told.output
    files = [
        {path.name: path.read_bytes() for path in (tmp_path / name).iterdir()}
        for name in ("asked", "told")
    ]
    assert files[0] == files[1]
    assert len(files[0]) == 7


def test_going_back_asks_once_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    wrong = ["My hul", "back", "My hill", "43.1, 7.2", "<", *TYPED[1:-1], "back", "7", "yes"]
    with a_terminal(monkeypatch):
        result = ran("new", tmp_path / "hill", *TODAY, answers=wrong)
    assert result.exit_code == 0, result.output
    site = read_holding(tmp_path / "hill", AS_OF).site
    assert (site.name, site.lon_deg) == ("My hill", -7.2)
    assert site.frost.own_doubt_days == 7


def test_a_wrong_answer_is_told_and_asked_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with a_terminal(monkeypatch):
        result = ran("new", tmp_path / "hill", *TODAY, answers=["My hill", "Lugo", *TYPED[1:]])
    assert result.exit_code == 0, result.output
    assert "as a map shows them" in result.output


def test_a_faulty_table_throws_no_answer_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    table = tmp_path / "trees.csv"
    table.write_text("plot,plant,count\nLow,alders,many\n", encoding="utf-8")
    said: list[str] = []

    def mend(question: str, **how: object) -> str:
        """Mend the table once it is asked for; agree to all else."""
        said.append(question)
        if "Mend it" in question:
            table.write_text("plot,plant,count\nLow,alders,4\n", encoding="utf-8")
        return str(how.get("default") or "")

    monkeypatch.setattr("scheduler.commands.setting_up.typer.prompt", mend)
    with a_terminal(monkeypatch):
        result = ran(
            "new", tmp_path / "hill", *NORTH, "--stock", table, "--name", "Hill", "--elev", 4,
            "--climber", "no", "--emergency", "-", "--station", "no", "--last-frost", "no",
            "--first-frost", "no", "--works-alone", "--moon", *TODAY,
        )  # fmt: skip
    assert result.exit_code == 0, result.output
    assert f"{table}, cell C2 (count): found 'many'" in result.stderr
    assert [question[:7] for question in said].count("Nothing") == 1
    assert read_holding(tmp_path / "hill", AS_OF).stock[0].count == 4


def test_nothing_is_written_without_a_yes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with a_terminal(monkeypatch):
        result = ran("new", tmp_path / "hill", *TODAY, answers=[*TYPED[:-1], "wait", "no"])
    assert result.exit_code == 2
    assert not (tmp_path / "hill").exists()


def test_what_options_say_is_not_asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with a_terminal(monkeypatch):
        result = ran(
            "new", tmp_path / "hill", *NORTH, "--elev", 5, "--climber", "hired", "--moon", *TODAY,
            "--works-alone", answers=["My hill", "", "", "", "", "", "yes"],
        )  # fmt: skip
    assert result.exit_code == 0, result.output
    assert "Where is it?" not in result.output
    holding = read_holding(tmp_path / "hill", AS_OF)
    assert [hire.id for hire in holding.crew.hire] == ["climber"]
    assert holding.site.moon.practice
    assert holding.site.works_alone


def test_at_sea_the_zone_is_asked_for(tmp_path: Path) -> None:
    at_sea = ("--place", "10, -30", *NORTH[2:])
    result = ran("new", tmp_path / "hill", *at_sea, *TODAY)
    assert result.exit_code == 2
    assert "--timezone is needed" in result.stderr
    zone = ("--timezone", "Atlantic/Cape_Verde")
    assert ran("new", tmp_path / "hill", *at_sea, *zone, *TODAY).exit_code == 0


@pytest.mark.parametrize(
    ("lat_deg", "lon_deg", "zone"),
    [
        (43.36, -8.41, "Europe/Madrid"),  # nearer to Lisbon than to Madrid
        (-33.93, 20.45, "Africa/Johannesburg"),
        (40.0, -105.3, "America/Denver"),
        (10.0, -30.0, ""),
    ],
)
def test_the_zone_is_that_of_the_place(lat_deg: float, lon_deg: float, zone: str) -> None:
    """Zones by the IANA database; places from memory."""
    assert new_questions.zone_of(lat_deg, lon_deg) == zone


# ---- moving in half-way


def test_what_was_done_this_season_is_logged_and_not_planned_again(tmp_path: Path) -> None:
    plants = ("--plants", "Low: 8 hazels, 6 apples", "--works-alone")
    frost = ("--last-frost", "10 May", "--first-frost", "20 Oct", "--as-of", "2027-06-20")
    whole = ran("new", tmp_path / "new", *NORTH, *plants, *frost)
    assert whole.exit_code == 0, whole.output
    done = ("--done", "Low: dormant 10 February")
    moved_in = ran("new", tmp_path / "old", *NORTH, *plants, *frost, *done)
    assert moved_in.exit_code == 0, moved_in.output
    assert "the dormant work of 2027-02-10 is in worklog.csv" in moved_in.stdout
    log = read_holding(tmp_path / "old", date(2027, 6, 20)).log
    assert log
    assert {(entry.date, entry.percent, entry.plan) for entry in log} == {
        (date(2027, 2, 10), 100, "2027")
    }
    left = {}
    for name in ("new", "old"):
        due = json.loads(ran("due", tmp_path / name, "--json", "--as-of", "2027-06-20").stdout)
        left[name] = {
            task["task"]: task["done_percent"] for task in due["plots"][0]["tasks"]
            if task["visit"] == "dormant"
        }  # fmt: skip
    assert left["new"] == {}  # its days had gone by
    assert set(left["old"].values()) == {100}


def test_what_had_its_days_before_is_passed_over_without_a_word(tmp_path: Path) -> None:
    plants = ("--plants", "Low: 8 hazels, 6 apples", "--works-alone")
    frost = ("--last-frost", "10 May", "--first-frost", "20 Oct", "--as-of", "2027-06-20")
    assert ran("new", tmp_path / "hill", *NORTH, *plants, *frost).exit_code == 0
    plan = planned(tmp_path / "hill", date(2027, 6, 20))
    assert [notice.says for notice in plan.notices if "gone by. What" in notice.says] == []
    passed = {task for note in plan.placed.idle if "taken up" in note.says for task in note.also}
    assert {"low.cut-dormant-support", "low.cut-dormant-fruit:apple"} <= passed
    edit(tmp_path / "hill", "plan-2027.toml", "taken_up = ", "# ")
    plan = planned(tmp_path / "hill", date(2027, 6, 20))
    assert [notice.says for notice in plan.notices if "gone by. What" in notice.says] != []


@pytest.mark.parametrize(
    ("done", "told"),
    [
        ("Low: harvest 2027-03-01", "dormant, release, dry-summer"),
        ("Low: dormant", "each with its day"),
        ("Low: dormant 2026-02-10", "from 2026-12-01"),
        ("Low: dormant soon", "such as 10 May"),
        ("Low: dormant 31 April", "a day that there is"),
    ],
)
def test_what_cannot_have_been_done_is_refused(tmp_path: Path, done: str, told: str) -> None:
    plants = ("--plants", "Low: 8 hazels", "--as-of", "2027-06-20")
    result = ran("new", tmp_path / "hill", *NORTH, *plants, "--done", done)
    assert result.exit_code == 2
    assert told in result.stderr


# ---- the next year


def test_the_next_plan_takes_what_recurs_and_leaves_the_rest_behind(tmp_path: Path) -> None:
    site = demo(tmp_path, "branasol")
    plan = (site / "plan-2027.toml").read_text(encoding="utf-8")
    recurs = plan.replace('why = "grape harvest', 'every_year = true\nwhy = "grape harvest')
    (site / "plan-2027.toml").write_text(recurs, encoding="utf-8")
    result = ran("new", site, "--next", *TODAY)
    assert result.exit_code == 0, result.output
    assert "Left behind" in result.stdout
    assert "ladeira.weed-lines: the garden school" in result.stdout
    now, then = (read_holding(site, day).plan for day in (AS_OF, date(2028, 1, 1)))
    assert (then.id, then.file) == ("2028", "plan-2028.toml")
    assert (then.season.first, then.season.last) == (date(2027, 12, 1), date(2028, 11, 30))
    assert then.says.title == "Brañasol 2028"
    assert then.says.work == now.says.work
    assert then.says.own_date == ()
    assert [days.first for days in then.says.closed] == [date(2028, 9, 6)]
    text = (site / "plan-2028.toml").read_text(encoding="utf-8")
    assert "2027-05" not in text
    again = ran("new", site, "--next", *TODAY)
    assert again.exit_code == 2
    assert "plan-2028.toml is there already" in again.stderr


def test_a_plan_that_goes_on_is_cut_off_by_the_next(tmp_path: Path) -> None:
    assert ran("new", tmp_path / "hill", *NORTH, *TODAY).exit_code == 0
    own = '[[own_date]]\ntask = "low.walk-plots"\non = 2027-03-01\nevery_year = true\nwhy = "x"\n'
    add(tmp_path / "hill", "plan-2027.toml", own)
    assert ran("new", tmp_path / "hill", "--next", *TODAY).exit_code == 0
    plans = read_holding(tmp_path / "hill", AS_OF).plans
    assert [(plan.id, plan.file) for plan in plans][:2] == [
        ("2027", "plan-2027.toml"), ("2028", "plan-2028.toml"),
    ]  # fmt: skip
    assert [plan.says.own_date[0].on for plan in plans[:2]] == [
        date(2027, 3, 1), date(2028, 3, 1),
    ]  # fmt: skip


def test_a_faulty_site_gets_no_next_plan(tmp_path: Path) -> None:
    site = demo(tmp_path, "branasol", ("crew.toml", "hours = ", "hour = "))
    result = ran("new", site, "--next", *TODAY)
    assert result.exit_code == 2
    assert "crew.toml" in result.stderr
    assert sorted(path.name for path in site.glob("plan-*")) == ["plan-2027.toml"]
    with pytest.raises(FaultyFilesError):
        read_holding(site, AS_OF)
