"""The command that sets up a site, and the plan of its next year."""

from pathlib import Path
from typing import Annotated

import typer

from scheduler.commands.door import AsOf, faults_told, refuse, today

new_command = typer.Typer()
Many = list[str] | None


def _option(metavar: str, says: str) -> typer.models.OptionInfo:
    """An option with a word for its value."""
    option: typer.models.OptionInfo = typer.Option(metavar=metavar, help=says)
    return option


@new_command.command(
    epilog='Example: scheduler new my-hill --place "43.1, -7.2" --elev 430 '
    '--plot "Top terrace, 800 m2, 2019" --plants "Top terrace: 8 alders, 6 apples" '
    '--person "Ana, sat sun, saw"'
)
def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make.")],
    name: Annotated[str | None, _option("NAME", "Name of the holding.")] = None,
    place: Annotated[
        str | None, _option("PLACE", "Latitude and longitude, as a map shows them.")
    ] = None,
    elev: Annotated[str | None, _option("M", "Height above sea level, m.")] = None,
    timezone: Annotated[
        str | None, _option("ZONE", "IANA time zone; else that of the place.")
    ] = None,
    plot: Annotated[
        Many, _option("LINE", "A plot: name, ground, year of planting; once for each.")
    ] = None,
    plants: Annotated[
        Many, _option("LINE", "What grows in a plot: 'Top: 8 alders, 6 apples'.")
    ] = None,
    like: Annotated[
        Many, _option("LINE", "Of an unknown plant: 'pitanga: evergreen fruit tender'.")
    ] = None,
    stock: Annotated[
        Path | None, _option("FILE", "A table of plot, plant, count: .csv or .xlsx.")
    ] = None,
    person: Annotated[
        Many, _option("LINE", "Who works: name, days, saw pole-saw chipper; once for each.")
    ] = None,
    works_alone: Annotated[
        bool, typer.Option("--works-alone", help="With saws, ladders and the chipper, too.")
    ] = False,
    climber: Annotated[
        str | None, _option("WHO", "Who climbs: hired, or the name of a person.")
    ] = None,
    moon: Annotated[
        bool, typer.Option("--moon", help="Prefer the waning moon, a grower practice.")
    ] = False,
    emergency: Annotated[
        str | None, _option("WORDS", "Who calls for help, and where the road is.")
    ] = None,
    station: Annotated[
        str | None, _option("WHICH", "Frost record: a file, a station's id, or `near`.")
    ] = None,
    last_frost: Annotated[str | None, _option("DAY", "Your usual last one: 10 May.")] = None,
    first_frost: Annotated[str | None, _option("DAY", "Your usual first one.")] = None,
    doubt: Annotated[
        str | None, _option("DAYS", "How far beyond them frost comes in one year of ten.")
    ] = None,
    done: Annotated[
        Many, _option("LINE", "What is done this season: 'Top: dormant 10 Feb'.")
    ] = None,
    next_: Annotated[
        bool, typer.Option("--next", help="Instead: the plan of the next year of a site.")
    ] = False,
    as_of: AsOf = None,
) -> None:
    """Set up a site, or with --next its next year. Asks for what no option gives."""
    from scheduler.commands.setting_up import next_year, options_by_question, set_up

    if next_:
        next_year(folder, today(as_of))
        return
    single = {
        "name": name, "place": place, "elev": elev, "zone": timezone, "climber": climber,
        "emergency": emergency, "weather": station, "last": last_frost, "first": first_frost,
        "doubt": doubt, "moon": "yes" if moon else None, "alone": "yes" if works_alone else None,
    }  # fmt: skip
    named = {"plants": plants, "like": like, "done": done}
    options = options_by_question(single, {"plot": plot, "person": person}, named)
    if stock is not None and plants:
        refuse("--plants and --stock both say what grows; give one of them")
    with faults_told():
        set_up(folder, options, stock, today(as_of))
