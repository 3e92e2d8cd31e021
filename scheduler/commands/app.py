"""The command line as a whole: its sections in the order of use, and a first hint.

The rooms are imported inside the commands, because their libraries take longer to load
than ``--help`` may last.
"""

from importlib.metadata import version
from pathlib import Path
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from scheduler.commands.calendar_commands import calendar_commands
from scheduler.commands.door import answered
from scheduler.commands.frost_commands import frost_commands
from scheduler.commands.log_command import log_command
from scheduler.commands.new_command import new_command
from scheduler.commands.plan_commands import plan_commands
from scheduler.commands.record_page import record_page
from scheduler.commands.screen import say

SECTIONS = {
    "Set up and plan": ("new", "due", "plan", "why", "check", "log"),
    "Frost and sky": ("frost", "sky"),
    "Calendars": ("write", "share", "serve", "push"),
}
SITE_FILE = "site.toml"  # a folder with this file is a site


class InOrder(TyperGroup):
    """The commands in sections, in the order in which a grower needs them."""

    def format_commands(self, _: Any, formatter: Any) -> None:  # noqa: ANN401  # typer names no type
        """Write one section after another; a command's help is the first sentence of its own."""
        for title, names in SECTIONS.items():
            with formatter.section(title):
                formatter.write_dl(
                    [(name, self.commands[name].get_short_help_str(80)) for name in names]
                )


app = typer.Typer(
    name="scheduler",
    cls=InOrder,
    help="Decides when the heavy work in multi-strata food forests is done.",
    epilog="Exit codes: 0 fine, 1 there are warnings, 2 something is wrong with a file or an "
    "option, 3 a fault of this program.",
    context_settings={"max_content_width": 100, "help_option_names": ["-h", "--help"]},
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
for commands in (new_command, plan_commands, log_command, frost_commands, calendar_commands):
    app.add_typer(commands)


def run() -> None:
    """Start the command line."""
    with answered():
        app()


def _version(asked: bool) -> None:
    if asked:
        say(f"scheduler {version('scheduler')}")
        raise typer.Exit


def _records(asked: bool) -> None:
    if asked:
        say(record_page(), lines=True)
        raise typer.Exit


@app.callback(invoke_without_command=True)
def first_steps(
    ctx: typer.Context,
    _: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
    _records: Annotated[
        bool,
        typer.Option(
            "--records", callback=_records, is_eager=True, help="Describe what --json prints."
        ),
    ] = False,
) -> None:
    """Decides when the heavy work in multi-strata food forests is done."""
    if ctx.invoked_subcommand is not None:
        return
    sites = sorted(
        path.parent
        for pattern in (SITE_FILE, f"*/{SITE_FILE}", f"sites/*/{SITE_FILE}")
        for path in Path().glob(pattern)
    )
    for site in sites:
        say(f"{site}: `scheduler plan {site}` shows its heavy days, `scheduler write {site}` "
            "puts them on your phone")  # fmt: skip
    if not sites:
        say("No site here yet: `scheduler new DIR` makes one.")
    say("All commands: `scheduler --help`.")
