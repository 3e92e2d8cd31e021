"""Each rule says of each day whether a task may stand there, and why."""

from scheduler.windows.concerns import Concern, concerns_of
from scheduler.windows.facts import Facts
from scheduler.windows.order import Link, left_before, links_between
from scheduler.windows.rules import heat_stop_c, release_day
from scheduler.windows.task_windows import Closure, TaskWindow, window_of

__all__ = [
    "Closure",
    "Concern",
    "Facts",
    "Link",
    "TaskWindow",
    "concerns_of",
    "heat_stop_c",
    "left_before",
    "links_between",
    "release_day",
    "window_of",
]
