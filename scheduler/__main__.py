"""``python -m scheduler``: the same as the command ``scheduler``."""

from scheduler.commands import run

run()
