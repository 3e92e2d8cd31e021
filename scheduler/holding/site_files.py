"""The door to a site's folder: all its files, read and checked; the log is written elsewhere."""

import fnmatch
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache, reduce
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal, TypeVar

from scheduler.files import (
    CsvRow,
    Fault,
    FaultyFilesError,
    fields,
    missing_columns,
    read_bytes,
    rows_of_csv,
    sheet_text,
    text_of,
    toml_of,
    validated,
)
from scheduler.holding.counted import filled, id_of_plot, with_kinds
from scheduler.holding.crew import Crew
from scheduler.holding.frost_data import FrostData, package_file, package_frost_data
from scheduler.holding.plan import (
    FIRST_PLAN_DAY,
    LAST_PLAN_DAY,
    Plan,
    PlanFile,
    names_borne_twice,
    plan_after,
    plan_in,
    plans_of,
)
from scheduler.holding.plants import Plant
from scheduler.holding.plots import CountedStock, Plot, Stock
from scheduler.holding.references import crowding_faults, faults_between, frost_faults, sign_faults
from scheduler.holding.rulebook import RuleBook, RuleFile
from scheduler.holding.site import Site
from scheduler.holding.worklog import LogEntry, log_faults
from scheduler.weather import (
    Evening,
    ForecastNight,
    Record,
    read_evenings,
    read_forecast,
    read_record,
)

MAX_PLAN_DAYS = 458  # each visit stands once in a plan, and would be missing the next year
RULE_FILES = ("plants", "stock", "tasks", "rates", "biomass", "rules", "cautions")
_T = TypeVar("_T")

STOCK, STOCK_SHEET = "stock.csv", "stock.xlsx"  # the one or the other
MADE_BY_START = ("site.toml", "plots.toml", "stock.csv", "crew.toml", "worklog.csv")


@fields.table
class PlotsFile:
    """``plots.toml``."""

    plot: tuple[Plot, ...]


@dataclass(frozen=True)
class FrostFiles:
    """What a site's files say of frost, beside its record."""

    data: FrostData  # figures in force: the package's, and the site's own frost.toml over them
    loggers: Mapping[str, Record]  # nightly minima of the plots that have a logger, by plot id
    forecast: tuple[ForecastNight, ...]  # forecast minima, past and present
    evenings: tuple[Evening, ...]  # clear evenings and the minima that followed


@dataclass(frozen=True)
class Holding:
    """All that a site's files say, checked."""

    site: Site  # the place and its policies
    plots: tuple[Plot, ...]  # the plots, as in the file
    stock: tuple[Stock, ...]  # what grows in them
    crew: Crew  # people and hire
    plan: Plan  # the plan in force
    record: Record | None  # the station record, gaps filled; None where the site names no station
    frost: FrostFiles  # loggers, forecasts and figures that frost rests on beside it
    log: tuple[LogEntry, ...]  # the work log, as in the file
    rules: RuleBook  # the rule book in force, and the kinds below
    plans: tuple[Plan, ...]  # every plan of the site, by its first day
    counted: tuple[tuple[CsvRow, CountedStock], ...]  # the rows of stock as the file has them
    guessed: tuple[str, ...] = ()  # ids of kinds that the stock names and no rule file has

    @property
    def following(self) -> Plan | None:
        """The plan after the one in force; None where there is none yet."""
        return plan_after(self.plan, self.plans)

    def in_plan(self, plan: Plan) -> "Holding":
        """The holding with another plan in force, and its plants as old as they are then."""
        rows = filled(self.counted, self.plots, self.rules, plan.season.last.year)
        return replace(self, plan=plan, stock=tuple(row for _, row in rows))


def read_holding(
    folder: Path,
    as_of: date,
    plan_id: str | None = None,
    forecast: Path | None = None,
    edited: Mapping[str, bytes] = MappingProxyType({}),
) -> Holding:
    """Read and check every file of a site.

    Args:
        folder: where they are.
        as_of: today; it decides which plan is in force where there are several.
        plan_id: the plan to take all the same.
        forecast: a forecast file, before the one that site.toml names.
        edited: files as they would be, by name; they are read in place of those on disk.

    Raises:
        FaultyFilesError: with all faults of all files.
    """
    return _Reader(folder, edited).holding(as_of, plan_id, forecast)


def read_site_file(folder: Path) -> Site:
    """Read and check ``site.toml`` alone, though other files are not yet as they should be.

    Raises:
        FaultyFilesError: with all its faults.
    """
    reader = _Reader(folder, {})
    return reader.sound(reader.toml("site.toml", Site))


def _with_following(plan: Plan | None, plans: Sequence[Plan]) -> list[Plan]:
    """The plan in force and the one after it, as far as they are there."""
    following = plan and plan_after(plan, plans)
    return [each for each in (plan, following) if each]


class _Reader:
    """Reads file after file and gathers the faults, so that all are told at once."""

    def __init__(self, folder: Path, edited: Mapping[str, bytes]) -> None:
        self.folder = folder
        self.edited = edited
        self.faults: list[Fault] = []
        # by file; the names in rows with a fault of their own are looked up all the same
        self.rows: defaultdict[str, list[tuple[CsvRow, dict[str, Any]]]] = defaultdict(list)
        self.stock_name = STOCK  # the file that the stock stands in
        self.counted: list[tuple[CsvRow, CountedStock]] = []
        self.guessed: tuple[str, ...] = ()
        self.kind_faults: list[Fault] = []  # of names in it, told after those of its cells
        self.plans: tuple[Plan, ...] = ()  # all of them; none where one is at fault

    def holding(self, as_of: date, plan_id: str | None, forecast: Path | None) -> Holding:
        if not (self.folder.is_dir() or self.edited):
            raise FaultyFilesError(
                [Fault(str(self.folder), "", "", "no such folder", "a site folder")]
            )
        site = self.toml("site.toml", Site)
        plots_file = self.toml("plots.toml", PlotsFile)
        plots = plots_file.plot if plots_file else None
        crew = self.toml("crew.toml", Crew)
        rules = self.rules()
        plan = self.plan_in_force(as_of, plan_id)
        stock, rules = self.stock(plots, rules, plan, as_of)
        log = self.csv("worklog.csv", LogEntry) if self.has("worklog.csv") else []
        self.faults += log_faults(log)
        record = self.record(site)
        frost = self.frost(site, plots, forecast)
        if site is not None and rules is not None:
            self.faults += sign_faults(site, rules)
        if rules is not None:
            self.faults += self.kind_faults
            planned = _with_following(plan, self.plans)
            self.faults += faults_between(plots, self.rows[self.stock_name], crew, planned, rules)
        return Holding(
            site=self.sound(site),
            plots=self.sound(plots),
            stock=tuple(row for _, row in stock),
            crew=self.sound(crew),
            plan=self.sound(plan),
            record=record,
            frost=self.sound(frost),
            log=tuple(entry for _, entry in log),
            rules=self.sound(rules),
            plans=self.plans,
            counted=tuple(self.counted),
            guessed=self.guessed,
        )

    def sound(self, part: _T | None) -> _T:
        """A part of the holding that was read, once no file is at fault."""
        if part is None or self.faults:
            raise FaultyFilesError(self.faults)
        return part

    def has(self, name: str) -> bool:
        # a link that leads nowhere is a file that cannot be read, and no file left out
        place = self.folder / name
        return name in self.edited or place.exists() or place.is_symlink()

    def text(self, name: str) -> str | None:
        made = "a file that `scheduler new` would have made"
        record = "a file in this folder, by the name that site.toml or plots.toml gives it"
        allowed = "a file that exists" if Path(name).is_absolute() else record
        wanted = made if name in MADE_BY_START else allowed
        try:
            content = self.edited.get(name)
            if content is None:
                content = read_bytes(self.folder / name, name, wanted)
            return sheet_text(content, name) if name == STOCK_SHEET else text_of(content, name)
        except FaultyFilesError as error:
            self.faults += error.faults
        return None

    def fault(self, name: str, found: str, allowed: str) -> None:
        self.faults.append(Fault(name, "", "", found, allowed))

    def toml(self, name: str, shape: type[_T]) -> _T | None:
        text = self.text(name)
        if text is None:
            return None
        try:
            content = toml_of(text, name)
        except FaultyFilesError as error:
            self.faults += error.faults
            return None
        value, faults = validated(shape, content, name)
        self.faults += faults
        return value

    def csv(
        self,
        name: str,
        row_shape: type[_T],
        prepared: Callable[[list[tuple[CsvRow, dict[str, Any]]]], None] = lambda _: None,
    ) -> list[tuple[CsvRow, _T]]:
        """The rows that are good, each with where it stands; the others become faults.

        All rows are prepared before they are checked.
        """
        text = self.text(name)
        if text is None:
            return []
        rows, places, faults = rows_of_csv(name, text, row_shape)
        self.faults += faults
        header_at_fault = any(fault.table == "header" for fault in faults)
        given = {column for row in rows for column in row}
        missing = missing_columns(given, row_shape) if header_at_fault else []
        good = []
        self.rows[name] += zip(places, rows, strict=True)
        prepared(self.rows[name])
        for where, row in self.rows[name]:
            value, faults = validated(row_shape, row, name, row=where)
            self.faults += [f for f in faults if not (f.field in missing and f.found == "nothing")]
            if value is not None:
                good.append((where, value))
        return good

    def stock(
        self, plots: Sequence[Plot] | None, rules: RuleBook | None, plan: Plan | None, as_of: date
    ) -> tuple[list[tuple[CsvRow, Stock]], RuleBook | None]:
        """The rows of stock, filled as plants are when the plan ends; the book of them."""
        if self.has(STOCK_SHEET):
            self.stock_name = STOCK_SHEET
            if self.has(STOCK):
                self.fault(STOCK_SHEET, f"{STOCK} beside it", "one of the two files")
        kinds = dict[str, Plant]()

        def named(rows: list[tuple[CsvRow, dict[str, Any]]]) -> None:
            for _, row in rows:
                row |= {"plot": id_of_plot(row["plot"], plots or ())} if "plot" in row else {}
            if rules is not None:
                more, self.kind_faults = with_kinds(rows, rules)
                kinds.update(more)

        self.counted = self.csv(self.stock_name, CountedStock, named)
        if rules is None:
            return [], None
        self.guessed = tuple(kinds)
        rules = replace(rules, plants={**rules.plants, **kinds})
        year = (plan.season.last if plan else as_of).year
        stock = filled(self.counted, plots or (), rules, year)
        self.faults += crowding_faults(plots, stock)
        return stock, rules

    def rules(self) -> RuleBook | None:
        own = self.toml("rules.toml", RuleFile) if self.has("rules.toml") else RuleFile()
        return RuleBook.of((*package_rules(), own)) if own else None

    def record(self, site: Site | None) -> Record | None:
        read = [self.nights_of(name, site) for name in site.frost.stations] if site else []
        records = [record for record in read if record is not None]
        return reduce(Record.filled_from, records) if records else None

    def nights_of(self, name: str, site: Site) -> Record | None:
        """The record of a station or logger."""
        text = self.text(name)
        if text is None:
            return None
        unit = site.frost.units.get(name)
        record, faults = _nights_in(name, text, unit, site.zone)
        self.faults += faults
        return record

    def frost(
        self, site: Site | None, plots: Sequence[Plot] | None, forecast: Path | None
    ) -> FrostFiles | None:
        if site is None or plots is None:
            return None
        own = self.toml("frost.toml", FrostData) if self.has("frost.toml") else None
        data = own.over(package_frost_data()) if own else package_frost_data()
        self.faults += frost_faults(site, plots, data)
        loggers = {plot.id: self.nights_of(plot.logger, site) for plot in plots if plot.logger}
        # a forecast from elsewhere is named as it was given, from where the command runs
        given = str(forecast.absolute()) if forecast else site.frost.forecast
        return FrostFiles(
            data=data,
            loggers={plot: record for plot, record in loggers.items() if record is not None},
            forecast=self.rows_of(given, read_forecast),
            evenings=self.rows_of(site.frost.evenings, read_evenings),
        )

    def rows_of(
        self,
        name: str | None,
        read: Callable[[str, list[str]], tuple[tuple[_T, ...] | None, list[Fault]]],
    ) -> tuple[_T, ...]:
        """The rows of a small file; none where it is not named or at fault."""
        text = self.text(name) if name else None
        if name is None or text is None:
            return ()
        rows, faults = read(name, text.split("\n"))
        self.faults += faults
        return rows or ()

    def plan_in_force(self, as_of: date, plan_id: str | None) -> Plan | None:
        there = {path.name for path in self.folder.glob("plan-*.toml")}
        names = sorted(there.union(fnmatch.filter(self.edited, "plan-*.toml")))
        if not names:
            self.fault("plan-<season>.toml", "no such file", "at least one plan")
        files = {plan_id: says for name in names for plan_id, says in self.plan_file(name)}
        plans = plans_of(files, as_of)
        for twice, other in names_borne_twice(plans, files):
            found = f"{twice!r}, which a year of {other} bears too"
            self.fault(f"plan-{twice}.toml", found, "a name of its own, or an earlier first")
        if len(files) == len(names):
            self.plans = plans
        chosen = plan_in(plans, as_of, plan_id)
        if chosen is None and plan_id is not None and not self.faults:
            known = ", ".join(plan.id for plan in plans) or "none there"
            self.fault(f"plan-{plan_id}.toml", "no such plan", known)
        return chosen

    def plan_file(self, name: str) -> Iterator[tuple[str, PlanFile]]:
        """The id of a plan file and what it says; nothing where it is at fault."""
        plan_id = name.removeprefix("plan-").removesuffix(".toml")
        if not fields.is_slug(plan_id):
            self.fault(name, repr(plan_id), f"plan-<name>.toml; name: {fields.is_slug.__doc__}")
            return
        says = self.toml(name, PlanFile)
        if says is None:
            return
        last = says.last or says.first
        n_days, found = (last - says.first).days + 1, f"{says.first} to {last}"
        if not 1 <= n_days <= MAX_PLAN_DAYS:
            allowed = "on or after first, at most 15 months later; left out, the plan has no end"
            self.faults.append(Fault(name, "", "last", found, allowed))
        elif says.first < FIRST_PLAN_DAY or last > LAST_PLAN_DAY:
            allowed = f"{FIRST_PLAN_DAY} to {LAST_PLAN_DAY}, for which the sky can be computed"
            self.faults.append(Fault(name, "", "first", found, allowed))
        else:
            yield plan_id, says


@lru_cache(maxsize=16)  # many sites share a station
def _nights_in(
    name: str, text: str, unit: Literal["C", "F", "0.1 C"] | None, zone: str
) -> tuple[Record | None, tuple[Fault, ...]]:
    record, faults = read_record(name, text.split("\n"), unit=unit, zone=zone)
    return record, tuple(faults)


@lru_cache(maxsize=1)
def package_rules() -> tuple[object, ...]:
    """The package's own rule files."""
    return tuple(package_file(RuleFile, f"{name}.toml") for name in RULE_FILES)


def package_book() -> RuleBook:
    """The package's own rule book."""
    return RuleBook.of(package_rules())
