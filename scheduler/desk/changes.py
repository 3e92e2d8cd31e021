"""What happens in the field, as changes to the grower's files.

A change is told by the fields of a form. It is made anew from them whenever it is tried or kept,
so that it always meets the files as they are then.
"""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import tomlkit

from scheduler.desk.forms import (
    Form,
    SiteEdit,
    SiteFiles,
    UnclearError,
    day_of_form,
    hours_of_form,
    one_of,
    span_of_form,
)
from scheduler.desk.table_changes import forecast_change, stock_change
from scheduler.desk.toml_edits import Entry, with_changed, with_entry, without_entry
from scheduler.holding import LOG_FILE, log_with, own_date_at
from scheduler.season import NotLoggedError, Said, recorded, ticked
from scheduler.stand import tasks_of
from scheduler.terms import Season, day_words, span_words

CREW_FILE = "crew.toml"


def change_of(form: Form, site: SiteFiles) -> SiteEdit:
    """The change that a form tells.

    Raises:
        UnclearError: something is missing or cannot be read.
        FaultyFilesError: a file has a form in which the change cannot be made.
    """
    kind = _KINDS.get(one_of(form, "kind"))
    if kind is None:
        raise UnclearError("The form names nothing that can be recorded here.")
    return kind(form, site)


def _rain(form: Form, site: SiteFiles) -> SiteEdit:
    first, last = span_of_form(form, site.as_of)
    why = one_of(form, "why") or "rain"
    entry: dict[str, Any] = {"first": first, "last": last, "why": why}
    if last == first:
        del entry["last"]
    season = site.holding.plan.season
    if first not in season or last not in season:
        raise UnclearError(
            f"{span_words(first, last)} is not within the plan in force, "
            f"{span_words(season.first, season.last)}."
        )
    if all(_is_closed(day, site) for day in Season.between(first, last)):
        raise UnclearError(f"{span_words(first, last)}: closed already, for all work.")
    files = {
        site.plan_file: with_entry(site.read(site.plan_file), site.plan_file, "closed", entry)
    }
    return SiteEdit(f"No work on {span_words(first, last)}: {why}.", files)


def _is_closed(day: date, site: SiteFiles) -> bool:
    return any(day in closed.span for closed in site.holding.plan.says.closed if closed.for_all)


def _away(form: Form, site: SiteFiles) -> SiteEdit:
    name, (first, last) = one_of(form, "person"), span_of_form(form, site.as_of)
    people = [person.name for person in site.holding.crew.person]
    if name not in people:
        raise UnclearError(f"Nobody of the crew is called {name!r}.")

    files = _with_days(site, "person", people.index(name), "off", first, last)
    return SiteEdit(f"{name} is away: {span_words(first, last)}.", files)


def _with_days(
    site: SiteFiles, table: str, at: int, key: str, first: date, last: date
) -> dict[str, bytes]:
    """The crew's file with more days in a list of one of its entries."""

    def add_days(entry: Entry) -> None:
        entry.setdefault(key, tomlkit.array())
        entry[key].append(tomlkit.inline_table() | {"first": first, "last": last})

    return {CREW_FILE: with_changed(site.read(CREW_FILE), CREW_FILE, table, at, add_days)}


def _back(form: Form, site: SiteFiles) -> SiteEdit:
    """A closed day or days off that do not hold after all."""
    name, first = one_of(form, "person"), day_of_form(form, "first", site.as_of)
    return _there(name, first, site) if name else _open_again(first, site)


def _open_again(first: date, site: SiteFiles) -> SiteEdit:
    # what is closed for some work only is not shown to be taken back
    whole = [c.first if c.for_all else None for c in site.holding.plan.says.closed]
    if first not in whole:
        raise UnclearError(f"Nothing is closed from {day_words(first)} on.")
    name, content = site.plan_file, site.read(site.plan_file)
    files = {name: without_entry(content, name, "closed", whole.index(first))}
    return SiteEdit(f"From {day_words(first)} on there is work after all.", files)


def _there(name: str, first: date, site: SiteFiles) -> SiteEdit:
    off = {
        p.name: (at, [days.first for days in p.off])
        for at, p in enumerate(site.holding.crew.person)
    }
    at, begins = off.get(name, (0, []))
    if first not in begins:
        raise UnclearError(f"{name} is not away from {day_words(first)} on.")

    def take_days_off(person: Entry) -> None:
        del person["off"][begins.index(first)]

    content = with_changed(site.read(CREW_FILE), CREW_FILE, "person", at, take_days_off)
    return SiteEdit(f"{name} is there from {day_words(first)} on after all.", {CREW_FILE: content})


def _booked(form: Form, site: SiteFiles) -> SiteEdit:
    hired, (first, last) = one_of(form, "hire"), span_of_form(form, None)
    ids = [hire.id for hire in site.holding.crew.hire]
    if hired not in ids:
        raise UnclearError("Choose who or what is booked.")

    at = ids.index(hired)
    name = site.holding.crew.hire[at].name
    files = _with_days(site, "hire", at, "booked", first, last)
    return SiteEdit(f"{name}: booked for {span_words(first, last)}.", files)


def _own_day(form: Form, site: SiteFiles) -> SiteEdit:
    visit, how = one_of(form, "visit"), one_of(form, "how")
    plan = site.holding.plan
    at = own_date_at(plan, visit)
    if at is None and visit not in {*(task.visit_id for task in tasks_of(site.holding))}:
        raise UnclearError("Choose the visit that the day is for.")
    name, content = site.plan_file, site.read(site.plan_file)
    if how == "none":
        if at is None:
            raise UnclearError("No day of your own is set for that visit.")
        files = {name: without_entry(content, name, "own_date", at)}
        return SiteEdit(f"{visit}: no day of your own any more.", files)
    words = {"on": "begins on", "not_before": "not before", "not_after": "finished by"}.get(how)
    if words is None:
        raise UnclearError("Say whether it begins on that day, not before it, or is done by it.")
    day, why = day_of_form(form, "day", None), one_of(form, "why") or "the grower's word"

    def set_day(entry: Entry) -> None:
        for key in {"on", "not_before", "not_after"} - {how}:
            entry.pop(key, None)
        entry[how], entry["why"] = day, why

    if at is not None:
        if plan.whole.own_date[at].every_year:
            raise UnclearError(f"That day holds every year; change it in {name}.")
        edited = with_changed(content, name, "own_date", at, set_day)
    else:
        edited = with_entry(content, name, "own_date", {"task": visit, how: day, "why": why})
    return SiteEdit(f"{visit}: {words} {day_words(day)}; {why}.", {name: edited})


def _done(form: Form, site: SiteFiles) -> SiteEdit:
    what, steps = one_of(form, "what"), tuple(form.get("step", ()))
    known = {name for task in tasks_of(site.holding) for name in (task.id, task.visit_id)}
    if what not in known:
        raise UnclearError("Choose the visit that was worked on.")
    if "steps" in form and not steps:
        raise UnclearError("Tick the steps that are done.")
    percent = 100 if one_of(form, "all") else None
    hours, note = hours_of_form(form), one_of(form, "note")
    said = Said(day_of_form(form, "on", site.as_of), percent, None, hours, note)
    try:
        if steps:
            told = ticked(site.placed, what, steps, said, site.published)
        else:
            told = recorded(site.holding, [what], said, site.as_of, site.published)
    except NotLoggedError as error:
        raise UnclearError(*error.args) from error
    rows = "; ".join(f"{entry.task} {entry.percent} %" for entry in told.entries)
    worked = "" if hours is None else f", {hours:g} person-hours"
    words = f"Done on {day_words(said.on)}{worked}: {rows}."
    return SiteEdit(words, {LOG_FILE: log_with(site.folder, told.entries)}, told.words)


_KINDS: Mapping[str, Callable[[Form, SiteFiles], SiteEdit]] = {
    "rain": _rain,
    "away": _away,
    "back": _back,
    "booked": _booked,
    "own-day": _own_day,
    "done": _done,
    "stock": stock_change,
    "forecast": forecast_change,
}
