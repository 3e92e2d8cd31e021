"""Changes to the tables of a site: the stock, row by row, and the nights of a forecast."""

import re
from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from scheduler.desk.forms import Form, SiteEdit, SiteFiles, UnclearError, day_of_form, typed_in
from scheduler.desk.stock_edits import (
    NEW,
    OUT,
    STOCK_FILE,
    RowChangedError,
    StockTable,
    stock_table,
    stock_with,
)
from scheduler.desk.toml_edits import Entry, with_changed
from scheduler.weather import with_nights

SITE_FILE = "site.toml"
LAST_LEAD = timedelta(days=16)  # no service gives single nights beyond (from memory)
_STOCK_FIELD = re.compile(r"stock\.([0-9a-f]{16}|new)\.(\w+)")
# the day of issue may be left out
_NIGHT = re.compile(r"(?:(\d{4}-\d\d-\d\d)[\s,;]+)?(\d{4}-\d\d-\d\d)[\s,;]+(-?\d+(?:[.,]\d+)?)")


def stock_change(form: Form, site: SiteFiles) -> SiteEdit:
    """Cells of the stock told anew, rows taken out or added.

    Raises:
        UnclearError: nothing is changed, or somebody else has changed a row meanwhile.
    """
    old = site.read(STOCK_FILE)
    edits = _stock_edits(form, stock_table(old).columns)
    try:
        new = stock_with(old, edits)
    except RowChangedError as error:
        raise UnclearError(
            "A row was changed by somebody else meanwhile; look at the table again."
        ) from error
    if new == old:
        raise UnclearError("Nothing in the table is changed.")
    words = "; ".join(_row_words(mark, edit, stock_table(old)) for mark, edit in edits.items())
    fewer = {
        f"stock.{mark}.{column}": [told]
        for mark, edit in edits.items()
        for column, told in edit.items()
    }
    return SiteEdit(f"Stock: {words}.", {STOCK_FILE: new}, form={"kind": ["stock"], **fewer})


def _row_words(mark: str, edit: Mapping[str, str], table: StockTable) -> str:
    """One row of the table and what becomes of it."""
    seen = next((row.cells for row in table.rows if row.mark == mark), ())
    row = dict(zip(table.columns, seen, strict=False)) or edit
    name = ", ".join(filter(None, (row.get("plant"), row.get("plot"), row.get("line"))))
    if OUT in edit:
        return f"{name} taken out"
    if mark == NEW:
        return f"{name} added"
    cells = (f"{key} {row.get(key) or 'empty'} to {new or 'empty'}" for key, new in edit.items())
    return f"{name}: {', '.join(cells)}"


def _stock_edits(form: Form, columns: Sequence[str]) -> dict[str, dict[str, str]]:
    """The cells that are told anew, by mark of the row; ``was`` tells how they were seen."""
    rows: dict[str, dict[str, str]] = {}
    for field, values in form.items():
        if found := _STOCK_FIELD.fullmatch(field):
            rows.setdefault(found[1], {})[found[2]] = values[0]
    edits = {}
    for mark, told in rows.items():
        edit = told
        if "was" in told:  # the whole table came back; browsers take ends of lines out of a cell
            seen = dict(zip(columns, told.pop("was").split("\t"), strict=False))
            edit = {
                name: cell
                for name, cell in told.items()
                if _bare(cell) != _bare(seen.get(name, ""))
            }
        if mark == NEW:
            edit = {name: cell for name, cell in told.items() if cell.strip() and name != OUT}
        if edit:
            edits[mark] = edit
    return edits


def _bare(cell: str) -> str:
    return "".join(cell.split())


def forecast_change(form: Form, site: SiteFiles) -> SiteEdit:
    """Nights of a forecast, for the file that site.toml names, or a new one.

    Raises:
        UnclearError: a line is no night.
        FaultyFilesError: the file has other columns.
    """
    nights = _nights(typed_in(form, "nights"), day_of_form(form, "issued", site.as_of))
    name = site.holding.site.frost.forecast
    files: dict[str, bytes] = {}
    if name is None:
        name = "forecast.csv"

        def add_forecast(frost: Entry) -> None:
            frost["forecast"] = name

        files[SITE_FILE] = with_changed(site.read(SITE_FILE), SITE_FILE, "frost", 0, add_forecast)
    old = site.read(name) or b"issued,date,tmin_c\n"
    files = {name: with_nights(old, name, nights), **files}
    coldest = min(float(tmin) for _, _, tmin in nights)
    n = "1 night" if len(nights) == 1 else f"{len(nights)} nights"
    words = f"Forecast: {n}, the coldest {coldest:g} °C at the station."
    return SiteEdit(words, files)


def _nights(text: str, issued: date) -> list[tuple[str, str, str]]:
    """Day of issue, day and minimum of each line; a header is passed over."""
    nights, wrong = [], []
    for line in text.splitlines():
        said = line.strip()
        if found := _NIGHT.fullmatch(said):
            nights.append((found[1] or str(issued), found[2], found[3].replace(",", ".")))
        elif said and not said.startswith(("#", "issued", "date")):
            wrong.append(f"{said[:60]!r}: a night is written as 2027-04-28 -1.5")
    for at, day, _ in nights:
        if date.fromisoformat(day) - date.fromisoformat(at) > LAST_LEAD:
            wrong.append(f"{day}: that is more than {LAST_LEAD.days} days after {at}")
    if wrong or not nights:
        raise UnclearError(*wrong or ["Write a night a line, as 2027-04-28 -1.5"])
    return nights
