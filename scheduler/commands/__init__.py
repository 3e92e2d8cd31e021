"""The commands: options in, lines and exit codes out, a file for each group of them."""

from scheduler.commands.app import run
