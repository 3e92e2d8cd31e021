"""A site is set up from what was answered, or the plan of its next year made.

Only the command that does so loads this module, and with it the rooms that it needs.
"""

from dataclasses import replace
from datetime import date
from pathlib import Path

import typer

from scheduler.commands.door import faults_told, refuse
from scheduler.commands.new_questions import BACK, Setup, ask_all, zone_of
from scheduler.commands.new_weather import fetched
from scheduler.commands.screen import can_ask, say
from scheduler.files import FaultyFilesError, read_bytes, text_of, write_whole
from scheduler.holding import (
    LOG_FILE,
    Answers,
    CountedStock,
    locked_site,
    log_with,
    next_plan,
    read_holding,
    refuse_what_is_there,
    starter_files,
    write_new_site,
)
from scheduler.season import NotLoggedError, Said, recorded
from scheduler.stand import tasks_of
from scheduler.words import slug_of

Many = list[str] | None
STOCK_ENDINGS = (".csv", ".xlsx")


def options_by_question(
    single: dict[str, str | None], each: dict[str, Many], named: dict[str, Many]
) -> dict[str, str]:
    """Texts of options by key of the question that they answer.

    Args:
        single: given once.
        each: one for each plot or person.
        named: each begins with the plot or plant that it is about.
    """
    options = {key: text for key, text in single.items() if text is not None}
    for kind, told in each.items():
        for at, text in enumerate([*told, ""] if told else (), start=1):
            options[f"{kind} {at}"] = text
    for kind, told in named.items():
        for key, text in (_about(kind, text) for text in told or ()):
            options[key] = f"{options[key]}, {text}" if key in options else text
    return options


def _about(kind: str, text: str) -> tuple[str, str]:
    """The key and the rest of an option that begins with a plot, or a plant, and a colon."""
    about, colon, rest = text.partition(":")
    if not colon:
        refuse(f"--{kind} {text!r}: allowed: a name, a colon and the rest")
    return f"{kind} {about.strip() if kind == 'like' else slug_of(about, 'plot')}", rest


def set_up(folder: Path, options: dict[str, str], stock: Path | None, day: date) -> None:
    """Write the files of a site from options and answers; log what is done already.

    Raises:
        FaultyFilesError: a site stands there, or what was told makes no good files.
    """
    refuse_what_is_there(folder, ["site.toml"])
    setup = Setup(day, folder)
    if (zone := options.pop("zone", None)) is not None:
        setup.said["zone"] = zone  # reading the files back checks it
    table = _table_of(stock)
    if table:
        setup.said["stock"] = True
    while True:
        answers = _asked(setup, options)
        files = starter_files(answers)
        if table:
            del files["stock.csv"]
        files |= _table_of(stock)
        if taken := files.keys() & (brought := _brought(setup)).keys():
            refuse(f"--station: a record needs a name of its own; {min(taken)} is another file")
        files |= brought
        try:
            write_new_site(folder, files, day)
            break
        except FaultyFilesError as error:
            _mended(error, setup, stock)
    say(f"{folder}: written: {', '.join(sorted(files))}.")
    _log_done(folder, setup, day)
    for line in _taken(answers, has_stock=bool(table)):
        say(line)
    say(f"`scheduler write {folder}` plans the year and writes calendars and pages; "
        f"`scheduler check {folder}` says what wants an answer.")  # fmt: skip


def _mended(error: FaultyFilesError, setup: Setup, stock: Path | None) -> None:
    """Tell the faults; on a terminal wait until the table is mended, or go back an answer."""
    faults = [
        replace(fault, file=str(stock))
        if stock is not None and fault.file == f"stock{stock.suffix}"
        else fault
        for fault in error.faults
    ]
    if not can_ask():
        raise type(error)(faults)
    for fault in faults:
        say(str(fault), err=True)
    text = typer.prompt("Nothing is written yet. Mend it and press Enter, or `back`", default="")
    if text.strip().casefold() in BACK and setup.asked:
        del setup.said[setup.asked.pop()]


def _table_of(stock: Path | None) -> dict[str, bytes]:
    """The table of plants that was given, by its name in the site."""
    if stock is None:
        return {}
    if stock.suffix not in STOCK_ENDINGS:
        refuse(f"--stock {stock}: allowed: a file that ends in .csv or .xlsx")
    return {f"stock{stock.suffix}": read_bytes(stock, str(stock))}


def _asked(setup: Setup, options: dict[str, str]) -> Answers:
    """All answers, from options and from whoever sits at the terminal."""
    prompts = can_ask()
    needed = {"--place": "place", "--plot": "plot 1", "--person": "person 1"}
    if not prompts and (missing := [name for name, key in needed.items() if key not in options]):
        refuse(f"needed: {', '.join(missing)}; or answer the questions on a terminal")
    if prompts:
        say("An empty answer takes what stands in [brackets]; `back` goes back.")
    while True:
        ask_all(setup, options, prompts=prompts)
        answers = _answers_of(setup)
        if not prompts or _agreed(answers, setup):
            return answers


def _brought(setup: Setup) -> dict[str, bytes]:
    """The frost record, fetched or from a file, by its name in the site."""
    record, path = fetched(setup.station, setup.as_of), Path(setup.said["weather"])
    if record is not None:
        return {record.file: record.content}
    return {path.name: read_bytes(path, str(path))} if setup.has_file else {}


def _answers_of(setup: Setup) -> Answers:
    said, plots = setup.said, setup.plots()
    return Answers(
        site_id=slug_of(said["name"]),
        name=said["name"],
        lat_deg=said["place"][0],
        lon_deg=said["place"][1],
        elev_m=said["elev"],
        zone=said.get("zone") or zone_of(*said["place"]),
        plots=tuple(plots),
        people=tuple(setup.people()),
        stock=tuple(
            CountedStock(plot=plot.id, plant=plant, count=count, group=group)
            for plot in plots
            for count, name in said.get(f"plants {plot.id}", ())
            # as it was told, or answered where it was not known
            for plant, group in [said.get(f"like {name}", (name, ""))]
        ),
        as_of=setup.as_of,
        works_alone=said.get("alone", False),
        hires_climber=said.get("climber") == "hired",
        moon=said["moon"],
        emergency=said["emergency"],
        station=next(iter(_brought(setup)), ""),
        own_last=said.get("last", ""),
        own_first=said.get("first", ""),
        own_doubt_days=said.get("doubt", 0),
    )


def _agreed(answers: Answers, setup: Setup) -> bool:
    """Show what will be written; whether it is right, or the last answer is wanted again."""
    say("")
    for line in _summary(answers):
        say(f"  {line}")
    while True:
        text = (
            typer.prompt("Write these files? yes, no, or back", default="yes").strip().casefold()
        )
        if text in BACK and setup.asked:
            del setup.said[setup.asked.pop()]
            return False
        if text in ("y", "yes"):
            return True
        if text in ("n", "no"):
            refuse("Nothing was written.")


def _summary(answers: Answers) -> list[str]:
    plants: dict[str, list[str]] = {}
    for row in answers.stock:
        like = f" ({row.group})" if row.group else ""
        plants.setdefault(row.plot, []).append(f"{row.count} {row.plant}{like}")
    frost = f"last about {answers.own_last or '?'}, first about {answers.own_first or '?'}"
    return [
        f"{answers.name}: {answers.lat_deg:g}, {answers.lon_deg:g}, {answers.elev_m:g} m, "
        f"{answers.zone}",
        *(
            f"{plot.name}: {plot.area_m2:g} m2, planted {plot.planted}, {plot.n_lines} lines of "
            f"{plot.line_m:g} m{' (guessed)' if plot.guessed_lines else ''}; "
            f"{', '.join(plants.get(plot.id, ['plants in a file']))}"
            for plot in answers.plots
        ),
        *(
            f"{person.name}: {' '.join(person.days)}, {', '.join(person.skills) or 'hands only'}, "
            f"{person.hours:g} h a day"
            for person in answers.people
        ),
        f"Frost: {answers.station or frost}",
    ]


def _taken(answers: Answers, *, has_stock: bool) -> list[str]:
    """What nobody has said, and what was taken for it."""
    guessed = ", ".join(plot.name for plot in answers.plots if plot.guessed_lines)
    level = ", ".join(plot.name for plot in answers.plots if not plot.offset_c)
    dated = answers.station or (answers.own_last and answers.own_first)
    lines = {
        f"Place: {answers.lat_deg:g}, {answers.lon_deg:g} (north and east positive), "
        f"{answers.elev_m:g} m, {answers.zone}.": True,
        f"Guessed: the tree lines of {guessed}, 5 m apart (plots.toml).": guessed,
        f"Taken as cold as the station or your frost dates: {level}; a hollow is colder "
        "(frost_offset_c in plots.toml).": level,
        f"Guessed: the climbers come {' '.join(answers.crew_days)} with 28 days of notice; ask "
        "them (crew.toml).": answers.hires_climber,
        "Without both frost dates tender work is held back: put them into site.toml.": not dated,
        "No plants yet: put plot, plant and count into stock.csv.": not (
            has_stock or answers.stock
        ),
    }
    return [line for line, holds in lines.items() if holds]


def _log_done(folder: Path, setup: Setup, day: date) -> None:
    """Write what was done before into the work log, as the plan has it."""
    for plot in setup.plots():
        for visit, on in setup.said.get(f"done {plot.id}", ()):
            with locked_site(folder) as write:
                holding = read_holding(folder, day)
                tasks = tasks_of(holding)
                names = [t.id for t in tasks if t.plot_id == plot.id and t.type.visit == visit]
                said = Said(on, percent=100, note="before the plan was taken up")
                try:
                    told = recorded(holding, names, said, day, {})
                except NotLoggedError as error:
                    say(f"{plot.name}, {visit}: {error}")
                    continue
                write({LOG_FILE: log_with(folder, told.entries)})
            say(f"{plot.name}: the {visit} work of {on} is in {LOG_FILE}.")


def next_year(folder: Path, day: date) -> None:
    """Write the plan after the one in force, from its file."""
    with faults_told():
        holding = read_holding(folder, day)
        plan, following = holding.plan, holding.following
        if following is not None and following.file != plan.file:
            refuse(f"{following.file} is there already; it begins on {following.season.first}")
        made = next_plan(plan, text_of(read_bytes(folder / plan.file, plan.file), plan.file))
        if (folder / made.file).exists():
            refuse(f"{made.file} is there already")
        read_holding(folder, day, edited={made.file: made.content})
        write_whole(folder / made.file, made.content)
    say(f"{folder / made.file}: written. `scheduler write {folder}` puts its work into the "
        "calendars once it begins within a year.")  # fmt: skip
    for line in made.left_behind:
        say(f"Left behind, as it does not say every_year = true: {line}")
